"""Spares held aboard that expire under way, each with its own date."""

from __future__ import annotations

import numpy as np

from stockopt.rehearsal.calendar import Bools, Floats, Ints
from stockopt.rehearsal.held import Aboard, Held, InDate
from stockopt.rehearsal.money import Money

#: Where no piece is, and until when one is good that keeps for ever: later than any day.
_NONE, _FOR_EVER = -np.inf, 1e300


class Dated(Held):
    """Spares told apart by their dates: the shortest dated is used first.

    Where spares are made up, those that would not last to the next chance are replaced as well.

    Parameters
    ----------
    aboard, in_date
        The spares, and how long they can be used.
    money
        Where stretches end.
    """

    def __init__(self, aboard: Aboard, in_date: InDate, money: Money) -> None:
        super().__init__(aboard)
        seasons = aboard.carry.shape[1]
        self._bought = min(in_date.bought, _FOR_EVER)
        self._keeps = min(in_date.keeps, _FOR_EVER)
        # (B * R, N): until when each spare aboard is good.
        self._until = np.repeat(np.minimum(in_date.until, _FOR_EVER), seasons, axis=0)
        self._until[np.arange(self._until.shape[1]) < self.late[:, None]] = _NONE
        self._end_leg = np.flatnonzero(money.end_leg == np.arange(len(money.end_leg)))
        self._end_day = money.end_day[self._end_leg]
        stretches = money.last_stretch + 1
        self._first_end = np.repeat(np.cumsum(stretches) - stretches, seasons)
        self._last_end = np.repeat(np.cumsum(stretches) - 1, seasons)

    def take(self, mine: Ints, day: Floats) -> Bools:
        """Take a spare that is in date each; return where there was one."""
        until = self._until[mine]
        good = until > day[:, None]
        there = good.any(axis=1)
        first = np.where(good, until, np.inf).argmin(axis=1)
        self._until[mine[there], first[there]] = _NONE
        return np.asarray(there)

    def count_left(self) -> Ints:
        """Return the spares that are in date when the plan ends, late ones among them."""
        ends = np.ceil(self._end_day[self._last_end])
        good = (self._until > ends[:, None]).sum(axis=1)
        return np.asarray(good + np.where(self._bought > ends, self.late, 0))

    def _sail_to(self, mine: Ints, stretch: Ints) -> None:
        """Go from chance to chance: a spare that nobody used may not last to the next."""
        behind = (self.stretch[mine] < stretch) & self.restock[mine]
        while behind.any():
            self._make_up(mine[behind])
            self.stretch[mine[behind]] += 1
            behind &= self.stretch[mine] < stretch
        self.stretch[mine] = stretch

    def _make_up(self, mine: Ints) -> None:
        end = self._first_end[mine] + self.stretch[mine]
        leg, day, next_chance = self._end_leg[end], self._end_day[end], self._end_day[end + 1]
        if self._any_late:
            self._come_aboard(mine, leg)
        lasts = self._until[mine] > np.ceil(next_chance)[:, None]
        missing = self.carry[mine] - self.late[mine] - lasts.sum(axis=1)
        some = missing > 0
        mine, missing = mine[some], missing[some]
        self._made_up.append((mine, leg[some], missing))
        self._until[mine] = np.where(lasts[some], self._until[mine], _NONE)
        self._add(mine, missing, np.floor(day[some]) + self._keeps + 1.0)

    def _come_aboard(self, mine: Ints, leg: Ints) -> None:
        there = self._find_joining(mine, leg)
        self._add(there, self.late[there], np.full(len(there), self._bought))
        self.late[there] = 0

    def _add(self, mine: Ints, pieces: Ints, until: Floats) -> None:
        """Put pieces where there are none; there is room for all that she carries."""
        there = self._until[mine]
        room = there == _NONE
        new = room & (room.cumsum(axis=1) <= pieces[:, None])
        self._until[mine] = np.where(new, until[:, None], there)
