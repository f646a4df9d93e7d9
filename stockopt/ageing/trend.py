"""Are failures coming faster? Laplace's test on the calendar, the pieces' ages allowed for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from stockopt.ageing.watched import Watched

Floats = NDArray[np.float64]

#: Failures below which the normal chance is not near enough.
LEAST_FAILURES = 4


def find_trends(watched: Watched, shape: Floats, expected: Floats) -> tuple[Floats, Floats]:
    """Return each part's Laplace statistic, positive where failures come faster, and its p-value.

    Parameters
    ----------
    watched
        The lives.
    shape
        Weibull shape of each part, (parts,).
    expected
        Failures to be expected of each life, (L,), adding to those seen for each part.

    Returns
    -------
    z, p_value
        Two-sided; (parts,), NaN with fewer than 4 failures.

    Notes
    -----
    With failures at times t and expected failures dE(t) over the calendar, Z = (sum of t
    - integral of t dE) / sqrt(integral of t^2 dE - (integral of t dE)^2 / r): the score of a log
    rate that is linear in t, given the number r of failures. For one thing watched evenly to time T
    it is Laplace's (sum of t - r T / 2) / (T sqrt(r / 12)). Here dE is the hazard of the ages that
    all pieces of the fleet had on the day, so that a young fleet growing old is no trend. In a life
    the clock is taken to run evenly from the day the piece was fitted to its last; where that was
    not seen, from the first day known of the boat.

    *Source*: Cox & Lewis, Statistical Analysis of Series of Events (1966), section 3.3; Lawless &
    Thiagarajah, Technometrics 38 (1996) 131-139; both from memory.
    """
    start, end = _span(watched)
    at, at_squared = _share_of_span(watched, shape[watched.part])
    length = end - start
    first = start + length * at
    second = start**2 + 2.0 * start * length * at + length**2 * at_squared
    seen = watched.failures
    with np.errstate(divide="ignore", invalid="ignore"):
        middle = watched.sum_by_part(expected * first) / seen
        spread = watched.sum_by_part(expected * second) / seen - middle**2
        late = watched.sum_by_part(np.where(watched.failed, end, 0.0)) - seen * middle
        z = late / np.sqrt(seen * spread)
    told = (seen >= LEAST_FAILURES) & (spread > 0.0)
    z = np.where(told, z, np.nan)
    return z, 2.0 * ndtr(-np.abs(z))


def _span(watched: Watched) -> tuple[Floats, Floats]:
    """Return when each life was watched from and to, in days from the middle of its part's ends."""
    run = watched.left - watched.entered
    born = watched.began + (watched.ended - watched.began) * np.divide(
        watched.entered, watched.left, out=np.zeros_like(run), where=watched.left > 0.0
    )
    first_day = np.full(watched.boats, np.inf)
    np.minimum.at(first_day, watched.boat, np.fmin(watched.began, watched.ended))
    start = np.where(np.isnan(born), np.minimum(first_day[watched.boat], watched.ended), born)
    lives = np.maximum(np.bincount(watched.part, minlength=watched.parts), 1)
    middle = (watched.sum_by_part(watched.ended) / lives)[watched.part]
    return start - middle, watched.ended - middle


def _share_of_span(watched: Watched, shape: Floats) -> tuple[Floats, Floats]:
    """Return the means of s and of s^2 under a life's hazard; s is the share of it gone by.

    With b the shape, the mean of a^n over ages a from u to x is
    b / (b + n) (x^(b+n) - u^(b+n)) / (x^b - u^b).
    """
    u, x, b = watched.entered, watched.left, shape
    run = x - u
    with np.errstate(divide="ignore", invalid="ignore"):
        area = x**b - u**b
        mean = b / (b + 1.0) * (x ** (b + 1.0) - u ** (b + 1.0)) / area
        square = b / (b + 2.0) * (x ** (b + 2.0) - u ** (b + 2.0)) / area
        at = (mean - u) / run
        at_squared = (square - 2.0 * u * mean + u**2) / run**2
    # A life too short to tell ages apart ends as it began.
    short = ~(run > 1e-6 * x)
    return (
        np.where(short, 0.5, np.clip(at, 0.0, 1.0)),
        np.where(short, 1.0 / 3.0, np.clip(at_squared, 0.0, 1.0)),
    )
