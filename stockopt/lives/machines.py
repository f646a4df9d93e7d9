"""The machines of the fleet, one after another in the same place, and how long each is watched."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet

#: Records that begin within so many days of a machine's fitting are taken to reach back to it: a
#: service a year leaves a record (common practice, no source).
REACH_DAYS = 365

BEFORE_RECORDS = -(10**9)  # day on which a machine was fitted whose fitted_on is blank


def day_numbers(dates: pd.Series[pd.Timestamp]) -> list[int | None]:
    """Return each date as days since 1970-01-01, None where blank.

    Examples
    --------
    >>> day_numbers(pd.to_datetime(pd.Series(["1970-01-02", None])))
    [1, None]
    """
    days = dates.to_numpy(dtype="datetime64[D]")
    blank = np.isnat(days)
    return [
        None if gap else int(day)
        for day, gap in zip(days.astype(np.int64).tolist(), blank.tolist(), strict=True)
    ]


def day_number(day: date) -> int:
    """Return `day` as days since 1970-01-01."""
    return (day - date(1970, 1, 1)).days


def iso(day: int) -> str:
    """Return a day number as an ISO date.

    Examples
    --------
    >>> iso(1)
    '1970-01-02'
    """
    return str(np.datetime64(day, "D"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One machine, from the day it was fitted to the day another took its place.

    Days are numbers of :func:`day_numbers`.

    Parameters
    ----------
    boat, machine, model
        As in the tables.
    fitted_on, hours_at_fitting
        As in the tables; None where blank.
    joined_on, left_on
        Of its boat; None where blank.
    replaced_on
        Day on which the machine after it was fitted; None for the one still there.
    """

    boat: str
    machine: str
    model: str
    fitted_on: int | None
    hours_at_fitting: float | None
    joined_on: int | None
    left_on: int | None
    replaced_on: int | None

    @property
    def name(self) -> str:
        """Return boat and machine, for a note."""
        return f"{self.boat}, {self.machine}"

    def is_told_from_new(self, boat_begins: int) -> bool:
        """Return whether its records, of a boat whose first is of a day, reach back to it new.

        They do if its boat does not say that hers begin later, or has some of soon after it was
        fitted nevertheless.
        """
        if self.fitted_on is None or (self.hours_at_fitting or 0.0) > 0.0:
            return False
        later = self.joined_on is not None and self.joined_on > self.fitted_on
        return not later or boat_begins - self.fitted_on <= REACH_DAYS

    def watched_from(self, first_record: int | None) -> int | None:
        """Return the first day watched, None where nothing tells it."""
        given = [day for day in (self.fitted_on, self.joined_on) if day is not None]
        return max(given) if given else first_record

    def watched_until(self, planned_on: int) -> tuple[int, str]:
        """Return the last day watched, and what a life still running then ends by."""
        ends = [(planned_on, "running")]
        if self.left_on is not None and self.left_on <= planned_on:
            ends.append((self.left_on, "boat left"))
        if self.replaced_on is not None:
            ends.append((self.replaced_on, "machine replaced"))
        return min(ends, key=lambda end: (end[0], end[1] == "running"))

    def is_aboard(self, planned_on: int) -> bool:
        """Return whether it is there on `planned_on`, on a boat still in the fleet."""
        left = self.left_on is not None and self.left_on <= planned_on
        return not left and self.replaced_on is None


class Place(NamedTuple):
    """Where machines follow one another."""

    boat: str
    machine: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Machines:
    """Every machine fitted by the day of the plan, and which one was in its place when.

    Parameters
    ----------
    all
        The machines, those of one place side by side in the order in which they were fitted.
    fitted
        For each place the index of its first machine, and the days on which each was fitted.
    """

    all: tuple[Machine, ...]
    fitted: Mapping[Place, tuple[int, list[int]]]

    def find(self, place: Place, day: int) -> int | None:
        """Return the index of the machine in `place` on `day`, None where there was none.

        On the day one machine takes another's place, it is the new one.
        """
        first, days = self.fitted.get(place, (0, []))
        rank = bisect_right(days, day)
        return first + rank - 1 if rank else None


def list_machines(fleet: Fleet, planned_on: int) -> tuple[Machines, list[Note]]:
    """Return the machines fitted by `planned_on`, sorted by boat, machine and fitting.

    A machine to be fitted later is left out, with a note.
    """
    boats = fleet.boats
    stay = dict(
        zip(
            boats["boat"],
            zip(day_numbers(boats["joined_on"]), day_numbers(boats["left_on"]), strict=True),
            strict=True,
        )
    )
    notes: list[Note] = []
    rows: list[tuple[Place, int, int | None, str, float | None]] = []
    table = fleet.machines
    for row, boat, name, model, fitted_on, hours in zip(
        table.index,
        table["boat"],
        table["machine"],
        table["model"],
        day_numbers(table["fitted_on"]),
        table["hours_at_fitting"],
        strict=True,
    ):
        if fitted_on is not None and fitted_on > planned_on:
            text = f"{boat}, {name}: fitted after {iso(planned_on)}, the day of the plan; left out"
            notes.append(Note(table="machines", row=row, column="fitted_on", text=text))
            continue
        fitted = BEFORE_RECORDS if fitted_on is None else fitted_on
        known = None if np.isnan(hours) else float(hours)
        rows.append((Place(boat, name), fitted, fitted_on, model, known))
    rows.sort(key=lambda row: row[:2])
    return _follow_on(rows, stay), notes


def _follow_on(
    rows: Sequence[tuple[Place, int, int | None, str, float | None]],
    stay: Mapping[str, tuple[int | None, int | None]],
) -> Machines:
    machines: list[Machine] = []
    fitted: dict[Place, tuple[int, list[int]]] = {}
    for index, (place, day, fitted_on, model, hours) in enumerate(rows):
        following = rows[index + 1] if index + 1 < len(rows) else None
        joined_on, left_on = stay.get(place.boat, (None, None))
        machines.append(
            Machine(
                boat=place.boat,
                machine=place.machine,
                model=model,
                fitted_on=fitted_on,
                hours_at_fitting=hours,
                joined_on=joined_on,
                left_on=left_on,
                replaced_on=following[1] if following and following[0] == place else None,
            )
        )
        fitted.setdefault(place, (index, []))[1].append(day)
    return Machines(all=tuple(machines), fitted=fitted)
