"""Spares of one part used one after another, on all boats and in all seasons side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stockopt.rehearsal.calendar import Bools, Calendar, Floats, Ints
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
class Used:
    """What became of it; each (B, R), money in the plan's currency.

    `left` are spares at the end, late ones that never came aboard among them.
    """

    need: Ints
    short: Ints
    short_cost: Floats
    days_lost: Floats
    restock_cost: Floats
    left: Ints


def use_spares(
    events: Events, aboard: Aboard, money: Money, calendar: Calendar, fill_rate: float
) -> Used:
    """Go through the needs of every boat and season in the order they come.

    Parameters
    ----------
    events
        By boat, season and day.
    aboard
        What is there.
    money
        What is short or restocked costs.
    calendar
        When legs end.
    fill_rate
        Share of the pieces asked of a store that it has on its shelf.
    """
    shape = aboard.carry.shape
    seasons = shape[1]
    key = events.boat * seasons + events.season
    count = np.bincount(key, minlength=shape[0] * seasons)
    first = np.cumsum(count) - count
    held = _Held(aboard, money)
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
    cost, lost = _cost_short(events.picked(is_short), money, calendar, fill_rate)

    def add(values: Floats) -> Floats:
        total = np.bincount(key[is_short], weights=values, minlength=len(count))
        return np.asarray(total.reshape(shape))

    return Used(
        need=count.reshape(shape),
        short=np.bincount(key[is_short], minlength=len(count)).reshape(shape),
        short_cost=add(cost),
        days_lost=add(lost),
        restock_cost=held.paid.reshape(shape),
        left=(held.spares + held.late).reshape(shape),
    )


class _Held:
    """Spares held on each boat in each season, as the seasons go on: one flat row of both."""

    def __init__(self, aboard: Aboard, money: Money) -> None:
        seasons = aboard.carry.shape[1]
        self.carry = aboard.carry.ravel()
        self.late = aboard.late.ravel().copy()
        self.spares = self.carry - self.late
        self.joins = aboard.joins.ravel()
        self.restock = np.repeat(aboard.restock, seasons)
        self.stretch = np.zeros(len(self.carry), dtype=np.int64)
        self.price = np.zeros(len(self.carry))
        self.paid = np.zeros(len(self.carry))
        self._restock_price = money.restock
        self._any_late = bool(self.late.any())

    def go_on(self, mine: Ints, stretch: Ints, leg: Ints) -> None:
        """Sail on to a stretch: what was used is made up where the one before it ended."""
        self._make_up(mine[stretch > self.stretch[mine]])
        self.stretch[mine] = stretch
        self.price[mine] = self._restock_price[leg]
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
        # What was never used has no price yet, and nothing is missing.
        self.paid[mine] += missing * self.price[mine]
        self.spares[mine] += missing

    def _come_aboard(self, mine: Ints, leg: Ints) -> None:
        there = mine[(self.late[mine] > 0) & (leg >= self.joins[mine])]
        self.spares[there] += self.late[there]
        self.late[there] = 0


def _cost_short(
    short: Events, money: Money, calendar: Calendar, fill_rate: float
) -> tuple[Floats, Floats]:
    """Return what each piece short costs, and the days lost to it.

    The store brings it in its chase days, later where its shelf is empty. Out of reach it is got
    where the leg ends, by waiting there.
    """
    leg, boat = short.leg, short.boat
    empty = np.where(short.luck < fill_rate, 0.0, money.empty_wait[boat])
    to_port = np.maximum(calendar.departs[leg] + calendar.days[leg] - short.day, 0.0)
    lost = money.wait[leg] + np.where(money.in_reach[leg], empty, to_port)
    return money.short[leg] + money.lost_day[boat] * lost, lost
