"""How long machines run, and what people read off their meters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import numpy as np
from history import Machine
from written_tables import Cell

#: One reading: boat, machine, read_on, hours, new_meter_hours.
Reading = tuple[Cell, ...]


def first_saturday_of_april(year: int) -> date:
    """Return the day on which the charter season of `year` opens."""
    april = date(year, 4, 1)
    return april + timedelta(days=(5 - april.weekday()) % 7)


def busy_days(
    random: np.random.Generator, first: date, days: int, season_weeks: int, hired: float
) -> tuple[float, ...]:
    """Return for each day how hard the boat is used: about 1 a day in season, nearly 0 after it.

    Weeks are let with chance `hired`, and then used 0.7 to 1.3 times the usual.
    """
    use = []
    week = 0.0
    for day in range(days):
        today = first + timedelta(days=day)
        since = (today - first_saturday_of_april(today.year)).days
        in_season = 0 <= since < 7 * season_weeks
        if day == 0 or since % 7 == 0:
            taken, effort = random.random(), random.random()
            week = (0.7 + 0.6 * effort) * (taken < hired) if in_season else 0.02
        use.append(week)
    return tuple(use)


def hours_run(
    random: np.random.Generator, use: Sequence[float], weekly_hours: float, start: float = 0.0
) -> tuple[float, ...]:
    """Return the machine's hours at the start of each day, one more than there are days of use.

    Each week of it differs by up to 6 % from the boat's use, as two engines of one boat do.
    """
    total = [start]
    share = 1.0
    for day, busy in enumerate(use):
        if day % 7 == 0:
            share = 0.94 + 0.12 * random.random()
        total.append(total[-1] + busy * share * weekly_hours / 7.0)
    return tuple(total)


def meter_readings(machine: Machine, first: date, days: Iterable[int]) -> list[Reading]:
    """Return the readings written down on `days`, on its first and its last day.

    The day on which the meter was changed has one reading of both meters.
    """
    changed = machine.meter_changed_on
    last = machine.last_day - 1
    wanted = {machine.first_day, last, *(d for d in days if machine.first_day < d < last)}
    if changed is not None:
        wanted.add(changed)
    return [
        (
            machine.boat,
            machine.machine,
            first + timedelta(days=day),
            round(machine.meter(machine.hours_run[day - machine.first_day], day), 1),
            0 if day == changed else None,
        )
        for day in sorted(wanted)
    ]
