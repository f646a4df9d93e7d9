"""Each doubt once."""

import pytest
from builders import make_fleet
from fleet_builders import SETTINGS, add, sound_tables, spoil


def notes_of(tables):
    return [
        (note.table, note.row, note.column, note.text)
        for note in make_fleet(settings=SETTINGS, **tables).notes
    ]


def again(**cells):
    return add("replacements", sound_tables()["replacements"][0] | cells)


def without(*tables):
    return sound_tables() | {table: [] for table in tables}


def exchanged():
    tables = sound_tables()
    for day, port, starboard in (("2030-05-01", 95, 110), ("2030-06-01", 150, 140)):
        tables["readings"] += [
            {"boat": "Alba", "machine": "port engine", "read_on": day, "hours": port},
            {"boat": "Alba", "machine": "starboard engine", "read_on": day, "hours": starboard},
        ]
    return tables


DOUBTS = {
    "typed twice": (
        again(on="2030-06-03"),
        (
            "replacements",
            3,
            "on",
            "007 as in row 2, within 3 days: both are counted; take one out if it was typed twice",
        ),
    ),
    "typed twice on one day": (
        again(),
        (
            "replacements",
            3,
            "on",
            "007 as in row 2, on the same day: take one out if it was typed twice",
        ),
    ),
    "read one for the other": (
        exchanged(),
        (
            "readings",
            5,
            "hours",
            "Alba: port engine and starboard engine may have been read one for the other on "
            "2030-05-01",
        ),
    ),
    "no mass": (
        spoil("parts", 3, kg=""),
        (
            "parts",
            None,
            "kg",
            "1 of 3 parts have none and count nothing against the limit of the boats: row 3",
        ),
    ),
    "no room where room counts": (
        spoil("boats", 2, spares_litres=50),
        (
            "parts",
            None,
            "litres",
            "3 of 3 parts have none and count nothing against the limit of the boats: rows 2, 3, 4",
        ),
    ),
    "boat without legs": (
        sound_tables() | {"legs": sound_tables()["legs"][:1]},
        ("legs", None, "boat", "Brisa has no legs to come: not planned"),
    ),
    "boat without machines": (
        add("boats", {"boat": "Cala", "home_port": "Hafen", "day_cost": 1}),
        ("boats", 4, "", "Cala has no row in machines: not planned"),
    ),
    "machine without parts": (
        add("machines", {"boat": "Brisa", "machine": "windlass", "model": "W"}),
        ("machines", 5, "model", "no part is fitted to model W: nothing is planned for it"),
    ),
    "part never needed": (
        add("parts", {"part": "X", "name": "Oar", "kg": 2}),
        ("parts", None, "part", "fitted to no model and used with no part, so never needed: row 5"),
    ),
    "stock counted before a change": (
        spoil("stock", 2, counted_on="2030-05-31"),
        (
            "stock",
            2,
            "counted_on",
            "1 x 007 at Shed taken off: changed since the count, last on 2030-06-01",
        ),
    ),
    "price of nothing": (
        spoil("prices", 2, price=0),
        ("prices", 2, "price", "007 costs nothing there"),
    ),
    "source without prices": (
        spoil("prices", 3, source="Quay"),
        ("sources", None, "source", "Post has no row in prices"),
    ),
    "port where no boat goes": (
        spoil("sources", 3, delivers_to="Cabo"),
        (
            "sources",
            3,
            "delivers_to",
            "Cabo is no boat's home port and on no leg: nothing is ordered to it",
        ),
    ),
    "lost days cost nothing": (
        spoil("boats", 3, day_cost=""),
        (
            "boats",
            None,
            "day_cost",
            "a lost day costs nothing, so only pieces and readiness count: Brisa",
        ),
    ),
    "part number like a date": (
        add("parts", {"part": "3-Dec", "name": "Ring", "kg": 1})
        | {"used_with": [{"part": p, "with_part": "007"} for p in ("G-3", "3-Dec")]},
        (
            "parts",
            None,
            "part",
            "'3-Dec' was kept as a part number; if the spreadsheet made a date of it, format the "
            "column as text and type it again",
        ),
    ),
}


@pytest.mark.parametrize(("tables", "note"), DOUBTS.values(), ids=DOUBTS)
def test_a_doubt_is_noted(tables, note):
    assert note in notes_of(tables)


@pytest.mark.parametrize(
    "tables",
    [
        sound_tables(),
        again(on="2030-06-05"),
        again(reason="swapped"),
        again(machine="starboard engine"),
        without("ports", "prices", "sources", "kits", "aliases", "leg_hours", "stock"),
        spoil("boats", 3, left_on="2031-03-31") | {"legs": sound_tables()["legs"][:1]},
    ],
)
def test_nothing_is_noted_without_doubt(tables):
    assert notes_of(tables) == []


def test_no_boat_at_all_is_no_error():
    assert [note.table for note in make_fleet().notes] == []


def test_very_many_records_typed_twice_are_counted():
    tables = add("replacements", *sound_tables()["replacements"] * 30)
    notes = notes_of(tables)
    assert len(notes) == 21
    assert notes[-1] == ("replacements", None, "on", "10 rows more are like another within 3 days")
