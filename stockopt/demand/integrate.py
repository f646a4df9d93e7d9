"""The needs of positions in windows of their clock: their first failure, then new pieces.

A position fails for the first time before the window, and is a new piece from then on; or in the
window, and the rest of the window is a new piece's; or later, and only changes on schedule count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.demand.cells import Cells, put_between
from stockopt.demand.first_failure import FirstLaw, KnownAges
from stockopt.demand.later_window import Window
from stockopt.demand.new_piece import NewPiece
from stockopt.demand.weibull import Floats

#: Times this close, as a share of the plan, are the same.
_SAME = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """First failures in each of S windows of n cells, between two changes on schedule.

    Parameters
    ----------
    passed
        Changes in the window before this spell.
    low, high
        (P, S): when the spell begins and ends, within the window.
    cells
        (J, P, S, n).
    """

    passed: int
    low: Floats
    high: Floats
    cells: Cells

    def coarsen(self) -> Spell:
        """Return the same on cells twice as wide."""
        return Spell(passed=self.passed, low=self.low, high=self.high, cells=self.cells.coarsen())


def list_window_spells(
    law: FirstLaw, cells: Cells, begins: Floats, first: NDArray[np.int64], width: int, step: float
) -> list[Spell]:
    """Return the first failures in windows of one width, spell by spell.

    Parameters
    ----------
    law
        Of P positions.
    cells
        (J, P, L): its first failures on the whole lattice.
    begins, first
        (S,): time and lattice point at which each window begins.
    width, step
        Cells of each window, and their width.
    """
    end = begins + width * step
    whole = np.ones((len(law.first_change), 1))
    if not isinstance(law, KnownAges) or math.isinf(law.lives.change_at):
        chosen = first[:, None] + np.arange(width)
        some = Cells(lower=cells.lower[..., chosen], upper=cells.upper[..., chosen])
        return [Spell(passed=0, low=whole * begins, high=whole * end, cells=some)]
    change = next_change(law, begins)
    edges = begins[:, None] + step * np.arange(width + 1)
    low, high = whole * begins, np.minimum(change, end)
    spells: list[Spell] = []
    while (low < end).any():
        part = put_between(law, edges, low, high)
        spells.append(Spell(passed=len(spells), low=low, high=high, cells=part))
        low = np.minimum(change + (len(spells) - 1) * law.lives.change_at, end)
        high = np.minimum(low + law.lives.change_at, end)
    return spells


def next_change(law: KnownAges, begins: Floats) -> Floats:
    """Return the first change on schedule at or after each time, while nothing fails: (P, S)."""
    since = begins - law.first_change[:, None]
    same = _SAME * (law.lives.change_at + begins)
    turns = np.ceil(np.maximum(since - same, 0.0) / law.lives.change_at)
    return law.first_change[:, None] + turns * law.lives.change_at


def needs_if_failing_inside(
    law: FirstLaw, spells: list[Spell], end: Floats, new: NewPiece, most: int
) -> Floats:
    """Return the chance of k = 1 .. `most` needs or more and of no failure before the window.

    Parameters
    ----------
    law, spells
        Of P positions.
    end
        (S,): when each window ends.
    new, most
        Tables of a new piece on the cells of the spells, and K.

    Returns
    -------
    Floats
        (J, P, S, K).
    """
    nodes, count, windows, width = spells[0].cells.lower.shape
    chance = np.zeros((nodes, count, windows, most))
    after = new.needs_after(width, most - 1)
    for spell in spells:
        passed = spell.passed
        chance[..., : passed + 1] += spell.cells.mass.sum(axis=-1, keepdims=True)
        more = most - 1 - passed
        if more <= 0:
            continue
        for share, weights in zip((spell.cells.lower, spell.cells.upper), after, strict=True):
            flat = share.reshape(nodes, count * windows, width)
            later = flat @ np.ascontiguousarray(weights[..., :more])
            chance[..., passed + 1 :] += later.reshape(nodes, count, windows, more)
        for order in range(1, min(more, len(new.spells) - 1) + 1):
            until = np.clip(end - order * law.lives.change_at, spell.low, spell.high)
            ends = law.survival(np.concatenate([spell.low, until], axis=1))
            mass = ends[..., :windows] - ends[..., windows:]
            chance[..., passed + order] += new.lives.survives[:, None, None] ** order * mass
    if isinstance(law, KnownAges) and math.isfinite(law.lives.change_at):
        begins = end - width * new.step
        same = _SAME * (law.lives.change_at + end)
        turns = (end - same - next_change(law, begins)) / law.lives.change_at
        changes = np.maximum(np.ceil(turns), 0.0)
        left = law.survival(np.broadcast_to(end, (count, windows)))
        chance += left[..., None] * (changes[..., None] >= np.arange(1, most + 1))
    return chance


def needs_if_failing_before(
    law: FirstLaw, cells: Cells, begins: Floats, first: NDArray[np.int64], window: Window
) -> Floats:
    """Return the chance of k needs or more and of a failure before the window: (J, P, S, K).

    Parameters
    ----------
    law, cells
        Of P positions, on the lattice of the window.
    begins, first
        (S,): time and lattice point at which each window begins.
    window
        Tables of a new piece for windows of that width.
    """
    shape = law.lives.shape
    later = window.later_for_averages(shape)
    nodes, most, rows = later.shape
    points = cells.points
    chance = np.zeros((nodes, points.shape[1], len(first), most))
    latest_first = np.ascontiguousarray(later.transpose(0, 2, 1)[:, ::-1])
    for place, begin in enumerate(first):
        if begin:
            since = latest_first[:, rows - 1 - begin : rows - 1]
            chance[:, :, place] = points[..., :begin] @ since
            chance[:, :, place] += cells.upper[..., begin - 1, None] * later[:, None, :, 0]
    if len(window.jumps_after):
        times = np.maximum(begins[:, None] - window.jumps_after, 0.0)
        gone = 1.0 - law.survival(times.reshape(1, -1))
        gone = gone.reshape(nodes, -1, len(window.jumps_after))
        jumped = gone @ np.ascontiguousarray(window.jumps.transpose(1, 0, 2))
        chance += jumped.reshape(chance.shape)
    return chance


def failures_after_first(cells: Cells, new: NewPiece) -> Floats:
    """Return the expected failures after the first renewal, until the end of the lattice: (J, P).

    Parameters
    ----------
    cells
        (J, P, L): the first renewal, on the lattice of `new`.
    new
        Tables of a new piece.
    """
    failures = new.failures.copy()
    failures[:, 0] = (2.0 / (new.lives.shape + 1.0) - 1.0) * failures[:, 1]
    return np.asarray(
        (cells.lower @ failures[:, :0:-1, None] + cells.upper @ failures[:, -2::-1, None])[..., 0]
    )
