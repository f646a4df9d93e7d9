"""Maximum likelihood shape and scale of many parts at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.likelihood import Records, power_sums

Floats = NDArray[np.float64]

#: Fewer failures say nothing of the shape: with one, 5-95 % of the estimates span 0.7 to 55.
LEAST_FAILURES = 3

#: Shapes searched. Outside, the likelihood has no maximum worth the name: it rises for ever when
#: all failures have the same age, and falls for ever when they crowd near the ages entered at.
_LOWEST, _HIGHEST = 0.05, 100.0

_MOST_STEPS = 80
_CLOSE = 1e-12


def fit_maximum(records: Records) -> tuple[Floats, Floats]:
    """Return the shape and scale under which each part's records are likeliest.

    Parameters
    ----------
    records
        Of P parts.

    Returns
    -------
    shape, scale
        Shape (P,), the scale on the part's clock; NaN with fewer than 3 failures or where no
        maximum lies between shapes 0.05 and 100.

    Notes
    -----
    For given b the likeliest scale is e^b = A / r with A = sum(x^b - u^b), so that b solves
    r / b + sum(log x) - r A' / A = 0. Newton's steps in log b, and a halving of the bracket
    wherever one would leave it.

    *Source*: Lawless, Statistical Models and Methods for Lifetime Data (2003), section 5.2,
    extended to late entry; from memory.
    """
    shape = np.full(len(records.failures), np.nan)
    scale = shape.copy()
    wanted = records.failures >= LEAST_FAILURES
    if wanted.any():
        shape[wanted], scale[wanted] = _solve(records.of(wanted))
    return shape, scale


def _solve(records: Records) -> tuple[Floats, Floats]:
    """Return shape and scale of parts that all have failures enough."""
    count = len(records.failures)
    low, high = np.full(count, np.log(_LOWEST)), np.full(count, np.log(_HIGHEST))
    found = (_score(records, low)[0] > 0.0) & (_score(records, high)[0] < 0.0)
    log_shape = np.zeros(count)
    for _ in range(_MOST_STEPS):
        score, slope = _score(records, log_shape)
        low = np.where(score > 0.0, log_shape, low)
        high = np.where(score > 0.0, high, log_shape)
        with np.errstate(divide="ignore", invalid="ignore"):
            newton = log_shape - score / slope
        inside = (newton >= low) & (newton <= high)
        following = np.where(inside, newton, (low + high) / 2.0)
        moved = np.abs(following - log_shape)[found]
        log_shape = following
        if not (moved > _CLOSE).any():
            break
    shape = np.exp(log_shape)
    area = power_sums(records, shape[:, None])[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        log_scale = records.log_unit + np.log(area / records.failures) / shape
    return np.where(found, shape, np.nan), np.where(found, np.exp(log_scale), np.nan)


def _score(records: Records, log_shape: Floats) -> tuple[Floats, Floats]:
    """Return the profile likelihood's first and second derivative by log b, per failure."""
    shape = np.exp(log_shape)
    area, first, second = (power_sums(records, shape[:, None], order)[:, 0] for order in (0, 1, 2))
    mean_log = records.log_age_sum / records.failures
    with np.errstate(divide="ignore", invalid="ignore"):
        pull = first / area
        by_shape = 1.0 / shape + mean_log - pull
        curve = -1.0 / shape**2 - (second / area - pull**2)
    return shape * by_shape, shape * by_shape + shape**2 * curve
