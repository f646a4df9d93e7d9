"""Spares of one part held aboard, on all boats and in all seasons side by side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stockopt.rehearsal.calendar import Bools, Floats, Ints

#: A leg that is never sailed.
NEVER = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True, kw_only=True)
class InDate:
    """Until when the spares of a part can be used, where some expire under way.

    All in days from the day that the calendar counts from: a spare is good up to the moment in
    which the day after its last good one begins, infinity where that never comes.

    Parameters
    ----------
    until
        (B, N): of each boat's spares, those that orders bring first, then by date; minus infinity
        beyond what she carries.
    expire
        (B,): whether some of what she carries, or makes up, expires before her plan ends.
    bought
        Of a piece that an order brings.
    keeps
        Days that a piece keeps from the day on which it is bought under way.
    """

    until: Floats
    expire: Bools
    bought: float
    keeps: float


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
    in_date
        How long they can be used; None where all can to the end.
    """

    carry: Ints
    restock: Bools
    late: Ints
    joins: Ints
    in_date: InDate | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeUp:
    """Spares made up where stretches end, one row each time some were; each (N,).

    `leg` is one of the stretch at whose end they were.
    """

    boat: Ints
    season: Ints
    leg: Ints
    pieces: Ints


class Held:
    """Spares held on each boat in each season, as the seasons go on: one flat row of both.

    All of them are good to the end, see :class:`~stockopt.rehearsal.dated.Dated` for others.
    """

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
        self._sail_to(mine, stretch)
        self.leg[mine] = leg
        if self._any_late:
            self._come_aboard(mine, leg)

    def take(self, mine: Ints, day: Floats) -> Bools:
        """Take a spare each on a day; return where there was one."""
        there = self.spares[mine] > 0
        self.spares[mine] -= there
        return np.asarray(there)

    def finish(self, last: Ints) -> None:
        """Sail on to the end of the last stretch, where nothing is made up."""
        self._sail_to(np.arange(len(self.carry)), last)

    def count_left(self) -> Ints:
        """Return the spares that are good at the end, late ones that never came among them."""
        return np.asarray(self.spares + self.late)

    def list_made_up(self, seasons: int) -> MadeUp:
        """Return all that was made up."""
        nothing = np.zeros(0, dtype=np.int64)
        key, leg, pieces = (
            np.concatenate([nothing, *column])
            for column in (zip(*self._made_up, strict=True) if self._made_up else ((), (), ()))
        )
        return MadeUp(boat=key // seasons, season=key % seasons, leg=leg, pieces=pieces)

    def _sail_to(self, mine: Ints, stretch: Ints) -> None:
        """Make up once: nothing is missing again until something is used."""
        self._make_up(mine[(stretch > self.stretch[mine]) & self.restock[mine]])
        self.stretch[mine] = stretch

    def _make_up(self, mine: Ints) -> None:
        missing = self.carry[mine] - self.spares[mine] - self.late[mine]
        some = missing > 0
        mine, missing = mine[some], missing[some]
        self._made_up.append((mine, self.leg[mine], missing))
        self.spares[mine] += missing

    def _find_joining(self, mine: Ints, leg: Ints) -> Ints:
        return mine[(self.late[mine] > 0) & (leg >= self.joins[mine])]

    def _come_aboard(self, mine: Ints, leg: Ints) -> None:
        there = self._find_joining(mine, leg)
        self.spares[there] += self.late[there]
        self.late[there] = 0
