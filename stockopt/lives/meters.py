"""Machine clocks: running hours by date, from meters that are changed, and misread."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stockopt.errors import Note
from stockopt.lives.machines import Machine, iso
from stockopt.units import HOURS_PER_DAY

Floats = NDArray[np.float64]

RATE_DAYS = 365  # the running of the last year tells how a clock goes on after its last reading
LONG_GAP_DAYS = 45  # a reading a month is usual (common practice, no source)


class Sighting(NamedTuple):
    """One look at an hour meter, by a reading or at a replacement.

    Sightings sort in the order in which they are taken up: by day, within a day the lowest first
    and a changed meter last.
    """

    day: int
    changed: bool
    hours: float
    new_meter_hours: float  # what the new meter showed at first; `hours` where it was not changed
    table: str
    row: int

    def follows(self, day: int, meter: float) -> bool:
        """Return whether the meter can have gone from `meter` on `day` to this."""
        most = HOURS_PER_DAY * max(self.day - day, 1)
        return meter <= self.hours <= meter + most


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """What parts age by, as a function of the day: linear between known points.

    Parameters
    ----------
    days
        (n,): days of the known points, increasing.
    amounts
        (n,): what the clock stood at then, hours or days, never falling.
    per_day
        How it goes on after the last point; None where nothing tells.
    """

    days: Floats
    amounts: Floats
    per_day: float | None

    @property
    def first_day(self) -> int:
        """Return the first day on which the clock is known."""
        return int(self.days[0])

    @property
    def last_day(self) -> int:
        """Return the last day on which the clock was seen."""
        return int(self.days[-1])

    def reach(self, day: int) -> int:
        """Return the last day up to `day` on which the clock is known.

        A clock seen only once tells no rate. It is taken to stand still for as long as a usual
        gap between readings, and to be unknown after that.
        """
        return day if self.per_day is not None else min(day, self.last_day + LONG_GAP_DAYS)

    def at(self, days: ArrayLike) -> Floats:
        """Return what the clock stands at on `days`, NaN where that is not known."""
        wanted = np.asarray(days, dtype=float)
        amounts = np.interp(wanted, self.days, self.amounts)
        beyond = np.maximum(wanted - self.days[-1], 0.0)
        unknown = wanted < self.days[0]
        if self.per_day is None:
            unknown |= beyond > LONG_GAP_DAYS
        else:
            amounts = amounts + beyond * self.per_day
        return np.where(unknown, np.nan, amounts)


#: The calendar: a clock that gains a day each day, known since long before any boat.
CALENDAR = Clock(days=np.array([-1e6]), amounts=np.array([-1e6]), per_day=1.0)


@dataclass(slots=True)
class _Meter:
    """Where a machine's meter and its running hours stand while the sightings are taken up."""

    name: str
    day: int
    hours: float
    meter: float
    last: str = ""
    points: dict[int, float] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)

    def note(self, sighting: Sighting, text: str) -> None:
        place = f"{self.name}: meter at {sighting.hours:,.10g} h on {iso(sighting.day)}"
        self.notes.append(
            Note(table=sighting.table, row=sighting.row, column="hours", text=f"{place} {text}")
        )

    def _or_mistyped(self, lower: bool) -> str:
        """Return which row to look at where the meter was not changed."""
        if not (lower and self.last):
            return ""
        return f" (if it was not changed, look at {self.last} too)"

    def move_to(self, sighting: Sighting, run: float) -> None:
        self.last = f"{sighting.table}, row {sighting.row},"
        self.day = sighting.day
        self.hours += run
        self.meter = sighting.new_meter_hours
        self.points[self.day] = self.hours

    def take_up(self, sighting: Sighting, after: Sighting | None) -> None:
        """Move on to `sighting`; the one `after` it tells a slip from a changed meter.

        A sighting below the one before, or more than 24 h a day above it, is a slip and kept out
        when the next sighting follows the one before again. Otherwise a lower one is taken for a
        meter changed without record, and a higher one too if the next sighting follows it; a
        higher one alone is kept out. At a meter changed without record the hours stand where
        they were.
        """
        if sighting.follows(self.day, self.meter):
            self.move_to(sighting, sighting.hours - self.meter)
            return
        lower = sighting.hours < self.meter
        found = "is below" if lower else "is more than 24 h a day above"
        found = f"{found} the {self.meter:,.10g} h before it"
        if sighting.changed:
            self.note(sighting, f"{found}; hours run since then are not counted")
        elif after is not None and after.follows(self.day, self.meter):
            self.note(sighting, f"{found}, the next is not; kept out")
            return
        elif lower or (after is not None and after.follows(sighting.day, sighting.new_meter_hours)):
            self.note(sighting, f"{found}; {_NEW_METER}{self._or_mistyped(lower)}")
        else:
            self.note(sighting, f"{found}; kept out")
            return
        self.move_to(sighting, 0.0)


_NEW_METER = "taken for a new meter, hours carry on from there"


def read_clock(machine: Machine, sightings: Sequence[Sighting]) -> tuple[Clock | None, list[Note]]:
    """Return the running hours of `machine` as a clock, None where nothing was ever seen.

    Known points are the hours at fitting, where given with a date, and every sighting. The meter
    is taken to show the hours at fitting on that day, unless a sighting that day says otherwise;
    if the first one after it shows less, the meter is taken to have started from 0.

    Parameters
    ----------
    machine
        The machine.
    sightings
        Every look at its meter, in any order, none before it was fitted.

    Returns
    -------
    clock
        Hours by date; after the last point it goes on at the mean rate of the year before it.
    notes
        Every sighting that could not follow the one before it, and what was done.
    """
    ordered = sorted(sightings)
    meter = _start(machine, ordered)
    if meter is None:
        return None, []
    for sighting, after in zip(ordered, [*ordered[1:], None], strict=False):
        meter.take_up(sighting, after)
    return _clock(meter.points), meter.notes


def _start(machine: Machine, ordered: list[Sighting]) -> _Meter | None:
    """Return the meter as it stood at the first known point; drop the sightings used up by it."""
    at_fitting = machine.hours_at_fitting
    if machine.fitted_on is not None and at_fitting is not None:
        meter = _Meter(machine.name, machine.fitted_on, at_fitting, at_fitting)
        meter.points[meter.day] = meter.hours
        if ordered and ordered[0].day == machine.fitted_on:
            that_day = [s for s in ordered if s.day == machine.fitted_on]
            first = that_day[-1] if that_day[-1].changed else that_day[0]
            ordered.remove(first)
            meter.meter = first.new_meter_hours
        elif ordered and ordered[0].hours < at_fitting:
            meter.note(ordered[0], f"is below the {at_fitting:,.10g} h at fitting; {_FROM_ZERO}")
            meter.meter = 0.0
        return meter
    if not ordered:
        return None
    first = ordered.pop(0)
    meter = _Meter(machine.name, first.day, first.hours, first.new_meter_hours)
    if at_fitting is not None and first.hours < at_fitting:
        meter.note(first, f"is below the {at_fitting:,.10g} h at fitting; {_FROM_ZERO}")
        meter.hours += at_fitting
    meter.points[meter.day] = meter.hours
    return meter


_FROM_ZERO = "the meter is taken to have started from 0 then"


def _clock(points: dict[int, float]) -> Clock:
    days = np.array(list(points), dtype=float)
    amounts = np.array(list(points.values()), dtype=float)
    since = max(days[-1] - RATE_DAYS, days[0])
    if days[-1] == since:
        return Clock(days=days, amounts=amounts, per_day=None)
    run = amounts[-1] - np.interp(since, days, amounts)
    return Clock(days=days, amounts=amounts, per_day=float(run / (days[-1] - since)))
