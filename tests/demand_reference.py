"""Second opinions on renewal counts: a fine lattice, and played out lives.

The lattice shares nothing with stockopt: all mass of a cell sits on its middle, a change on
schedule and the present age fall on lattice points and the ends of windows half way between two,
so that nothing is divided, nothing extrapolated, and no chance jumps near where it is asked.
"""

import math

import numpy as np
from scipy.signal import fftconvolve


def lattice_at_least(shape, scale, windows, most, *, age=0, known=True, change_at=None, step):
    """Return the chances of 1 .. `most` needs or more in each window: (windows, most).

    `age`, `change_at` and the ends of the windows are in lattice points: window (i, j) is the time
    from (i - 1/2) to (j - 1/2) steps, but from 0 where i is 0.
    """
    size = max(end for _, end in windows)
    points = np.arange(size)
    edges = np.maximum(points[:, None] + np.array([-0.5, 0.5]), 0.0)

    def survival(at):
        return np.exp(-((at * step / scale) ** shape))

    def until_change(masses, left):
        if left is not None and left < size:
            masses[left:] = 0.0
            masses[left] = 1.0 - masses.sum()
        return masses

    life = until_change(-np.diff(survival(edges)).ravel(), change_at)
    if known and change_at is not None and age >= change_at:
        first = np.zeros(size)
        first[0] = 1.0
    elif known:
        first = -np.diff(survival(age + edges)).ravel() / survival(np.array(float(age)))
        first = until_change(first, None if change_at is None else change_at - age)
    else:
        first = _equilibrium(survival, edges, age, change_at, scale / step, shape)

    renewals = np.zeros(size)
    term = first.copy()
    while term.sum() > 1e-13:
        renewals += term
        term = fftconvolve(term, life)[:size]
    found = []
    for begin, end in windows:
        onward = first[begin:end].copy()
        if begin:
            onward += fftconvolve(renewals[:begin], life)[begin:end]
        chances = []
        for _ in range(most):
            chances.append(onward.sum())
            onward = fftconvolve(onward, life)[: end - begin]
        found.append(chances)
    return np.array(found)


def _equilibrium(survival, edges, age, change_at, scale, shape):
    """Return the masses of the time to the first need at an unknown age of at least `age`."""
    last = age + scale * 60.0 ** (1.0 / shape) if change_at is None else float(change_at)
    low = np.minimum(age + edges, last)
    grid, weights = np.polynomial.legendre.leggauss(6)
    middle, half = low.mean(axis=1), np.diff(low, axis=1).ravel() / 2.0
    masses = half * (survival(middle[:, None] + half[:, None] * grid) @ weights)
    panels = np.linspace(0.0, 1.0, 4001) ** 4 * (last - age)
    mids, halves = (panels[1:] + panels[:-1]) / 2.0, np.diff(panels) / 2.0
    total = halves @ (survival(age + mids[:, None] + halves[:, None] * grid) @ weights)
    return masses / total


def play_out(shape, scale, windows, draws, seed, *, age=0.0, known=True, change_at=math.inf):
    """Return needs in each window, (windows, draws), and failures in all, of one position.

    `shape` and `scale` may be arrays, one for each draw.
    """
    rng = np.random.default_rng(seed)
    ages = np.full(draws, float(age))
    if not known:
        ages = _draw_unknown_ages(shape, scale, draws, rng, age, change_at)
    hazard = (ages / scale) ** shape
    fails = scale * (hazard + rng.exponential(size=draws)) ** (1.0 / shape) - ages
    changed = np.maximum(change_at - ages, 0.0)
    last = max(end for _, end in windows)
    needs, failures = np.zeros((len(windows), draws), dtype=np.int64), np.zeros(draws)
    time = np.minimum(fails, changed)
    failed = fails < changed
    while (time < last).any():
        for window, (begin, end) in enumerate(windows):
            needs[window] += (time >= begin) & (time < end)
        failures += failed & (time < last)
        fails = scale * rng.exponential(size=draws) ** (1.0 / shape)
        failed = fails < change_at
        time = time + np.minimum(fails, change_at)
    return needs, failures


def _draw_unknown_ages(shape, scale, draws, rng, at_least, change_at):
    """Draw ages from a density in proportion to survival, by rejection."""
    last = min(change_at, float(np.max(scale)) * 40.0 ** (1.0 / float(np.min(shape))))
    ages = np.empty(draws)
    missing = np.ones(draws, dtype=bool)
    shape, scale = np.broadcast_to(shape, draws), np.broadcast_to(scale, draws)
    while missing.any():
        tried = rng.uniform(at_least, last, missing.sum())
        kept = rng.random(missing.sum()) < np.exp(
            (at_least / scale[missing]) ** shape[missing]
            - (tried / scale[missing]) ** shape[missing]
        )
        places = np.flatnonzero(missing)[kept]
        ages[places] = tried[kept]
        missing[places] = False
    return ages
