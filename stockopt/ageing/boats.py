"""Whether boats wear out their parts at different rates, and by how much each does.

Every boat has a factor z, shared by the hazards of all her parts: drawn from a gamma of mean 1 and
variance t. With O failures where E were to be expected, her O is then negative binomial with mean E
and variance E + t E^2, and given O her z has mean (1/t + O) / (1/t + E). The variance t is the
likeliest. Whether there is any is asked of twice the log of the likelihood ratio against t = 0,
whose chance under no difference is half that of a chi-square, because t cannot lie below 0.

What was to be expected hangs on the parts' scales, which are the likeliest as well: a part's is the
one under which its expected failures, each boat's times her mean z, add to those seen. The parts'
shapes are fitted elsewhere, to lives whose exposure counts z times; the rounds repeat until the
factors settle. With few boats the test is a little slow to speak: as many failures are expected in
all as were seen, so that of two boats one mirrors the other.

*Source*: Lawless, Canadian J. Statist. 15 (1987) 209-225 (negative binomial); Clayton & Kaldor,
Biometrics 43 (1987) 671-681 (gamma factors, empirical Bayes); Self & Liang, JASA 82 (1987) 605-610
(half chi-square); all from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar
from scipy.special import chdtrc, gammaln

from stockopt.ageing.ageing import BoatSpread
from stockopt.ageing.watched import Watched, expect_failures

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Boats differ where so great a likelihood ratio would else be this rare.
LEVEL = 0.05
#: Failures, over all boats, below which nothing is said.
LEAST_FAILURES = 10
_LEAST_BOATS = 2
#: Variances of the factors searched: a spread of 1 % to one of threefold.
_LEAST_LOG, _MOST_LOG = np.log(1e-4), np.log(10.0)
_LOOKED = 10
_MOST_STEPS = 500
_CLOSE = 1e-8


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Every part on every boat, where it was watched and ever failed: C cells.

    Parameters
    ----------
    part, boat
        Of each cell, (C,).
    area
        Cumulative hazard watched, in any unit of the part's own, (C,).
    part_failures, boat_failures
        Failures seen, (parts,) and (boats,).
    """

    part: Ints
    boat: Ints
    area: Floats
    part_failures: Floats
    boat_failures: Floats

    def expect(self, factor: Floats) -> tuple[Floats, Floats]:
        """Return the log rates of the parts, and the failures expected of boats of factor 1.

        The rates are those that make each part's expected failures, times the boats' factors, add
        to those seen.
        """
        parts, boats = len(self.part_failures), len(factor)
        total = np.bincount(self.part, self.area * factor[self.boat], minlength=parts)
        rate = self.part_failures / np.where(total > 0.0, total, 1.0)
        expected = np.bincount(self.boat, rate[self.part] * self.area, minlength=boats)
        return np.log(np.where(rate > 0.0, rate, 1.0)), np.asarray(expected, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeliest:
    """The boats' factors, (boats,), their variance, and twice the log ratio against none."""

    factor: Floats
    variance: float
    statistic: float


def collect_cells(watched: Watched, shape: Floats) -> Cells:
    """Return what was watched of each part on each boat, given the parts' shapes, (parts,)."""
    area = expect_failures(watched, shape, np.ones(watched.boats))
    cell = watched.part * watched.boats + watched.boat
    areas = np.bincount(cell, area, minlength=watched.parts * watched.boats)
    used = np.flatnonzero(areas > 0.0)
    failed_on = watched.boat[watched.failed]
    return Cells(
        part=used // max(watched.boats, 1),
        boat=used % max(watched.boats, 1),
        area=areas[used].astype(np.float64),
        part_failures=watched.failures.astype(np.float64),
        boat_failures=np.bincount(failed_on, minlength=watched.boats).astype(np.float64),
    )


def log_likelihood(variance: float, seen: Floats, expected: Floats) -> float:
    """Return the boats' log likelihood, but for the parts' rates and what no factor changes.

    Parameters
    ----------
    variance
        Of the factors, t; 0 for boats that do not differ.
    seen, expected
        Failures of each boat, and those to be expected of it were its factor 1, (boats,).

    Notes
    -----
    With k = 1/t: log Gamma(k + O) - log Gamma(k) - O log k - (k + O) log(1 + t E); adding
    O log E - log O! gives the negative binomial of one part. -E where t is 0.
    """
    if variance == 0.0:
        return float(-expected.sum())
    size = 1.0 / variance
    each = gammaln(size + seen) - gammaln(size) - seen * np.log(size)
    each -= (size + seen) * np.log1p(expected * variance)
    return float(each.sum())


def fit_factors(cells: Cells) -> Likeliest:
    """Return the likeliest variance of the factors with the factors' means."""
    factor = np.ones(len(cells.boat_failures))
    _, expected = cells.expect(factor)
    seen = cells.boat_failures
    if ((seen - expected) ** 2 - seen).sum() <= 0.0:  # the slope by the variance, at 0
        return Likeliest(factor=factor, variance=0.0, statistic=0.0)
    alike, _ = _profile(cells, 0.0, factor)

    def loss(log_variance: float) -> float:
        return -_profile(cells, float(np.exp(log_variance)), factor)[0]

    grid = np.linspace(_LEAST_LOG, _MOST_LOG, _LOOKED)
    best = int(np.argmin([loss(each) for each in grid]))
    found = minimize_scalar(
        loss,
        bounds=(grid[max(best - 1, 0)], grid[min(best + 1, _LOOKED - 1)]),
        method="bounded",
        options={"xatol": 1e-5},
    )
    statistic = 2.0 * (-float(found.fun) - alike)
    if statistic <= 0.0:
        return Likeliest(factor=factor, variance=0.0, statistic=0.0)
    variance = float(np.exp(found.x))
    return Likeliest(
        factor=_profile(cells, variance, factor)[1], variance=variance, statistic=statistic
    )


def _profile(cells: Cells, variance: float, factor: Floats) -> tuple[float, Floats]:
    """Return the log likelihood, the parts' rates being the likeliest, and the boats' factors.

    The factors that fit the rates that fit them have mean 1: kept so on the way, they settle soon.
    """
    for _ in range(_MOST_STEPS):
        log_rate, expected = cells.expect(factor)
        following = mean_factors(variance, cells.boat_failures, expected)
        following /= following.mean()
        moved = np.abs(following - factor).max()
        factor = following
        if moved < _CLOSE:
            break
    log_rate, expected = cells.expect(factor)
    rates = float(cells.part_failures @ log_rate)
    return rates + log_likelihood(variance, cells.boat_failures, expected), factor


def mean_factors(variance: float, seen: Floats, expected: Floats) -> Floats:
    """Return the posterior means of the boats' factors."""
    if variance == 0.0:
        return np.ones_like(expected)
    return np.asarray((1.0 + variance * seen) / (1.0 + variance * expected))


def find_boat_spread(cells: Cells) -> tuple[Floats, BoatSpread]:
    """Return the boats' factors, all 1 where boats do not differ, and whether they do."""
    factor = np.ones(len(cells.boat_failures))
    seen = cells.part_failures.sum()
    boats = len(np.unique(cells.boat))
    if boats < _LEAST_BOATS or seen < LEAST_FAILURES:
        words = "too few boats or failures to tell whether boats differ: taken as alike"
        return factor, BoatSpread(spread=0.0, statistic=None, p_value=None, used=False, words=words)
    fitted = fit_factors(cells)
    p_value = 0.5 * float(chdtrc(1.0, fitted.statistic)) if fitted.statistic > 0.0 else 1.0
    used = p_value < LEVEL
    spread = float(np.sqrt(fitted.variance))
    found = f"{seen:.0f} failures on {boats} boats, chance {p_value:.2g} if all were alike"
    words = (
        f"some boats fail their parts faster than others ({found}): each boat's rate of failing "
        f"is taken on its own, spread {100.0 * spread:.0f} %"
        if used
        else f"the records do not show that boats differ ({found}): taken as alike"
    )
    told = BoatSpread(
        spread=spread, statistic=fitted.statistic, p_value=p_value, used=used, words=words
    )
    return fitted.factor if used else factor, told
