"""The posterior of one part by a second implementation: slow and plain, for the tests."""

import numpy as np
from scipy.special import gammaln, logsumexp
from scipy.stats import norm

SHAPE = {"wears": (2.2, 0.35), "random": (1.0, 0.12), None: (1.5, 0.45)}


def plain_posterior(lives, wear, life, life_spread, points=400):
    """Weights of every point of a plain grid: one life after another, no shortcut."""
    centre, spread = SHAPE[wear]
    log_b = np.log(centre) + np.linspace(-6, 6, points) * spread
    log_e = np.log(life) + np.linspace(-6.5, 6.5, 2 * points) * life_spread
    b, log_e = np.exp(log_b)[:, None], log_e[None, :]
    log_m = log_e + gammaln(1 + 1 / b)
    total = norm.logpdf(log_m, np.log(life), life_spread) + norm.logpdf(
        log_b[:, None], np.log(centre), spread
    )
    for one in lives:
        x, u = one["left"], one["entered"]
        total -= np.exp(b * (np.log(x) - log_e))
        if u > 0:
            total += np.exp(b * (np.log(u) - log_e))
        if one["failed"]:
            total += np.log(b) - np.log(x) + b * (np.log(x) - log_e)
    return b + 0 * total, np.exp(log_e) + 0 * total, np.exp(total - logsumexp(total))


def plain_quantile(values, weights, level):
    """Quantile of weighted points, half a point's weight to either side of it."""
    at, index = np.unique(values, return_inverse=True)
    weight = np.bincount(index.ravel(), weights=weights.ravel())
    return np.interp(level, np.cumsum(weight) - weight / 2, at)


def plain_points(lives, wear, life, life_spread=0.7):
    """The points of the plain grid that weigh anything, as flat arrays of shape, scale, weight."""
    shape, scale, weight = plain_posterior(lives, wear, life, life_spread)
    heavy = weight > 1e-10
    return shape[heavy], scale[heavy], weight[heavy]


def count_at_most(shape, scale, most, times):
    """Chance that one position, new at 0, needs at most `most` pieces by each of the times.

    Returns an array (times, points). The distribution of the sum of lives by convolution on a
    lattice of 4,096 steps, the mass of each cell at its nearest lattice point.
    """
    steps, longest = 4096, 30.0
    lattice = np.arange(steps) * longest / steps
    edges = np.concatenate([[0.0], lattice[1:] - longest / steps / 2, [longest]])
    chances = np.empty((len(times), len(shape)))
    for one in np.unique(shape):
        mass = -np.diff(np.exp(-(edges**one)))
        change = np.fft.rfft(mass, 2 * steps) ** (most + 1)
        summed = np.cumsum(np.fft.irfft(change)[:steps])
        same = shape == one
        at = np.asarray(times)[:, None] / scale[same] - longest / steps / 2
        chances[:, same] = 1.0 - np.interp(at, lattice, summed, right=1.0)
    return chances


def plain_evidence(lives, log_life, life_spread, log_shape, shape_spread, points=160):
    """Log marginal likelihood of lives whose log mean life and log shape are normal.

    Midpoint sums over 12 standard deviations of both, one life after another.
    """
    place = (np.arange(points) + 0.5) / points * 12 - 6
    log_b = (log_shape + shape_spread * place)[:, None]
    log_m = (log_life + life_spread * place)[None, :]
    b = np.exp(log_b)
    log_e = log_m - gammaln(1 + 1 / b)
    total = norm.logpdf(place)[:, None] + norm.logpdf(place)[None, :]
    for one in lives:
        x, u = one["left"], one["entered"]
        total = total - np.exp(b * (np.log(x) - log_e))
        if u > 0:
            total = total + np.exp(b * (np.log(u) - log_e))
        if one["failed"]:
            total = total + log_b - np.log(x) + b * (np.log(x) - log_e)
    return logsumexp(total) + 2 * np.log(12 / points)
