"""Whether boats wear out their parts at different rates, and by how much each does.

Every boat has a factor z, shared by the hazards of all her parts: drawn from a gamma of mean 1 and
variance t. With O failures where E were to be expected, her O is then negative binomial with mean E
and variance E + t E^2, and given O her z has mean (1/t + O) / (1/t + E). The variance t is the
likeliest. Whether there is any is asked of twice the log of the likelihood ratio against t = 0,
whose chance under no difference is half that of a chi-square, because t cannot lie below 0.

What was to be expected hangs on the parts' scales, and these on the factors: a part's scale is the
likeliest given the factors, so that each part's expected failures add to those seen, and its
shape is fitted to lives whose exposure counts z times. The rounds repeat until the factors settle.

*Source*: Lawless, Canadian J. Statist. 15 (1987) 209-225 (negative binomial); Clayton & Kaldor,
Biometrics 43 (1987) 671-681 (gamma factors, empirical Bayes); Self & Liang, JASA 82 (1987) 605-610
(half chi-square); all from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar
from scipy.special import chdtrc, gammaln

from stockopt.ageing.ageing import BoatSpread
from stockopt.ageing.watched import Watched, expect_failures

Floats = NDArray[np.float64]

#: Boats differ where so great a likelihood ratio would else be this rare.
LEVEL = 0.05
#: Failures, over all boats, below which nothing is said.
LEAST_FAILURES = 10
#: Variances of the factors searched: a spread of 1 % to one of tenfold.
_LEAST_LOG, _MOST_LOG = np.log(1e-4), np.log(10.0)
_MOST_ROUNDS = 50
_CLOSE = 1e-6


def log_likelihood(variance: float, seen: Floats, expected: Floats) -> float:
    """Return the boats' log likelihood, but for what the variance does not change.

    Parameters
    ----------
    variance
        Of the factors, t; 0 for boats that do not differ.
    seen, expected
        Failures of each boat, (boats,).

    Notes
    -----
    Negative binomial of size k = 1/t: log Gamma(k + O) - log Gamma(k) + k log k
    - (k + O) log(k + E), the log of O! and O log E left out.
    """
    if variance == 0.0:
        return float(-expected.sum())
    size = 1.0 / variance
    each = gammaln(size + seen) - gammaln(size) - seen * np.log(size)
    each -= (size + seen) * np.log1p(expected * variance)
    return float(each.sum())


def likeliest_variance(seen: Floats, expected: Floats) -> tuple[float, float]:
    """Return the likeliest variance of the factors, and twice the log likelihood ratio."""

    def loss(log_variance: float) -> float:
        return -log_likelihood(float(np.exp(log_variance)), seen, expected)

    grid = np.linspace(_LEAST_LOG, _MOST_LOG, 24)
    best = int(np.argmin([loss(each) for each in grid]))
    found = minimize_scalar(
        loss,
        bounds=(grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]),
        method="bounded",
        options={"xatol": 1e-6},
    )
    statistic = 2.0 * (-found.fun - log_likelihood(0.0, seen, expected))
    if statistic <= 0.0:
        return 0.0, 0.0
    return float(np.exp(found.x)), float(statistic)


def mean_factors(variance: float, seen: Floats, expected: Floats) -> Floats:
    """Return the posterior means of the boats' factors."""
    if variance == 0.0:
        return np.ones_like(expected)
    return np.asarray((1.0 + variance * seen) / (1.0 + variance * expected))


def find_boat_spread(watched: Watched, shape: Floats) -> BoatSpread:
    """Return whether boats differ, given the parts' shapes, (parts,)."""
    seen, expected = _count(watched, shape, np.ones(watched.boats))
    boats = int((expected > 0.0).sum())
    if boats < 2 or seen.sum() < LEAST_FAILURES:
        words = "too few boats or failures to tell whether boats differ: taken as alike"
        return BoatSpread(spread=0.0, statistic=None, p_value=None, used=False, words=words)
    variance, statistic = likeliest_variance(seen, expected)
    p_value = 0.5 * float(chdtrc(1.0, statistic)) if statistic > 0.0 else 1.0
    used = p_value < LEVEL
    found = f"{seen.sum():.0f} failures on {boats} boats, chance {p_value:.2g} if all were alike"
    words = (
        f"some boats fail their parts faster than others ({found}): each boat's rate of failing "
        f"is taken on its own, spread {100.0 * variance**0.5:.0f} %"
        if used
        else f"the records do not show that boats differ ({found}): taken as alike"
    )
    return BoatSpread(
        spread=variance**0.5, statistic=statistic, p_value=p_value, used=used, words=words
    )


def fit_factors(watched: Watched, shape: Floats) -> tuple[Floats, float]:
    """Return the boats' factors and their spread, given the parts' shapes, (parts,)."""
    factor, variance = np.ones(watched.boats), 0.0
    for _ in range(_MOST_ROUNDS):
        seen, expected = _count(watched, shape, factor)
        # What was to be expected of a boat of factor 1.
        alike = expected / factor
        variance, _ = likeliest_variance(seen, alike)
        following = mean_factors(variance, seen, alike)
        moved = np.abs(following - factor).max()
        factor = following
        if moved < _CLOSE:
            break
    return factor, variance**0.5


def _count(watched: Watched, shape: Floats, factor: Floats) -> tuple[Floats, Floats]:
    """Return failures seen and to be expected by boat."""
    expected = expect_failures(watched, shape, factor)
    every = watched.boats
    return (
        np.bincount(watched.boat[watched.failed], minlength=every).astype(np.float64),
        np.asarray(np.bincount(watched.boat, weights=expected, minlength=every)),
    )
