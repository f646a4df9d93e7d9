"""The charter base's boats, and what happened to them in four years."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from history import Calendar, Change, Habits, Machine, Past
from meters import Reading, busy_days, first_saturday_of_april, hours_run, meter_readings
from parts_table import MADE_FROM, fitted_to
from true_lives import read_true_lives
from written_tables import Cell, WrittenTable, as_table, read_rows

SEED = 2034
OPENED_ON = date(2027, 3, 27)
PLANNED_ON = date(2031, 3, 10)
RECORDED_DAYS = (PLANNED_ON - OPENED_ON).days
SEASON_WEEKS = 26

#: Usual hours of a week's charter, by model of machine with a meter.
WEEKLY_HOURS = {"Ebb 3": 14.0, "Ebb 4": 15.0, "Flood 4": 12.0, "Wick 6": 18.0, "Rill 60": 9.0}

#: Machines of each design: name on the boat and model.
DESIGNS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "C12": (
        ("port engine", "Ebb 3"),
        ("starboard engine", "Ebb 3"),
        ("plumbing", "plumbing C12"),
    ),
    "C14": (
        ("port engine", "Ebb 4"),
        ("starboard engine", "Ebb 4"),
        ("generator", "Wick 6"),
        ("watermaker", "Rill 60"),
        ("plumbing", "plumbing C14"),
    ),
    "M13": (
        ("engine", "Flood 4"),
        ("plumbing", "plumbing M13"),
    ),
}
ON_EVERY_BOAT = (
    ("anchor gear", "ground tackle"),
    ("steering", "steering gear"),
    ("electrics", "electrics"),
    ("rig", "rig"),
    ("safety gear", "safety gear"),
    ("tender outboard", "outboard"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Boat:
    """One boat of the base; `read_every` is the days between readings in season."""

    name: str
    design: str
    joined_on: date = OPENED_ON
    left_on: date | None = None
    read_every: int = 14

    @property
    def first_day(self) -> int:
        """Return the first day of her records."""
        return (self.joined_on - OPENED_ON).days

    @property
    def last_day(self) -> int:
        """Return the day after the last of her records."""
        return RECORDED_DAYS if self.left_on is None else (self.left_on - OPENED_ON).days


BOATS = (
    Boat(name="Avrelind", design="C12", read_every=7),
    Boat(name="Bessimond", design="C12"),
    Boat(name="Culvenna", design="C12", joined_on=date(2029, 3, 24)),
    Boat(name="Dunnavel", design="C14", read_every=7),
    Boat(name="Eskimare", design="C14"),
    Boat(name="Fossavary", design="M13", read_every=28),
    Boat(name="Gostavel", design="C12", left_on=date(2028, 11, 4)),
    Boat(name="Hestravy", design="M13", joined_on=date(2028, 9, 30), read_every=28),
    Boat(name="Ildrevane", design="M13"),
)

#: The base bought Hestravy used: nobody knew her engine's past, and her rig was two years old.
USED_BOAT, USED_ENGINE_HOURS, USED_RIG_FITTED_ON = "Hestravy", 1420.0, date(2026, 5, 2)
#: Bessimond's port engine overheated and was exchanged for a new one.
NEW_ENGINE = ("Bessimond", "port engine", date(2029, 11, 3))
#: Dunnavel's starboard hour meter stopped and was changed.
NEW_METER = ("Dunnavel", "starboard engine", date(2030, 6, 15))
#: These four had their winter service already; the others still wait for theirs.
SERVED_THIS_WINTER = ("Avrelind", "Dunnavel", "Fossavary", "Ildrevane")
#: Until then the base bought the impeller under its old number.
RENUMBERED_ON, OLD_NUMBER, NEW_NUMBER = date(2029, 6, 1), "IMPL-401", "IMPL-402"

#: How one technician writes these part numbers, by boat and part.
SPELLINGS = {("Ildrevane", "FLOT-101"): "bilge float", ("Eskimare", "IMPL-402"): "IMPL 402"}
#: Left in on purpose, as such things are met: a digit wrong, and a part noted for another boat.
MISREAD_BOAT, MISREAD_FROM, MISREAD_BY = "Fossavary", date(2030, 7, 1), 1000.0
WRONG_BOAT = (date(2029, 7, 21), "Avrelind", "port engine", "BELL-101", 1, None, "scheduled", None)

REMARKS = {
    "impellers": "two vanes gone",
    "shaft seals": "weeping at the shaft",
    "raw-water pumps": "bearing rough, shaft scored",
    "drive belts": "frayed",
    "exhaust elbows": "pinholes at the bend",
    "fuel filters": "engine lost revs, dirty fuel",
    "injectors": "poor spray at the test",
    "starters": "slow, brushes worn",
    "engine switchgear": "green contacts",
    "alternators": "no charge",
    "saildrive seals": "water in the oil",
    "watermaker filters": "brown after two days at anchor",
    "watermaker seals": "salt crust at the pump head",
    "head valves": "stiff with scale",
    "head motors": "blocked by guests, motor burnt",
    "water pumps": "runs but no pressure",
    "bilge pumps": "seized, found at the weekly test",
    "float switches": "stuck, found at the weekly test",
    "windlass": "clicks, does not turn",
    "autopilot": "alarm, will not hold a course",
    "lights": "water inside",
    "rope": "chafed at the block",
    "outboard": "sand and salt",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CharterPast:
    """What the base wrote down."""

    machines: WrittenTable
    readings: WrittenTable
    replacements: WrittenTable


def tell_charter_past() -> CharterPast:
    """Let four years pass at the base and return what was written down."""
    random = np.random.default_rng(SEED)
    machines = [machine for boat in BOATS for machine in _machines_of(boat, random)]
    lives = read_true_lives(read_rows(MADE_FROM / "charter_parts.csv"))
    past = Past(machines, lives, _calendar(), REMARKS, Habits(), random)
    return CharterPast(
        machines=as_table(
            "boat machine model fitted_on hours_at_fitting", [_machine_row(m) for m in machines]
        ),
        readings=as_table("boat machine read_on hours new_meter_hours", _readings(machines)),
        replacements=as_table(
            "on boat machine part quantity hours reason slot note", _replacements(past.unfold())
        ),
    )


def _machines_of(boat: Boat, random: np.random.Generator) -> list[Machine]:
    days = boat.last_day - boat.first_day
    use = busy_days(random, boat.joined_on, days, SEASON_WEEKS, hired=0.93)
    machines: list[Machine] = []
    for machine, model in DESIGNS[boat.design] + ON_EVERY_BOAT:
        if (boat.name, machine) == NEW_ENGINE[:2]:
            machines += _exchanged(boat, machine, model, use, random)
        else:
            machines.append(_machine(boat, machine, model, use, random))
    return machines


def _machine(
    boat: Boat, machine: str, model: str, use: Sequence[float], random: np.random.Generator
) -> Machine:
    used = boat.name == USED_BOAT
    start = USED_ENGINE_HOURS if used and machine == "engine" else 0.0
    weekly = WEEKLY_HOURS.get(model)
    before = (boat.joined_on - USED_RIG_FITTED_ON).days if used and machine == "rig" else 0
    metered = (boat.name, machine) == NEW_METER[:2]
    return Machine(
        boat=boat.name,
        machine=machine,
        model=model,
        first_day=boat.first_day,
        last_day=boat.last_day,
        hours_run=() if weekly is None else hours_run(random, use, weekly, start),
        days_before=before or (2100.0 if start else 0.0),
        lived_before=start > 0,
        meter_changed_on=(NEW_METER[2] - OPENED_ON).days if metered else None,
        parts=fitted_to(model, read_rows(MADE_FROM / "charter_fitted.csv")),
    )


def _exchanged(
    boat: Boat, machine: str, model: str, use: Sequence[float], random: np.random.Generator
) -> list[Machine]:
    """Return the old machine and the new one that took its place."""
    changed = (NEW_ENGINE[2] - OPENED_ON).days
    until = changed - boat.first_day
    weekly, parts = (
        WEEKLY_HOURS[model],
        fitted_to(model, read_rows(MADE_FROM / "charter_fitted.csv")),
    )
    return [
        Machine(
            boat=boat.name,
            machine=machine,
            model=model,
            first_day=first,
            last_day=last,
            hours_run=hours_run(random, used, weekly),
            parts=parts,
        )
        for first, last, used in (
            (boat.first_day, changed, use[:until]),
            (changed, boat.last_day, use[until:]),
        )
    ]


def _calendar() -> Calendar:
    in_season: set[int] = set()
    in_winter: dict[str, set[int]] = {boat.name: set() for boat in BOATS}
    for year in range(OPENED_ON.year, PLANNED_ON.year):
        opens = (first_saturday_of_april(year) - OPENED_ON).days
        in_season.update(opens + 7 * week for week in range(4, SEASON_WEEKS, 4))
        for number, boat in enumerate(BOATS):
            if year + 1 < PLANNED_ON.year or boat.name in SERVED_THIS_WINTER:
                laid_up = (date(year, 11, 10) - OPENED_ON).days
                in_winter[boat.name].add(laid_up + 9 * number)
    return Calendar(
        first=OPENED_ON,
        in_season=frozenset(in_season),
        in_winter={boat: frozenset(days) for boat, days in in_winter.items()},
    )


def _machine_row(machine: Machine) -> tuple[Cell, ...]:
    fitted_on: date | None = OPENED_ON + timedelta(days=machine.first_day - machine.days_before)
    if machine.lived_before:
        fitted_on = None
    hours = None if machine.lived_before else 0
    return machine.boat, machine.machine, machine.model, fitted_on, hours


def _readings(machines: Sequence[Machine]) -> list[Reading]:
    every = {boat.name: boat.read_every for boat in BOATS}
    readings = [
        reading
        for machine in machines
        if machine.hours_run
        for reading in meter_readings(machine, OPENED_ON, _reading_days(every[machine.boat]))
    ]
    readings.sort(key=lambda reading: (str(reading[0]), str(reading[1]), str(reading[2])))
    return _with_misreading(readings)


def _with_misreading(readings: Sequence[Reading]) -> list[Reading]:
    """Return the readings with one of them written down a digit wrong."""
    from_then = str(MISREAD_FROM)
    wrong = next(r for r in readings if r[0] == MISREAD_BOAT and str(r[2]) >= from_then)
    boat, machine, read_on, hours, new_meter = wrong
    slip = (boat, machine, read_on, float(str(hours)) + MISREAD_BY, new_meter)
    return [slip if reading is wrong else reading for reading in readings]


def _reading_days(every: int) -> list[int]:
    """Return the days on which meters are read: Saturdays in season, every sixth in winter."""
    days = []
    for day in range(RECORDED_DAYS):
        today = OPENED_ON + timedelta(days=day)
        since = (today - first_saturday_of_april(today.year)).days
        in_season = 0 <= since <= 7 * SEASON_WEEKS
        if since % (every if in_season else 42) == 0:
            days.append(day)
    return days


def _replacements(changes: Sequence[Change]) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = [(*WRONG_BOAT, "")]
    for change in changes:
        on = OPENED_ON + timedelta(days=change.day)
        part = SPELLINGS.get((change.boat, change.part), change.part)
        if change.part == NEW_NUMBER and on < RENUMBERED_ON:
            part = OLD_NUMBER
        hours = None if change.hours is None else round(change.hours, 1)
        where = (on, change.boat, change.machine, part, change.quantity)
        rows.append((*where, hours, change.reason, change.slot, change.note))
    return sorted(rows, key=lambda row: str(row[0]))
