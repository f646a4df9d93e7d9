"""A fleet's invented past, event by event: meters run, pieces fail, services are done.

Day 0 is the first day of the records; a machine's hours on a day are those at its start.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from true_lives import TrueLife

#: Below this shape a piece has no memory to speak of, so a used one serves as well as a new one.
MEMORYLESS_SHAPE = 1.25
WEARING_SHAPE = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How often people do what is not in the lives themselves; all shares."""

    worn: float = 0.45
    unknown: float = 0.04
    borrowed: float = 0.15
    swapped: float = 0.1
    noted: float = 0.5
    hours_written: float = 0.5
    slot_written: float = 0.8
    early: float = 0.72


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One machine while it is aboard.

    Parameters
    ----------
    boat, machine, model
        As in the machines table.
    first_day, last_day
        Days aboard and recorded; `last_day` is the day after the last one.
    hours_run
        Its true hours at the start of each day from `first_day` to `last_day`.
    days_before
        Days its pieces had served before the records.
    lived_before
        Its pieces were renewed through earlier years that nobody wrote down.
    meter_changed_on
        Day on which its hour meter was changed for a new one.
    parts
        Pieces fitted, by part.
    """

    boat: str
    machine: str
    model: str
    first_day: int
    last_day: int
    hours_run: tuple[float, ...]
    days_before: float = 0.0
    lived_before: bool = False
    meter_changed_on: int | None = None
    parts: Mapping[str, int] = field(default_factory=dict)

    def clock(self, life: TrueLife, day: int) -> float:
        """Return what its clock for this part shows at the start of `day`."""
        if life.clock == "hours":
            return self.hours_run[day - self.first_day]
        return day - self.first_day + self.days_before

    def meter(self, hours: float, day: int) -> float:
        """Return what the hour meter shows on `day` when the machine has truly run `hours`."""
        changed = self.meter_changed_on
        if changed is None or day <= changed:
            return hours
        return hours - self.hours_run[changed - self.first_day]

    def day_of(self, life: TrueLife, clock: float) -> int:
        """Return the day on which the clock reaches `clock`; `last_day` if it never does."""
        if life.clock == "days":
            return min(self.first_day + int(clock - self.days_before), self.last_day)
        reached = bisect_left(self.hours_run, clock)
        return self.first_day + reached - 1 if reached < len(self.hours_run) else self.last_day


@dataclass(slots=True, kw_only=True)
class Position:
    """One place on a machine where one piece is fitted."""

    on: Machine
    life: TrueLife
    slot: int
    fitted_at: float = 0.0
    fails_at: float = 0.0
    fails_on: int = 0

    def fit_new(self, random: np.random.Generator, clock: float) -> None:
        """Fit a new piece when the clock shows `clock`."""
        self.fitted_at = clock
        self._fail_after(self.life.draw(random))

    def fit_aged(self, random: np.random.Generator, clock: float, age: float) -> None:
        """Start with a piece that already has `age` when the clock shows `clock`."""
        self.fitted_at = clock - age
        self._fail_after(self.life.draw(random, age))

    def _fail_after(self, life: float) -> None:
        self.fails_at = self.fitted_at + life
        self.fails_on = self.on.day_of(self.life, self.fails_at)

    @property
    def can_prove(self) -> bool:
        """Return whether people try a spare of it; nobody does that with a filter."""
        return "filter" not in self.life.family

    def age(self, day: int) -> float:
        """Return the age of the piece at the start of `day`."""
        return self.on.clock(self.life, day) - self.fitted_at


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One line of the replacements table; `hours` are what the meter showed."""

    day: int
    boat: str
    machine: str
    part: str
    quantity: int
    hours: float | None
    reason: str
    slot: int | None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """When boats are served: every so often in season, once in winter; days of the records."""

    first: date
    in_season: frozenset[int]
    in_winter: Mapping[str, frozenset[int]]

    def date(self, day: int) -> date:
        """Return the date of a day of the records."""
        return self.first + timedelta(days=day)


class Past:
    """The past of a fleet as it unfolds, day after day."""

    def __init__(
        self,
        machines: Sequence[Machine],
        lives: Mapping[str, TrueLife],
        calendar: Calendar,
        remarks: Mapping[str, str],
        habits: Habits,
        random: np.random.Generator,
    ) -> None:
        self._lives = lives
        self._calendar = calendar
        self._remarks = remarks
        self._habits = habits
        self._random = random
        self._changes: list[Change] = []
        self._positions = [
            position for machine in machines for position in self._new_positions(machine)
        ]

    def unfold(self) -> list[Change]:
        """Return every change, in order of day, boat, machine, part and slot."""
        last = max(position.on.last_day for position in self._positions)
        for day in range(last):
            aboard = [p for p in self._positions if p.on.first_day <= day < p.on.last_day]
            for position in aboard:
                if position.fails_on == day:
                    self._fail(position, day, aboard)
            for boat, positions in itertools.groupby(aboard, key=lambda p: p.on.boat):
                self._serve(boat, list(positions), day)
        return sorted(self._changes, key=lambda c: (c.day, c.boat, c.machine, c.part, c.slot or 0))

    def _new_positions(self, machine: Machine) -> Iterable[Position]:
        for part, quantity in machine.parts.items():
            if part not in self._lives:
                continue
            life = self._lives[part]
            for slot in range(1, quantity + 1):
                position = Position(on=machine, life=life, slot=slot)
                start = machine.clock(life, machine.first_day)
                age = self._renewed_age(life, start) if machine.lived_before else start
                position.fit_aged(self._random, start, age)
                yield position

    def _renewed_age(self, life: TrueLife, clock: float) -> float:
        """Return the age of the piece fitted at `clock` after renewals from a new machine on."""
        fitted_at = 0.0
        while True:
            lasts = min(life.draw(self._random), life.replace_every or float("inf"))
            if fitted_at + lasts >= clock:
                return clock - fitted_at
            fitted_at += lasts

    def _chance(self, share: float) -> bool:
        return bool(self._random.random() < share)

    def _fail(self, position: Position, day: int, aboard: Sequence[Position]) -> None:
        life, reason = position.life, "failed"
        if life.shape >= WEARING_SHAPE and self._chance(self._habits.worn):
            reason = "worn"
        elif self._chance(self._habits.unknown):
            reason = "unknown"
        note = self._remarks.get(life.family, "") if self._chance(self._habits.noted) else ""
        donor = self._donor(position, aboard) if reason == "failed" else None
        if donor is not None:
            note = f"piece taken from {donor.on.boat}"
            self._record([donor], day, "borrowed", f"taken for {position.on.boat}")
            donor.fit_new(self._random, donor.on.clock(donor.life, day))
        self._record([position], day, reason, "" if reason == "unknown" else note)
        position.fit_new(self._random, position.fails_at)

    def _donor(self, position: Position, aboard: Sequence[Position]) -> Position | None:
        """Return who lends a piece; only where its age makes no difference to its new boat."""
        if position.life.shape > MEMORYLESS_SHAPE or not self._chance(self._habits.borrowed):
            return None
        lenders = [
            other
            for other in aboard
            if other.life is position.life
            and other.on.boat != position.on.boat
            and other.fails_on != position.fails_on
        ]
        return lenders[int(self._random.random() * len(lenders))] if lenders else None

    def _serve(self, boat: str, positions: Sequence[Position], day: int) -> None:
        in_winter = day in self._calendar.in_winter[boat]
        if not in_winter and day not in self._calendar.in_season:
            return
        grown = [p for p in positions if p.on.first_day < day]
        for _, group in itertools.groupby(grown, key=lambda p: (p.on.machine, p.life.part)):
            pieces = list(group)
            untouched_today = all(piece.age(day) > 0 for piece in pieces)
            if untouched_today and any(self._due(piece, day, in_winter) for piece in pieces):
                self._change_all(pieces, day, "scheduled", "")
        proved = [p for p in grown if p.life.clock == "hours" and p.age(day) > 0 and p.can_prove]
        if proved and self._chance(self._habits.swapped):
            chosen = proved[int(self._random.random() * len(proved))]
            self._change_all([chosen], day, "swapped", "spare tried, the old one kept as spare")

    def _due(self, piece: Position, day: int, in_winter: bool) -> bool:
        every = piece.life.replace_every
        if every is None:
            return False
        if not in_winter:
            return piece.age(day) >= every
        early = every - 200.0 if piece.life.clock == "days" else every * self._habits.early
        return piece.age(day) >= early

    def _change_all(self, pieces: Sequence[Position], day: int, reason: str, note: str) -> None:
        self._record(pieces, day, reason, note)
        for piece in pieces:
            piece.fit_new(self._random, piece.on.clock(piece.life, day))

    def _record(self, pieces: Sequence[Position], day: int, reason: str, note: str) -> None:
        first = pieces[0]
        fitted = first.on.parts[first.life.part]
        hours = None
        if first.on.hours_run and self._chance(self._habits.hours_written):
            hours = first.on.hours_run[day - first.on.first_day]
            if reason in {"failed", "worn", "unknown"} and first.life.clock == "hours":
                hours = first.fails_at
            hours = first.on.meter(hours, day)
        alone = len(pieces) == 1 and fitted > 1
        self._changes.append(
            Change(
                day=day,
                boat=first.on.boat,
                machine=first.on.machine,
                part=first.life.part,
                quantity=len(pieces),
                hours=hours,
                reason=reason,
                slot=first.slot if alone and self._chance(self._habits.slot_written) else None,
                note=note,
            )
        )
