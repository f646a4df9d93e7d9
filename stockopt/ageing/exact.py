"""The constant failure rate with its exact interval."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv

Floats = NDArray[np.float64]

#: Of every interval this package reports, equal tails either side.
CONFIDENCE = 0.90


def rate_interval(
    failures: NDArray[np.int64], exposure: Floats, confidence: float = CONFIDENCE
) -> tuple[Floats, Floats]:
    """Return the exact two-sided interval of a constant failure rate, watched to a given time.

    Parameters
    ----------
    failures
        Failures r, shape (n,).
    exposure
        Running T watched, shape (n,), at least 0, on any clock.
    confidence
        Chance that the interval covers the true rate, tails equal.

    Returns
    -------
    low, high
        Failures per unit of the clock, shape (n,): 0 where r is 0, infinite where T is 0.

    Notes
    -----
    With a the part left out, low = chi2(a/2; 2r) / 2T and high = chi2(1 - a/2; 2r + 2) / 2T.
    The gamma quantile is half the chi-square quantile of twice its shape.

    *Source*: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.5.1 (time-censored test).

    Examples
    --------
    >>> low, high = rate_interval(np.array([2]), np.array([800.0]))
    >>> round(float(1.0 / high[0])), round(float(1.0 / low[0]))
    (127, 2251)
    """
    tail = (1.0 - confidence) / 2.0
    some = failures > 0
    low = np.where(some, gammaincinv(np.where(some, failures, 1), tail), 0.0)
    high = gammaincinv(failures + 1, 1.0 - tail)
    watched = exposure > 0.0
    safe = np.where(watched, exposure, 1.0)
    return np.where(watched, low / safe, 0.0), np.where(watched, high / safe, np.inf)
