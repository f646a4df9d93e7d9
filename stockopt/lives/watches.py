"""How long each machine is watched on each clock, and what was there when the watch began."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stockopt.errors import Note
from stockopt.lives.cut import Piece, Watch
from stockopt.lives.machines import Machine, iso
from stockopt.lives.meters import CALENDAR, LONG_GAP_DAYS, Clock

#: A part that wears (shape 2.2) has failed by half of its mean life 15 times in 100.
FIRST_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """One machine on one clock.

    Parameters
    ----------
    clock
        The clock; None for hours that were never seen.
    watch
        The stretch watched; None where nothing is.
    zero, began_on
        What the clock stood at when the machine was of age 0, and the day; None where not known.
    told_from_new
        Whether its records reach back to when it was fitted new, so that what they do not say did
        not happen.
    """

    clock: Clock | None
    watch: Watch | None
    zero: float | None
    began_on: int | None
    told_from_new: bool

    def amounts(self, days: Sequence[float]) -> list[float]:
        """Return what the clock stood at on `days`, NaN where day or clock is not known."""
        if self.clock is None:
            return [math.nan] * len(days)
        amounts: list[float] = self.clock.at(days).tolist()
        return amounts

    def amounts_by(self, day: int) -> tuple[float, float]:
        """Return what the clock stands at on `day`, and at the last time up to then it is known."""
        if self.clock is None:
            return math.nan, math.nan
        now, seen = self.clock.at([day, self.clock.reach(day)]).tolist()
        return now, seen

    def first_piece(self, expected_life: float) -> Piece:
        """Return the piece in each slot when the watch begins.

        It is as old as the machine where the records reach back to its fitting, or where so little
        was run by the time the watch began that it will not have been changed: up to
        :data:`FIRST_SHARE` of its expected life, NaN where that is not told. Else its age is not
        known.
        """
        seen_from = self.watch.first_amount if self.watch is not None else math.nan
        few = 0.0 if math.isnan(expected_life) else FIRST_SHARE * expected_life
        if self.zero is not None and (self.told_from_new or seen_from - self.zero <= few):
            return Piece(zero=self.zero, age_known=True, began_on=self.began_on)
        return Piece(zero=seen_from, age_known=False, began_on=None)


def watch_calendar(
    machine: Machine, first_record: int | None, boat_begins: int, planned_on: int
) -> Watched:
    """Watch `machine` by the calendar; the days of one fitted used are not known."""
    used = machine.hours_at_fitting is not None and machine.hours_at_fitting > 0
    began_on = None if used else machine.fitted_on
    return Watched(
        clock=CALENDAR,
        watch=_watch(machine, CALENDAR, first_record, planned_on),
        zero=None if began_on is None else float(began_on),
        began_on=began_on,
        told_from_new=machine.is_told_from_new(boat_begins),
    )


def watch_hours(
    machine: Machine,
    clock: Clock | None,
    first_record: int | None,
    boat_begins: int,
    planned_on: int,
) -> Watched:
    """Watch `machine` by its running hours, known where those at its fitting are."""
    at_fitting = machine.hours_at_fitting
    return Watched(
        clock=clock,
        watch=None if clock is None else _watch(machine, clock, first_record, planned_on),
        zero=None if at_fitting is None or clock is None else 0.0,
        began_on=machine.fitted_on if at_fitting == 0 else None,
        told_from_new=machine.is_told_from_new(boat_begins),
    )


def _watch(
    machine: Machine, clock: Clock, first_record: int | None, planned_on: int
) -> Watch | None:
    begins = machine.watched_from(first_record)
    if begins is None:
        return None
    ends, ends_by = machine.watched_until(planned_on)
    first, last = max(begins, clock.first_day), clock.reach(ends)
    if first > last:
        return None
    first_amount, last_amount = clock.at([first, last]).tolist()
    return Watch(first, last, first_amount, last_amount, ends_by if last == ends else "running")


def note_hours(
    machine: Machine, watched: Watched, first_record: int | None, planned_on: int
) -> list[Note]:
    """Say where the hours of `machine` are not known, or were carried on for long."""
    ends, _ = machine.watched_until(planned_on)
    clock, watch = watched.clock, watched.watch
    texts = []
    if clock is None:
        texts.append("no reading of its hours; what ages by them cannot be watched")
    elif watch is not None:
        begins = machine.watched_from(first_record)
        if begins is not None and watch.first_day - begins > LONG_GAP_DAYS:
            texts.append(
                f"its hours are not known before {iso(watch.first_day)}; what ages by them "
                f"is watched from then"
            )
        last, gap = iso(clock.last_day), ends - clock.last_day
        if gap > LONG_GAP_DAYS and clock.per_day is None:
            texts.append(f"its hours are known on {last} only; {gap} days later they are not")
        elif gap > LONG_GAP_DAYS:
            texts.append(
                f"last read on {last}, {gap} days before {iso(ends)}; carried on at "
                f"{clock.per_day:.2g} h a day, as in the year before"
            )
    return [
        Note(table="readings", column="hours", text=f"{machine.name}: {text}") for text in texts
    ]
