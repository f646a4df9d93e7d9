"""Whether the pieces fitted last fail sooner than those before them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import bdtrc

from stockopt.ageing.watched import Watched

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: The newest are this share of all pieces, but at least so many.
SHARE, LEAST_PIECES = 0.25, 3
#: Failures among all pieces, and among the newest, below which nothing is said.
LEAST_FAILURES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Newest:
    """The newest pieces of each part; arrays (parts,), `p_value` NaN where nothing can be told.

    Parameters
    ----------
    pieces, failures
        How many, and how many of them failed.
    expected
        Failures to be expected of them at the ages they reached.
    p_value
        Chance of as many failures among them or more, of all the part's failures.
    """

    pieces: Ints
    failures: Ints
    expected: Floats
    p_value: Floats


def find_newest(watched: Watched, expected: Floats) -> Newest:
    """Compare the failures of each part's newest pieces with what their ages let expect.

    Parameters
    ----------
    watched
        The lives.
    expected
        Failures to be expected of each life, (L,), adding to those seen for each part.

    Notes
    -----
    The newest are the quarter of the pieces that were fitted last, at least 3, and all fitted on
    the same day as the first of them; pieces still running count too, else the newest failures
    would always seem early. Given the part's r failures, those among the newest are binomial with
    the newest pieces' share of what was to be expected. *Source*: the exact comparison of two
    Poisson rates, Przyborowski & Wilenski, Biometrika 31 (1940) 313-323, from memory.
    """
    newest = _mark_newest(watched)
    failures = watched.failures
    hoped = watched.sum_by_part(np.where(newest, expected, 0.0))
    early = watched.sum_by_part(newest & watched.failed)
    share = np.clip(hoped / np.maximum(failures, 1), 0.0, 1.0)
    told = (failures >= LEAST_FAILURES) & (hoped > 0.0) & (share < 1.0)
    with np.errstate(invalid="ignore"):
        chance = np.where(early > 0.0, bdtrc(np.maximum(early - 1.0, 0.0), failures, share), 1.0)
    return Newest(
        pieces=watched.sum_by_part(newest).astype(np.int64),
        failures=early.astype(np.int64),
        expected=hoped,
        p_value=np.where(told, chance, np.nan),
    )


def _mark_newest(watched: Watched) -> NDArray[np.bool_]:
    """Mark the lives of the pieces fitted last, (L,); where that was not seen, the oldest."""
    began = np.nan_to_num(watched.began, nan=-np.inf)
    order = np.lexsort((began, watched.part))
    lives = np.bincount(watched.part, minlength=watched.parts)
    wanted = np.maximum(np.ceil(SHARE * lives), LEAST_PIECES).astype(np.int64)
    some = lives > wanted
    first = (np.cumsum(lives) - wanted)[some]
    since = np.full(watched.parts, np.inf)
    since[some] = began[order[first]]
    return np.asarray((began >= since[watched.part]) & (began > -np.inf))
