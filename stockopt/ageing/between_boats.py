"""Whether a part fails faster on some boats than on others."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, xlogy

from stockopt.ageing.watched import Watched

Floats = NDArray[np.float64]

#: Failures below which boats cannot be told apart.
LEAST_FAILURES = 4


def compare_boats(watched: Watched, expected: Floats) -> tuple[Floats, Floats]:
    """Return each part's likelihood ratio between boats and its p-value.

    Parameters
    ----------
    watched
        The lives.
    expected
        Failures to be expected of each life were all boats alike, (L,), adding to those seen for
        each part.

    Returns
    -------
    statistic, p_value
        (parts,); NaN with fewer than 4 failures or 2 boats.

    Notes
    -----
    A rate of its own for each of B boats against one for all: 2 sum(O log(O / E)). Divided by
    1 + (r sum(1 / E) - 1) / (6 r (B - 1)), with r failures in all, it is nearly chi-square with
    B - 1 degrees of freedom even where little is to be expected of a boat.

    *Source*: Cox & Lewis, Statistical Analysis of Series of Events (1966), section 9.3 (equal
    rates); Williams, Biometrika 63 (1976) 33-37 (the divisor); both from memory.
    """
    cell = watched.part * watched.boats + watched.boat
    cells = watched.parts * watched.boats
    hoped = np.bincount(cell, weights=expected, minlength=cells)
    seen = np.bincount(cell[watched.failed], minlength=cells)
    used = np.flatnonzero(hoped > 0.0)
    hoped, seen = hoped[used], seen[used]
    part = used // max(watched.boats, 1)
    each = 2.0 * xlogy(seen, seen / hoped)
    statistic = np.bincount(part, weights=each, minlength=watched.parts)
    boats = np.bincount(part, minlength=watched.parts)
    total = np.bincount(part, weights=1.0 / hoped, minlength=watched.parts)
    failures = watched.failures
    told = (failures >= LEAST_FAILURES) & (boats >= 2)
    free = np.where(told, boats - 1.0, 1.0)
    divisor = 1.0 + (failures * total - 1.0) / (6.0 * np.maximum(failures, 1) * free)
    p_value = chdtrc(free, np.maximum(statistic, 0.0) / divisor)
    return np.where(told, statistic, np.nan), np.where(told, p_value, np.nan)
