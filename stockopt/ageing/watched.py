"""The lives of known age as arrays, and how many failures were to be expected of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.ageing.likelihood import ages_left

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_DAY = np.timedelta64(1, "D")


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """L lives of known age, in an order that does not depend on theirs in the table.

    Parameters
    ----------
    parts, boats
        How many of each there are; the numbers below count from 0.
    part, boat
        Of each life, (L,).
    entered, left
        Ages, in units of the part's greatest, (L,).
    failed
        Marks, (L,).
    began, ended
        Days since 1970 on which the piece was fitted (NaN where not seen) and left, (L,).
    """

    parts: int
    boats: int
    part: Ints
    boat: Ints
    entered: Floats
    left: Floats
    failed: NDArray[np.bool_]
    began: Floats
    ended: Floats

    @property
    def failures(self) -> Ints:
        """Failures of each part, (parts,)."""
        return np.bincount(self.part[self.failed], minlength=self.parts).astype(np.int64)

    def sum_by_part(self, values: Floats | NDArray[np.bool_]) -> Floats:
        """Return the sum over each part's lives, (parts,)."""
        return np.asarray(
            np.bincount(self.part, weights=values, minlength=self.parts), dtype=np.float64
        )


def watch(lives: pd.DataFrame, parts: pd.Index, boats: pd.Index) -> Watched:
    """Return the lives of known age of the parts and boats given."""
    part = parts.get_indexer(pd.Index(lives["part"])).astype(np.int64)
    boat = boats.get_indexer(pd.Index(lives["boat"])).astype(np.int64)
    failed = lives["failed"].to_numpy(dtype=bool)
    entered = lives["entered"].to_numpy(dtype=np.float64)
    left = ages_left(lives)
    began, ended = _days(lives["began_on"]), _days(lives["ended_on"])
    greatest = np.zeros(len(parts))
    np.maximum.at(greatest, part, left)
    unit = np.where(greatest > 0.0, greatest, 1.0)[part]
    order = np.lexsort((failed, ended, began, entered, left, part))
    return Watched(
        parts=len(parts),
        boats=len(boats),
        part=part[order],
        boat=boat[order],
        entered=(entered / unit)[order],
        left=(left / unit)[order],
        failed=failed[order],
        began=began[order],
        ended=ended[order],
    )


def _days(dates: pd.Series) -> Floats:
    moments = pd.to_datetime(dates).to_numpy(dtype="datetime64[ns]")
    days = (moments - np.datetime64(0, "ns")) / _DAY
    return np.asarray(days, dtype=np.float64)


def expect_failures(watched: Watched, shape: Floats, factor: Floats) -> Floats:
    """Return how many failures each life was to see, (L,): those of a part add to its own.

    Parameters
    ----------
    watched
        The lives.
    shape
        Weibull shape of each part, (parts,).
    factor
        By how much each boat's parts fail faster, (boats,).

    Notes
    -----
    A life's cumulative hazard is in proportion to its boat's factor times x^b - u^b; the scale is
    the one that makes the part's expected failures equal those seen, the likeliest given the
    shape. So a part without failures expects none.
    """
    b = shape[watched.part]
    hazard = factor[watched.boat] * (watched.left**b - watched.entered**b)
    total = watched.sum_by_part(hazard)
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.where(total > 0.0, watched.failures / total, 0.0)
    return np.asarray(hazard * scale[watched.part])
