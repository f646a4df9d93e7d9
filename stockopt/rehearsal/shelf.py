"""A store's shelf of one part, asked for pieces in all seasons side by side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from stockopt.rehearsal.calendar import Bools, Floats, Ints

#: Days the n-th order of each season takes: (R,).
LeadDays = Callable[[int], Floats]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """How a store keeps one part.

    Parameters
    ----------
    level
        Pieces on the shelf when the season begins.
    source
        Who it reorders from; "" where it reorders nothing.
    reorder_point, order_quantity
        Pieces left at which an order is placed, and pieces ordered.
    moved_in
        Pieces of `level` that come from boats.
    """

    level: int
    source: str
    reorder_point: int
    order_quantity: int
    moved_in: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Days between which the shelf is watched, and the last on which anything is ordered."""

    begins: float
    ends: float
    last_order: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What became of the shelf.

    Parameters
    ----------
    served
        (E,): whether there was a piece for each that was asked for.
    season, day
        (N,): of each order placed.
    left
        (R,): pieces left at the end, those on the way among them.
    piece_days
        (R,): pieces on the shelf times days.
    """

    served: Bools
    season: Ints
    day: Floats
    left: Ints
    piece_days: Floats


def keep_shelf(
    shelf: Shelf, season: Ints, day: Floats, *, seasons: int, span: Span, lead: LeadDays
) -> Kept:
    """Ask a shelf for pieces one by one.

    One order is on its way at a time; where the stock is at the reorder point or below when it
    arrives, the next is placed at once. A piece that is not there is got elsewhere.

    Parameters
    ----------
    shelf
        How it is kept.
    season, day
        (E,): when each piece is asked for, by season and day.
    seasons
        R.
    span, lead
        Days, and how long orders take.
    """
    state = _State(shelf, seasons, span, lead)
    count = np.bincount(season, minlength=seasons)
    first = np.cumsum(count) - count
    by_count = np.argsort(-count, kind="stable")
    still = int(np.count_nonzero(count))
    served = np.zeros(len(season), dtype=bool)
    state.reorder(np.arange(seasons))
    for turn in range(int(count.max(initial=0))):
        while count[by_count[still - 1]] <= turn:
            still -= 1
        mine = by_count[:still]
        event = first[mine] + turn
        served[event] = state.take(mine, day[event])
    everyone = np.arange(seasons)
    state.go_on(everyone, np.full(seasons, span.ends))
    on_the_way = np.where(np.isfinite(state.arrives), shelf.order_quantity, 0)
    return Kept(
        served=served,
        season=np.concatenate([np.zeros(0, dtype=np.int64), *state.ordered_in]),
        day=np.concatenate([np.zeros(0), *state.ordered_on]),
        left=state.stock + on_the_way,
        piece_days=state.piece_days,
    )


class _State:
    """The shelf in every season, each at its own day."""

    def __init__(self, shelf: Shelf, seasons: int, span: Span, lead: LeadDays) -> None:
        self.stock = np.full(seasons, shelf.level, dtype=np.int64)
        self.day = np.full(seasons, span.begins)
        self.arrives = np.full(seasons, np.inf)
        self.piece_days = np.zeros(seasons)
        self.ordered_in: list[Ints] = []
        self.ordered_on: list[Floats] = []
        self._orders = np.zeros(seasons, dtype=np.int64)
        self._shelf, self._span, self._lead = shelf, span, lead
        self._leads: list[Floats] = []

    def take(self, mine: Ints, day: Floats) -> Bools:
        """Ask for a piece in some seasons; return where there was one."""
        self.go_on(mine, day)
        there = self.stock[mine] > 0
        self.stock[mine] -= there
        self.reorder(mine)
        return np.asarray(there)

    def go_on(self, mine: Ints, day: Floats) -> None:
        """Let time pass up to a day, orders arriving on the way."""
        due = self.arrives[mine] <= day
        while due.any():
            arriving = mine[due]
            self._wait(arriving, self.arrives[arriving])
            self.stock[arriving] += self._shelf.order_quantity
            self.arrives[arriving] = np.inf
            self.reorder(arriving)
            due = self.arrives[mine] <= day
        self._wait(mine, day)

    def _wait(self, mine: Ints, day: Floats) -> None:
        passed = np.maximum(day - self.day[mine], 0.0)
        self.piece_days[mine] += self.stock[mine] * passed
        self.day[mine] = np.maximum(day, self.day[mine])

    def reorder(self, mine: Ints) -> None:
        """Order where the stock is low, nothing is on its way and there is time."""
        if not self._shelf.source:
            return
        low = self.stock[mine] <= self._shelf.reorder_point
        open_ = ~np.isfinite(self.arrives[mine]) & (self.day[mine] <= self._span.last_order)
        mine = mine[low & open_]
        if not len(mine):
            return
        number = self._orders[mine]
        while len(self._leads) <= number.max():
            self._leads.append(self._lead(len(self._leads)))
        days = np.array(self._leads)[number, mine]
        self.arrives[mine] = self.day[mine] + days
        self._orders[mine] += 1
        self.ordered_in.append(mine)
        self.ordered_on.append(self.day[mine].copy())
