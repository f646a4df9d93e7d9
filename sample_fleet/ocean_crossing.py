"""One cruiser before four legs: what is fitted, what happened in three years, what lies ahead."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from history import Calendar, Habits, Machine, Past
from meters import busy_days, hours_run, meter_readings
from parts_table import MADE_FROM, fitted_to, parts_named, parts_table
from true_lives import read_true_lives
from written_tables import Cell, WrittenTable, as_number, as_table, read_rows

SEED = 2032
BOAT = "Kittivane"
HOME, COAST, FAR, ISLAND, END = "Brannavick", "Soltemar", "Yllanora", "Uldamere", "Dalmorisk"
REFITTED_ON, PLANNED_ON = date(2028, 10, 14), date(2031, 10, 13)
RECORDED_DAYS = (PLANNED_ON - REFITTED_ON).days
SEASON_WEEKS = 24

#: Machine, model, usual hours of a week's cruising (None: no meter), day fitted.
MACHINES: tuple[tuple[str, str, float | None, date], ...] = (
    ("engine", "Flood 3", 7.0, REFITTED_ON),
    ("autopilot", "Helm 2", 14.0, REFITTED_ON),
    ("watermaker", "Rill 40", 3.5, date(2029, 4, 14)),
    ("steering", "steering gear", None, date(2026, 5, 9)),
    ("rig", "rig", None, date(2026, 5, 9)),
    ("plumbing", "plumbing", None, REFITTED_ON),
    ("electrics", "electrics", None, REFITTED_ON),
)
USED_WITH = (
    ("GASK-210", "IMPL-210", 1),
    ("GASK-210", "SEAL-210", 1),
    ("GASK-211", "ELBO-210", 1),
    ("WASH-210", "INJR-210", 1),
)
REMARKS = {
    "impellers": "one vane cracked",
    "shaft seals": "weeping at the shaft",
    "fuel filters": "dirty fuel",
    "float switches": "stuck, found at the monthly test",
    "bilge pumps": "seized, found at the monthly test",
    "lights": "water inside",
    "rope": "chafed",
    "head valves": "stiff with scale",
}

#: Leaves, days, to, hours of engine, autopilot and watermaker.
LEGS = (
    (date(2031, 11, 8), 5, COAST, 30, 90, 4),
    (date(2031, 11, 22), 20, FAR, 60, 430, 24),
    (date(2032, 1, 14), 3, ISLAND, 14, 55, 5),
    (date(2032, 2, 21), 17, END, 45, 360, 20),
)
PORTS = ((HOME, 1.3, 4), (COAST, 1.5, 6), (FAR, 3.1, 18), (ISLAND, 4, 26), (END, 2.1, 9))

SOURCES = (
    ("Brannavick Harbour Shop", "local", HOME, 0, 0, 0, 0, 0, None, None),
    ("Marlanby Mail Order", "mail", HOME, 6, 10, 19, 2.8, 0, 600, 40),
)
#: Price over the usual one at home: least and most; what the shop has not; packs by mail.
SHOP_FACTOR, MAIL_FACTOR = (1.15, 1.6), (0.8, 0.95)
SHOP_LACKS = parts_named("PUMP-210 HPSK-210 FEED-210 MEMB-210 PLDR-210 PBRU-210 RUDS-210 WPMP-210")
MAIL_LACKS = parts_named("STAY-210 HALY-210 STEE-210 BATT-210")
MAIL_PACKS = {"FUEL-210": 6, "PREF-210": 6, "WASH-210": 10}

COUNTED_ON = date(2031, 10, 11)
#: Part, pieces aboard, last day to fit, locker.
STOCK: tuple[tuple[str, int, date | None, str], ...] = (
    ("BELT-210", 1, date(2034, 3, 31), "nav seat"),
    ("BILG-210", 1, None, "under port berth 2"),
    ("FLOT-210", 1, None, "under port berth 2"),
    ("FUEL-210", 2, None, "engine room shelf"),
    ("FUEL-220", 1, None, "engine room shelf"),
    ("GASK-210", 3, date(2035, 6, 30), "nav seat"),
    ("HALY-210", 1, None, "forepeak bin"),
    ("IMPL-210", 1, date(2032, 1, 31), "nav seat"),
    ("IMPL-210", 1, date(2034, 5, 31), "nav seat"),
    ("LAMP-210", 1, None, "nav seat"),
    ("OILF-210", 2, None, "engine room shelf"),
    ("PREF-210", 4, None, "under starboard berth 1"),
    ("VALV-210", 2, date(2033, 2, 28), "head locker"),
    ("WASH-210", 3, None, "nav seat"),
)
SETTINGS: tuple[tuple[str, Cell], ...] = (
    ("planned_on", PLANNED_ON),
    ("currency", "EUR"),
    ("readiness", 0.8),
    ("carry_over", 0.5),
)


def crossing_tables() -> dict[str, WrittenTable]:
    """Return every table of the crossing, by name."""
    random = np.random.default_rng(SEED)
    machines = [_machine(*row, random) for row in MACHINES]
    parts = read_rows(MADE_FROM / "crossing_parts.csv")
    market = np.random.default_rng(SEED + 1)
    return {
        "boats": as_table(
            "boat home_port spares_kg spares_litres budget day_cost joined_on",
            [(BOAT, HOME, 120, 160, 4000, 70, REFITTED_ON)],
        ),
        "machines": as_table(
            "boat machine model fitted_on hours_at_fitting",
            [(BOAT, name, model, fitted_on, 0) for name, model, _, fitted_on in MACHINES],
        ),
        "readings": as_table("boat machine read_on hours", _readings(machines)),
        "parts": parts_table(parts),
        "fitted": as_table(
            "model part quantity",
            [
                (row["model"], row["part"], as_number(row["quantity"]))
                for row in read_rows(MADE_FROM / "crossing_fitted.csv")
            ],
        ),
        "replacements": as_table(
            "on boat machine part quantity hours reason slot note",
            _replacements(machines, random),
        ),
        "used_with": as_table("part with_part quantity", USED_WITH),
        "sources": as_table(
            "source kind delivers_to lead_days late_days per_order per_kg tax "
            "free_freight_from minimum_order",
            SOURCES,
        ),
        "prices": as_table("source part price pack", _prices(parts, market)),
        "legs": as_table("boat departs_on days to_port hours", [(BOAT, *leg[:4]) for leg in LEGS]),
        "leg_hours": as_table(
            "boat departs_on machine hours",
            [
                (BOAT, leg[0], machine, hours)
                for leg in LEGS
                for machine, hours in zip(("autopilot", "watermaker"), leg[4:], strict=True)
            ],
        ),
        "ports": as_table("port price_factor wait_days", PORTS),
        "stock": as_table(
            "place part on_hand expires_on locker counted_on",
            [(BOAT, *row, COUNTED_ON) for row in STOCK],
        ),
        "settings": as_table("setting value", SETTINGS),
    }


def _machine(
    machine: str, model: str, weekly: float | None, fitted_on: date, random: np.random.Generator
) -> Machine:
    first_day = max((fitted_on - REFITTED_ON).days, 0)
    since = REFITTED_ON + timedelta(days=first_day)
    run: tuple[float, ...] = ()
    if weekly is not None:
        use = busy_days(random, since, RECORDED_DAYS - first_day, SEASON_WEEKS, hired=0.9)
        run = hours_run(random, use, weekly)
    return Machine(
        boat=BOAT,
        machine=machine,
        model=model,
        first_day=first_day,
        last_day=RECORDED_DAYS,
        hours_run=run,
        days_before=(since - fitted_on).days,
        parts=fitted_to(model, read_rows(MADE_FROM / "crossing_fitted.csv")),
    )


def _readings(machines: list[Machine]) -> list[tuple[Cell, ...]]:
    """Return the readings of the first Saturday of each month."""
    saturdays = [
        day
        for day in range(RECORDED_DAYS)
        if (today := REFITTED_ON + timedelta(days=day)).weekday() == 5 and today.day <= 7
    ]
    return [
        reading[:4]
        for machine in machines
        if machine.hours_run
        for reading in meter_readings(machine, REFITTED_ON, saturdays)
    ]


def _replacements(machines: list[Machine], random: np.random.Generator) -> list[tuple[Cell, ...]]:
    lives = read_true_lives(read_rows(MADE_FROM / "crossing_parts.csv"))
    springs = frozenset((date(year, 3, 17) - REFITTED_ON).days for year in (2029, 2030, 2031))
    calendar = Calendar(first=REFITTED_ON, in_season=frozenset(), in_winter={BOAT: springs})
    past = Past(machines, lives, calendar, REMARKS, Habits(swapped=0.0, unknown=0.0), random)
    return [
        (
            REFITTED_ON + timedelta(days=change.day),
            change.boat,
            change.machine,
            change.part,
            change.quantity,
            None if change.hours is None else round(change.hours, 1),
            change.reason,
            change.slot,
            change.note or None,
        )
        for change in past.unfold()
    ]


def _prices(parts: list[dict[str, str]], random: np.random.Generator) -> list[tuple[Cell, ...]]:
    rows: list[tuple[Cell, ...]] = []
    for (name, *_), (least, most), lacks, packs in (
        (SOURCES[0], SHOP_FACTOR, SHOP_LACKS, {}),
        (SOURCES[1], MAIL_FACTOR, MAIL_LACKS, MAIL_PACKS),
    ):
        for row in parts:
            factor = least + (most - least) * random.random()
            usual = as_number(row["price"])
            if row["part"] not in lacks and usual is not None:
                pack = packs.get(row["part"], 1)
                rows.append((name, row["part"], round(usual * factor * pack, 1), pack))
    return rows
