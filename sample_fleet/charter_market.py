"""The charter base's market, stock and season: what it can buy, has, and is going to do."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from charter_past import BOATS, DESIGNS, ON_EVERY_BOAT, Boat
from parts_table import MADE_FROM, parts_named
from written_tables import Cell, WrittenTable, as_number, as_table, read_rows

SEED = 31
PORT, STORE, FAR_PORT = "Tulvanny", "Tulvanny store", "Rokaveen"
SEASON_OPENS = date(2031, 4, 5)
COUNTED_ON, LAST_AUTUMN = date(2031, 3, 8), date(2030, 10, 12)

SETTINGS = """\
# Invented, as everything in this folder: see ../README.md
planned_on = 2031-03-10
currency = "EUR"
budget = 9000
readiness = 0.90
carry_over = 0.6

[rates]
USD = 0.92
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seller:
    """One source: its row of the sources table, and how it prices.

    Parameters
    ----------
    row
        Of the sources table.
    least, most
        Its price over the usual one at home, in its own currency, lies between these.
    lacks
        Parts it does not sell.
    packs
        Pieces in a pack, where not one; a pack costs 8 % less than its pieces.
    """

    row: tuple[Cell, ...]
    least: float
    most: float
    lacks: frozenset[str]
    packs: Mapping[str, int] = field(default_factory=dict)


SELLERS = (
    Seller(
        row=("Tulvanny Quay Shop", "local", PORT, 0, 0, 0, 0, 0, 0, 0, None, None, None, "EUR"),
        least=1.6,
        most=2.5,
        lacks=parts_named(
            "PUMP-301 PUMP-401 ELBO-101 INJR-301 INJR-401 MEMB-101 HPSK-101 FEED-101 PLDR-101 "
            "RUDS-101"
        ),
    ),
    Seller(
        row=(
            *("Marlanby Mail Order", "mail", PORT, 8, 13),
            *(24, 3.2, 0, 0, 0, "landed", 900, 60, "EUR"),
        ),
        least=0.92,
        most=1.12,
        lacks=parts_named("STEE-101 HALY-101 EXTG-101 IMPL-601 BELT-601 WMOT-101 CUTL-101"),
        packs={"FUEL-101": 6, "OILF-101": 6, "WASH-101": 10, "PREF-101": 6},
    ),
    Seller(
        row=(
            *("Brunskarry Parts Post", "mail", PORT, 12, 19),
            *(38, 6.5, 0.04, 0.12, 55, "landed", 1500, 150, "USD"),
        ),
        least=0.62,
        most=0.86,
        lacks=parts_named(
            "EXTG-101 HALY-101 FURL-101 STEE-101 HEAD-101 BELL-101 LIPS-101 PLUG-101 BULB-101 "
            "VHFH-101"
        ),
        packs={
            "FUEL-101": 12,
            "FUEL-201": 6,
            "OILF-101": 12,
            "WASH-101": 10,
            "PREF-101": 12,
            "GASK-301": 10,
            "GASK-401": 10,
            "PINS-101": 10,
        },
    ),
)
#: The same impeller, seal and gasket in one box.
KIT, KIT_SELLER, KIT_PRICE = "KITW-301", "Marlanby Mail Order", 61.5
KIT_PARTS = ("GASK-301", "IMPL-301", "SEAL-301")
#: Marlanby also sells these one by one, and has no more of the last than it says.
SINGLES = ("FUEL-101", "OILF-101")
MOST = {("Marlanby Mail Order", "PUMP-401"): 2, ("Brunskarry Parts Post", "ELBO-101"): 2}
#: Worth of one of a seller's money at home.
RATES = {"EUR": 1.0, "USD": 0.92}

USED_WITH = (
    ("GASK-110", "ELBO-101", 1),
    ("GASK-301", "IMPL-301", 1),
    ("GASK-301", "SEAL-301", 1),
    ("GASK-401", "IMPL-402", 1),
    ("GASK-401", "SEAL-401", 1),
    ("WASH-101", "INJR-301", 1),
    ("WASH-101", "INJR-401", 1),
)
ALIASES = (
    ("bilge float", "FLOT-101"),
    ("IMPL 402", "IMPL-402"),
)

#: Most kg and litres of spares aboard, and what a lost charter day costs, by design.
LIMITS = {"C12": (45, 60, 700), "C14": (60, 80, 1000), "M13": (38, 50, 450)}

#: In the store: part, pieces, pieces on order, due, last day to fit, bin, day of the count.
IN_STORE: tuple[tuple[Cell, ...], ...] = (
    ("ALTN-101", 1, 0, None, None, "D1", COUNTED_ON),
    ("ANOD-201", 3, 0, None, None, "C2", COUNTED_ON),
    ("BELT-301", 2, 0, None, date(2034, 6, 30), "A4", COUNTED_ON),
    ("BELT-401", 1, 0, None, date(2033, 9, 30), "A4", COUNTED_ON),
    ("BILG-101", 2, 0, None, None, "B1", COUNTED_ON),
    ("FLOT-101", 1, 4, date(2031, 3, 24), None, "B1", COUNTED_ON),
    ("FUEL-101", 7, 0, None, None, "A2", COUNTED_ON),
    ("FUEL-201", 2, 0, None, None, "A2", COUNTED_ON),
    ("FURL-101", 1, 0, None, None, "E1", COUNTED_ON),
    ("GASK-301", 4, 0, None, date(2036, 1, 31), "A1", COUNTED_ON),
    ("GASK-401", 3, 0, None, date(2036, 1, 31), "A1", COUNTED_ON),
    ("HEAD-201", 1, 0, None, None, "D2", COUNTED_ON),
    ("IMPL-301", 3, 0, None, date(2033, 4, 30), "A1", COUNTED_ON),
    ("IMPL-401", 2, 0, None, date(2031, 5, 31), "A1", COUNTED_ON),
    ("IMPL-402", 1, 0, None, date(2034, 2, 28), "A1", COUNTED_ON),
    ("LAMP-101", 2, 0, None, None, "C1", COUNTED_ON),
    ("OILF-101", 6, 0, None, None, "A3", COUNTED_ON),
    ("PINS-101", 6, 0, None, None, "C3", COUNTED_ON),
    ("PREF-101", 5, 0, None, None, "A3", COUNTED_ON),
    ("SEAL-301", 1, 0, None, date(2034, 8, 31), "A1", COUNTED_ON),
    ("SEAL-401", 0, 3, date(2031, 3, 21), None, "A1", COUNTED_ON),
    ("STRT-101", 1, 0, None, None, "D1", COUNTED_ON),
    ("VALV-101", 5, 0, None, date(2032, 11, 30), "B2", LAST_AUTUMN),
    ("WASH-101", 8, 0, None, None, "A1", COUNTED_ON),
    ("WSOL-101", 1, 0, None, None, "C1", COUNTED_ON),
)
#: Aboard, where fitted: part, locker, last day to fit; each boat has about two in three of them.
ABOARD: tuple[tuple[str, str, date | None], ...] = (
    ("BELT-301", "engine box", date(2033, 9, 30)),
    ("BELT-401", "engine box", date(2033, 9, 30)),
    ("BILG-101", "saloon floor 2", None),
    ("EXTG-101", "chart table", date(2034, 12, 31)),
    ("FLOT-101", "saloon floor 2", None),
    ("FUEL-101", "engine box", None),
    ("IMPL-301", "engine box", date(2032, 10, 31)),
    ("IMPL-402", "engine box", date(2032, 10, 31)),
    ("LAMP-101", "chart table", None),
    ("PINS-101", "cockpit locker, aft", None),
    ("VALV-101", "saloon floor 3", date(2032, 4, 30)),
)


def charter_market() -> dict[str, WrittenTable]:
    """Return the tables of the market, the stock and the season, by name."""
    random = np.random.default_rng(SEED)
    parts = read_rows(MADE_FROM / "charter_parts.csv")
    fitted = read_rows(MADE_FROM / "charter_fitted.csv")
    return {
        "boats": as_table(
            "boat home_port store spares_kg spares_litres budget day_cost joined_on left_on",
            [_boat_row(boat) for boat in BOATS],
        ),
        "used_with": as_table("part with_part quantity", USED_WITH),
        "kits": as_table("kit part quantity", [(KIT, part, 1) for part in KIT_PARTS]),
        "aliases": as_table("other part", ALIASES),
        "sources": as_table(
            "source kind delivers_to lead_days late_days per_order per_kg duty tax handling "
            "duty_on free_freight_from minimum_order currency",
            [seller.row for seller in SELLERS],
        ),
        "prices": as_table("source part price pack most", sorted(_prices(parts, random), key=str)),
        "legs": as_table("boat departs_on days to_port hours times chase_days", _legs()),
        "leg_hours": as_table("boat departs_on machine hours", _leg_hours()),
        "ports": as_table("port price_factor wait_days", [(FAR_PORT, 2.6, 9), (PORT, 2.2, 5)]),
        "stock": as_table(
            "place part on_hand on_order due_on expires_on locker counted_on",
            [*_aboard(fitted, random), *((STORE, *row) for row in IN_STORE)],
        ),
    }


def _boat_row(boat: Boat) -> tuple[Cell, ...]:
    kg, litres, day_cost = LIMITS[boat.design]
    return (boat.name, PORT, STORE, kg, litres, None, day_cost, boat.joined_on, boat.left_on)


def _prices(
    parts: Sequence[Mapping[str, str]], random: np.random.Generator
) -> Iterator[tuple[Cell, ...]]:
    for seller in SELLERS:
        name, currency = str(seller.row[0]), str(seller.row[-1])
        for row in parts:
            part, usual = row["part"], as_number(row["price"])
            factor = seller.least + (seller.most - seller.least) * random.random()
            if part in seller.lacks or row["replaced_by"] or usual is None:
                continue
            single = usual * factor / RATES[currency]
            pack = seller.packs.get(part, 1)
            most = MOST.get((name, part))
            yield name, part, _rounded(single * pack * (0.92 if pack > 1 else 1.0)), pack, most
            if pack > 1 and part in SINGLES and name == KIT_SELLER:
                yield name, part, _rounded(single), 1, None
    yield KIT_SELLER, KIT, KIT_PRICE, 1, None


def _rounded(price: float) -> float:
    """Return a price as shops write them: to the tenth, above 100 to the whole."""
    return float(round(price)) if price > 100 else round(price, 1)


def _charters(boat: Boat) -> tuple[tuple[date, int, str, float, int, int | None], ...]:
    """Return her legs of the season: departs, days, to, share of a week's hours, times, chase."""
    if boat.name == "Eskimare":
        return (
            (SEASON_OPENS, 7, PORT, 1.0, 12, 1),
            (date(2031, 6, 28), 14, FAR_PORT, 2.4, 1, None),
            (date(2031, 7, 12), 14, PORT, 2.4, 1, None),
            (date(2031, 7, 26), 7, PORT, 1.0, 10, 1),
        )
    return ((SEASON_OPENS, 7, PORT, 1.0, 26, 1),)


def _legs() -> list[tuple[Cell, ...]]:
    return [
        (boat.name, departs, days, to, _engine_hours(boat, share), times, chase)
        for boat in BOATS
        if boat.left_on is None
        for departs, days, to, share, times, chase in _charters(boat)
    ]


def _engine_hours(boat: Boat, share: float) -> float:
    return round((12 if boat.design == "M13" else 14) * share)


def _leg_hours() -> list[tuple[Cell, ...]]:
    """Return the hours of generators and watermakers, which run more and less than engines."""
    return [
        (boat.name, departs, machine, round(hours * share))
        for boat in BOATS
        if boat.design == "C14"
        for departs, _, _, share, _, _ in _charters(boat)
        for machine, hours in (("generator", 18), ("watermaker", 9))
    ]


def _aboard(
    fitted: Sequence[Mapping[str, str]], random: np.random.Generator
) -> Iterator[tuple[Cell, ...]]:
    for boat in BOATS:
        models = {model for _, model in DESIGNS[boat.design] + ON_EVERY_BOAT}
        hers = {row["part"] for row in fitted if row["model"] in models}
        for part, locker, expires_on in ABOARD:
            there = random.random() < 0.65
            if there and part in hers and boat.left_on is None:
                yield boat.name, part, 1, 0, None, expires_on, locker, COUNTED_ON
