"""Cutting a clock into lives: what each piece of one part on one machine did."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from stockopt.lives.slots import draw_failed


class Change(NamedTuple):
    """One row of the replacements table, with what the clock stood at that day.

    Changes sort in the order in which they are taken up: by day; within a day those that name
    their slot first, so that the assumed slots come from the others, then failures.
    """

    day: int
    slot_assumed: bool
    slot: int
    planned: bool
    reason: str
    quantity: int
    sound: float  # what the clock stood at when last seen sound; minus infinity if not known
    row: int
    amount: float  # NaN where the clock was not known


class Watch(NamedTuple):
    """The stretch of a clock that is watched: first and last day, and what it stood at then."""

    first_day: int
    last_day: int
    first_amount: float
    last_amount: float
    ends_by: str


class Life(NamedTuple):
    """One life of one piece, as in the lives table."""

    slot: int
    entered: float
    left: float
    sound: float
    failed: bool
    age_known: bool
    reason: str
    began_on: int | None
    ended_on: int
    row: int


class LeftOut(NamedTuple):
    """Pieces of one replacement that end no life, and why."""

    row: int
    pieces: int
    failed: bool
    why: str


@dataclass(slots=True)
class Piece:
    """The piece now in one slot.

    Parameters
    ----------
    zero
        What the clock stood at when its age was 0; where its age is not known, when it was first
        watched.
    age_known
        Whether its age is known.
    began_on
        The day it was fitted; None where that was not seen.
    changed_on
        The day of the last change in its slot; None where there was none.
    """

    zero: float
    age_known: bool
    began_on: int | None
    changed_on: int | None = None


@dataclass(slots=True)
class History:
    """The slots of one part on one machine, while its changes are taken up in order.

    Parameters
    ----------
    pieces
        The piece in each slot; at first those there when the watch begins.
    watch
        The stretch watched; None where nothing is.
    age_power
        How the hazard of a piece grows with its age: as age to this power.
    lives, left_out
        What came of it.
    slots_assumed
        Pieces whose slot had to be assumed.
    """

    pieces: list[Piece]
    watch: Watch | None
    age_power: float
    lives: list[Life] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    slots_assumed: int = 0

    def take_up(self, changes: Iterable[Change]) -> None:
        """Take up `changes`, none after the last day watched, and end what still runs then."""
        for change in sorted(changes):
            slots = self._slots_of(change)
            if len(slots) < change.quantity:
                self._leave_out(change, change.quantity - len(slots), BEYOND)
            for slot in slots:
                self._change(slot, change)
        if self.watch is not None:
            for slot, piece in enumerate(self.pieces):
                self._end_running(slot, piece, self.watch)

    def _slots_of(self, change: Change) -> Sequence[int]:
        """Return the slots, from 0, that a change is about.

        Those named; else those drawn for a failure under watch, and the oldest for all others.
        """
        count = len(self.pieces)
        if not change.slot_assumed:
            first = change.slot - 1
            return range(first, max(first, min(first + change.quantity, count)))
        if change.quantity >= count:
            return range(count)
        drawn: list[int] = []
        if self.watch is not None and change.day > self.watch.first_day and not change.planned:
            ages = [change.amount - piece.zero for piece in self.pieces]
            seed = change.day * _MOST_A_DAY + self.slots_assumed
            drawn = draw_failed(ages, change.quantity, self.age_power, seed)
        self.slots_assumed += change.quantity
        rest = sorted(set(range(count)) - set(drawn), key=self._last_change)
        return [*drawn, *rest][: change.quantity]

    def _last_change(self, slot: int) -> tuple[bool, int, int]:
        changed_on = self.pieces[slot].changed_on
        return (changed_on is not None, changed_on or 0, slot)

    def _change(self, slot: int, change: Change) -> None:
        old, watch = self.pieces[slot], self.watch
        if watch is None or change.day <= watch.first_day:
            self._leave_out(change, 1, BEFORE)
        elif old.changed_on == change.day:
            self._leave_out(change, 1, SAME_DAY)
            return
        else:
            self._end(slot, old, change, watch)
        known = change.amount == change.amount  # not NaN
        unknown_zero = watch.first_amount if watch is not None else change.amount
        self.pieces[slot] = Piece(
            zero=change.amount if known else unknown_zero,
            age_known=known,
            began_on=change.day,
            changed_on=change.day,
        )

    def _end(self, slot: int, piece: Piece, change: Change, watch: Watch) -> None:
        entered = _entered(piece, watch)
        left = change.amount - piece.zero
        failed = not change.planned
        if left <= 0 or (left <= entered and not failed):
            self._leave_out(change, 1, NOT_RUN)
            return
        left = max(left, entered)
        seen_sound = failed and math.isfinite(change.sound)
        self.lives.append(
            Life(
                slot=slot + 1,
                entered=entered,
                left=left,
                sound=min(max(change.sound - piece.zero, entered), left) if seen_sound else left,
                failed=failed,
                age_known=piece.age_known,
                reason=change.reason,
                began_on=piece.began_on,
                ended_on=change.day,
                row=change.row,
            )
        )

    def _end_running(self, slot: int, piece: Piece, watch: Watch) -> None:
        entered = _entered(piece, watch)
        left = watch.last_amount - piece.zero
        if left > entered:
            self.lives.append(
                Life(
                    slot=slot + 1,
                    entered=entered,
                    left=left,
                    sound=left,
                    failed=False,
                    age_known=piece.age_known,
                    reason=watch.ends_by,
                    began_on=piece.began_on,
                    ended_on=watch.last_day,
                    row=0,
                )
            )

    def _leave_out(self, change: Change, pieces: int, why: str) -> None:
        self.left_out.append(LeftOut(change.row, pieces, not change.planned, why))


#: Spreads the seeds of one day's draws.
_MOST_A_DAY = 1000


def _entered(piece: Piece, watch: Watch) -> float:
    """Return the age at which a piece came under watch: 0 if it was fitted under watch."""
    return max(watch.first_amount - piece.zero, 0.0)


BEYOND = "beyond the positions fitted"
BEFORE = "before the watch begins"
SAME_DAY = "same slot and day as another"
NOT_RUN = "no running since it was fitted"
