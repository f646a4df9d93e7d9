"""The rows of readings and replacements, each laid to the machine that was there that day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet
from stockopt.lives.cut import LeftOut
from stockopt.lives.machines import Machine, Machines, Place, day_numbers, iso
from stockopt.lives.meters import Sighting
from stockopt.units import FAILURE_REASONS


class Replacement(NamedTuple):
    """One row of the replacements table; `slot` is 0 where blank, the others NaN.

    `sound_day` is the day number of `sound_on`.
    """

    row: int
    day: int
    place: Place
    part: str
    quantity: int
    hours: float
    reason: str
    slot: int
    sound_day: float

    def left_out(self, why: str) -> LeftOut:
        """Return all its pieces as left out of the lives."""
        return LeftOut(self.row, self.quantity, self.reason in FAILURE_REASONS, why)


@dataclass(frozen=True, slots=True, kw_only=True)
class Records:
    """What was written down of each machine; lists go by machine index.

    Parameters
    ----------
    sightings
        Every look at its meter.
    replacements
        What was changed on it while its boat was in the fleet.
    astray
        Replacements that belong to no machine, and why.
    """

    sightings: list[list[Sighting]]
    replacements: list[list[Replacement]]
    astray: list[tuple[Replacement, LeftOut]]

    def first_day(self, index: int) -> int | None:
        """Return the day of the first record of a machine, None where there is none."""
        days = [sighting.day for sighting in self.sightings[index]]
        days += [replacement.day for replacement in self.replacements[index]]
        return min(days, default=None)


AFTER_PLAN = "after the day of the plan"
NO_MACHINE = "before the machine was fitted"
BOAT_LEFT = "after the boat left"


def sort_records(fleet: Fleet, machines: Machines, planned_on: int) -> tuple[Records, list[Note]]:
    """Lay every row up to `planned_on` to its machine.

    A replacement that carries `hours` is a sighting of the meter too, but on a day on which the
    meter was changed: nobody can tell which of the two it was read from.
    """
    records = Records(
        sightings=[[] for _ in machines.all],
        replacements=[[] for _ in machines.all],
        astray=[],
    )
    changed, notes = _lay_readings(fleet, machines, planned_on, records)
    for replacement in _list_replacements(fleet):
        day, index = replacement.day, machines.find(replacement.place, replacement.day)
        if day > planned_on:
            records.astray.append((replacement, replacement.left_out(AFTER_PLAN)))
        elif index is None:
            records.astray.append((replacement, replacement.left_out(NO_MACHINE)))
        elif _has_left(machines.all[index], day):
            records.astray.append((replacement, replacement.left_out(BOAT_LEFT)))
        else:
            records.replacements[index].append(replacement)
            hours = replacement.hours
            if not np.isnan(hours) and (index, day) not in changed:
                seen = Sighting(day, False, hours, hours, "replacements", replacement.row)
                records.sightings[index].append(seen)
    return records, notes


def _has_left(machine: Machine, day: int) -> bool:
    return machine.left_on is not None and day > machine.left_on


def _lay_readings(
    fleet: Fleet, machines: Machines, planned_on: int, records: Records
) -> tuple[set[tuple[int, int]], list[Note]]:
    """Lay the readings; return the machines and days of changed meters, and notes.

    A meter changed on the day on which the whole machine was: the old meter's last reading
    belongs to the machine that went.
    """
    changed: set[tuple[int, int]] = set()
    notes: list[Note] = []
    table = fleet.readings
    late = 0
    for row, boat, name, day, hours, new_meter_hours in zip(
        table.index,
        table["boat"],
        table["machine"],
        day_numbers(table["read_on"]),
        table["hours"].tolist(),
        table["new_meter_hours"].tolist(),
        strict=True,
    ):
        if day is None or day > planned_on:
            late += 1
            continue
        place = Place(boat, name)
        index = machines.find(place, day)
        if index is None:
            text = f"{boat}, {name}: read on {iso(day)}, before the machine was fitted; left out"
            notes.append(Note(table="readings", row=row, column="read_on", text=text))
            continue
        if np.isnan(new_meter_hours):
            seen = Sighting(day, False, hours, hours, "readings", row)
            records.sightings[index].append(seen)
            continue
        records.sightings[index].append(
            Sighting(day, True, hours, new_meter_hours, "readings", row)
        )
        changed.add((index, day))
        before = machines.find(place, day - 1)
        if before is not None and before != index:
            seen = Sighting(day, False, hours, hours, "readings", row)
            records.sightings[before].append(seen)
    if late:
        text = f"readings after {iso(planned_on)}, the day of the plan, and left out: {late}"
        notes.append(Note(table="readings", column="read_on", text=text))
    return changed, notes


def _list_replacements(fleet: Fleet) -> list[Replacement]:
    table = fleet.replacements
    slots = table["slot"].fillna(0)
    return [
        Replacement(
            row,
            day,
            Place(boat, machine),
            part,
            quantity,
            hours,
            reason,
            int(slot),
            math.nan if sound_day is None else float(sound_day),
        )
        for row, day, boat, machine, part, quantity, hours, reason, slot, sound_day in zip(
            table.index,
            day_numbers(table["on"]),
            table["boat"],
            table["machine"],
            table["part"],
            table["quantity"].tolist(),
            table["hours"].tolist(),
            table["reason"],
            slots,
            day_numbers(table["sound_on"]),
            strict=True,
        )
        if day is not None
    ]
