"""Spares of one part used one after another, on all boats and in all seasons side by side.

Spares that expire under way are played as if they were good to the end: where a plan counts with
that, seasons look a little better than it tells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stockopt.rehearsal.calendar import Bools, Ints
from stockopt.rehearsal.futures import Events
from stockopt.rehearsal.money import Money

#: A leg that is never sailed.
NEVER = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True, kw_only=True)
class Aboard:
    """Spares of one part at departure; each (B, R) but `restock` (B,).

    Parameters
    ----------
    carry
        Spares to keep aboard.
    restock
        Whether they are made up where stretches end.
    late, joins
        How many of `carry` are not there yet, and the leg before which they come aboard; NEVER
        where they do not.
    """

    carry: Ints
    restock: Bools
    late: Ints
    joins: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeUp:
    """Spares made up where stretches end, one row each time some were; each (N,).

    `leg` is that on which the last of them was used.
    """

    boat: Ints
    season: Ints
    leg: Ints
    pieces: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """What became of the spares.

    Parameters
    ----------
    need, short, left
        (B, R): pieces needed, and short; spares at the end, late ones that never came aboard among
        them.
    shortages
        The events that found no spare.
    made_up
        The spares made up.
    """

    need: Ints
    short: Ints
    left: Ints
    shortages: Events
    made_up: MadeUp


def use_spares(events: Events, aboard: Aboard, money: Money) -> Used:
    """Go through the needs of every boat and season in the order they come.

    Parameters
    ----------
    events
        By boat, season and day.
    aboard
        What is there.
    money
        Where stretches end.
    """
    shape = aboard.carry.shape
    seasons = shape[1]
    key = events.boat * seasons + events.season
    count = np.bincount(key, minlength=shape[0] * seasons)
    first = np.cumsum(count) - count
    held = _Held(aboard)
    is_short = np.zeros(len(key), dtype=bool)
    # The n-th needs of all boats and seasons are met at once; few have many.
    by_count = np.argsort(-count, kind="stable")
    still = int(np.count_nonzero(count))
    for turn in range(int(count.max(initial=0))):
        while count[by_count[still - 1]] <= turn:
            still -= 1
        mine = by_count[:still]
        event = first[mine] + turn
        held.go_on(mine, money.stretch[events.leg[event]], events.leg[event])
        is_short[event] = ~held.take(mine)
    held.finish(np.repeat(money.last_stretch, seasons))
    return Used(
        need=count.reshape(shape),
        short=np.bincount(key[is_short], minlength=len(count)).reshape(shape),
        left=(held.spares + held.late).reshape(shape),
        shortages=events.picked(is_short),
        made_up=held.list_made_up(seasons),
    )


class _Held:
    """Spares held on each boat in each season, as the seasons go on: one flat row of both."""

    def __init__(self, aboard: Aboard) -> None:
        seasons = aboard.carry.shape[1]
        self.carry = aboard.carry.ravel()
        self.late = aboard.late.ravel().copy()
        self.spares = self.carry - self.late
        self.joins = aboard.joins.ravel()
        self.restock = np.repeat(aboard.restock, seasons)
        self.stretch = np.zeros(len(self.carry), dtype=np.int64)
        self.leg = np.zeros(len(self.carry), dtype=np.int64)
        self._made_up: list[tuple[Ints, Ints, Ints]] = []
        self._any_late = bool(self.late.any())

    def go_on(self, mine: Ints, stretch: Ints, leg: Ints) -> None:
        """Sail on to a stretch: what was used is made up where the one before it ended."""
        self._make_up(mine[stretch > self.stretch[mine]])
        self.stretch[mine] = stretch
        self.leg[mine] = leg
        if self._any_late:
            self._come_aboard(mine, leg)

    def take(self, mine: Ints) -> Bools:
        """Take a spare each; return where there was one."""
        there = self.spares[mine] > 0
        self.spares[mine] -= there
        return np.asarray(there)

    def finish(self, last: Ints) -> None:
        """Sail on to the end of the last stretch, where nothing is made up."""
        everyone = np.arange(len(self.carry))
        self._make_up(everyone[last > self.stretch])

    def _make_up(self, mine: Ints) -> None:
        mine = mine[self.restock[mine]]
        missing = self.carry[mine] - self.spares[mine] - self.late[mine]
        some = missing > 0
        mine, missing = mine[some], missing[some]
        self._made_up.append((mine, self.leg[mine], missing))
        self.spares[mine] += missing

    def list_made_up(self, seasons: int) -> MadeUp:
        """Return all that was made up."""
        nothing = np.zeros(0, dtype=np.int64)
        key, leg, pieces = (
            np.concatenate([nothing, *column])
            for column in (zip(*self._made_up, strict=True) if self._made_up else ((), (), ()))
        )
        return MadeUp(boat=key // seasons, season=key % seasons, leg=leg, pieces=pieces)

    def _come_aboard(self, mine: Ints, leg: Ints) -> None:
        there = mine[(self.late[mine] > 0) & (leg >= self.joins[mine])]
        self.spares[there] += self.late[there]
        self.late[there] = 0
