"""Each kind of problem once: its table, row, column, value, and what would be right."""

import pytest
from fleet_builders import add, problems_of, sound_tables, spoil

from stockopt.errors import Problem


def test_the_sound_tables_are_sound():
    assert problems_of(sound_tables()) == []


CELLS = {
    "blank": (
        spoil("parts", 3, name="  "),
        "parts.csv, row 3, column name: is blank: fill it in (what it is, noun first), or "
        "take the row out",
    ),
    "not a word allowed": (
        spoil("parts", 2, clock="cycles"),
        "parts.csv, row 2, column clock: 'cycles' must be hours or days",
    ),
    "not one of many words": (
        spoil("replacements", 2, reason="broken"),
        "replacements.csv, row 2, column reason: 'broken' must be failed, worn, scheduled, "
        "swapped, borrowed or unknown",
    ),
    "no number": (
        spoil("parts", 2, price="about 20"),
        "parts.csv, row 2, column price: 'about 20' is not a number: write 20 alone, without unit "
        "or symbol",
    ),
    "negative": (
        spoil("parts", 2, price=-1),
        "parts.csv, row 2, column price: '-1' must be at least 0",
    ),
    "nought where more is needed": (
        spoil("legs", 2, days=0),
        "legs.csv, row 2, column days: '0' must be greater than 0",
    ),
    "part of a piece": (
        spoil("fitted", 3, quantity=1.5),
        "fitted.csv, row 3, column quantity: '1.5' must be a whole number",
    ),
    "share as a number": (
        spoil("sources", 3, duty=5),
        "sources.csv, row 3, column duty: '5' is not a share: write 0.05 or 5%",
    ),
    "date in two ways": (
        spoil("replacements", 2, on="03/04/25"),
        "replacements.csv, row 2, column on: '03/04/25' may be two days: write 2025-04-03 or "
        "2025-03-04",
    ),
    "currency": (
        spoil("sources", 3, currency="€"),
        "sources.csv, row 3, column currency: '€' is not an ISO 4217 code: write three letters "
        "such as EUR",
    ),
    "number made of a part number": (
        spoil("prices", 2, part="1.00E+05"),
        "prices.csv, row 2, column part: '1.00E+05' is a number that the spreadsheet made of a "
        "part number: format the column as text and type it again",
    ),
    "error of a formula": (
        spoil("prices", 2, price="#REF!"),
        "prices.csv, row 2, column price: '#REF!' is the error of a formula: mend the formula",
    ),
}

NAMES = {
    "boat": (
        spoil("readings", 2, boat="Alva"),
        "readings.csv, row 2, column boat: 'Alva' is not in boats: is 'Alba' meant?",
    ),
    "boat like no other": (
        spoil("readings", 2, boat="Zephyr"),
        "readings.csv, row 2, column boat: 'Zephyr' is not in boats: add it there, or mend it here",
    ),
    "machine": (
        spoil("replacements", 2, machine="port engin"),
        "replacements.csv, row 2, column machine: 'port engin' is not in machines of Alba: "
        "is 'port engine' meant?",
    ),
    "machine of a boat without any": (
        add("boats", {"boat": "Cala", "day_cost": 1})
        | {
            "readings": [
                *sound_tables()["readings"],
                {"boat": "Cala", "machine": "engine", "read_on": "2030-01-01", "hours": 1},
            ]
        },
        "readings.csv, row 5, column machine: 'engine' is not in machines, which have no row of "
        "Cala",
    ),
    "machine on any boat": (
        add("fitted", {"model": "M1", "part": "G-3", "machine": "generator"}),
        "fitted.csv, row 4, column machine: 'generator' is not in machines: add it there, or mend "
        "it here",
    ),
    "model": (
        spoil("fitted", 3, model="M2"),
        "fitted.csv, row 3, column model: 'M2' is not in machines: add it there, or mend it here",
    ),
    "part that lost its noughts": (
        spoil("fitted", 2, part="7"),
        "fitted.csv, row 2, column part: '7' is not in parts: is '007' meant?",
    ),
    "part of a price": (
        spoil("prices", 2, part="X-9"),
        "prices.csv, row 2, column part: 'X-9' is not in parts: add it there, or mend it here",
    ),
    "part an alias stands for": (
        spoil("aliases", 2, part="70"),
        "aliases.csv, row 2, column part: '70' is not in parts: add it there, or mend it here",
    ),
    "part that took a place": (
        spoil("parts", 2, replaced_by="B2"),
        "parts.csv, row 2, column replaced_by: 'B2' is not in parts: is 'B-2' meant?",
    ),
    "set fitted to a machine": (
        add("fitted", {"model": "M1", "part": "K-1"}),
        "fitted.csv, row 4, column part: 'K-1' is not in parts: add it there, or mend it here",
    ),
    "source": (
        spoil("prices", 2, source="Quai"),
        "prices.csv, row 2, column source: 'Quai' is not in sources: is 'Quay' meant?",
    ),
    "place": (
        spoil("stock", 2, place="Sched"),
        "stock.csv, row 2, column place: 'Sched' is not in boats, neither as boat nor as store: "
        "is 'Shed' meant?",
    ),
    "port": (
        spoil("legs", 3, to_port="Islar"),
        "legs.csv, row 3, column to_port: 'Islar' is not in ports: is 'Isla' meant?",
    ),
    "leg": (
        spoil("leg_hours", 2, departs_on="2031-05-03"),
        "leg_hours.csv, row 2, column departs_on: '2031-05-03' is no day on which a leg of Alba "
        "departs",
    ),
}

ROWS = {
    "boat twice": (
        add("boats", {"boat": "Alba", "day_cost": 5}),
        "boats.csv, row 4, column boat: 'Alba' stands already in row 2: each may stand once",
    ),
    "machine twice without date": (
        add("machines", {"boat": "Brisa", "machine": "engine", "model": "M1"}),
        "machines.csv, row 5, column boat, machine, fitted_on: 'Brisa, engine' stands already in "
        "row 4: each may stand once",
    ),
    "price twice under two spellings": (
        add("prices", {"source": "Quay", "part": "seven", "price": 41}),
        "prices.csv, row 4, column source, part, pack: 'Quay, seven, 1' stands already in row 2: "
        "each may stand once",
    ),
    "line twice": (
        add("fitted", {"model": "M1", "part": "007", "quantity": 2}),
        "fitted.csv, row 4, column model, part, boat, machine: 'M1, 007' stands already in row 2: "
        "each may stand once",
    ),
    "line that never applies": (
        add("machines", {"boat": "Brisa", "machine": "generator", "model": "M2"})
        | {"fitted": [{"model": "M2", "part": "G-3", "boat": "Alba"}]},
        "fitted.csv, row 2, column model: 'M2' is not the model of that boat and machine in "
        "machines: the line would never apply",
    ),
    "hours without a meter": (
        add("machines", {"boat": "Brisa", "machine": "ground tackle", "model": "M1"}),
        "machines.csv, row 5, column machine: 'ground tackle' has no row in readings by "
        "2031-04-01, the day of the plan, but ages 007, B-2 by hours: add a reading, or set their "
        "clock to days in parts",
    ),
    "left before she joined": (
        spoil("boats", 2, joined_on="2032-01-02", left_on="2032-01-01"),
        "boats.csv, row 2, column left_on: '2032-01-01' is before joined_on",
    ),
    "seen sound after it was changed": (
        spoil("replacements", 2, on="2031-02-01", sound_on="2031-02-02"),
        "replacements.csv, row 2, column sound_on: '2031-02-02' is after the day on which it was "
        "changed",
    ),
    "store called like a boat": (
        spoil("boats", 2, store="Brisa"),
        "boats.csv, row 2, column store: 'Brisa' is the name of a boat: give the store another",
    ),
    "legs overlap": (
        add("legs", {"boat": "Alba", "departs_on": "2031-05-21", "days": 3, "to_port": "Isla"}),
        "legs.csv, row 4, column departs_on: '2031-05-21' is before 2031-05-22, when the leg "
        "before it ends",
    ),
    "leg of a boat that left": (
        spoil("boats", 3, left_on="2031-05-02"),
        "legs.csv, row 3, column departs_on: '2031-05-02' is not before she left the fleet",
    ),
    "mail without lead": (
        spoil("sources", 3, lead_days=""),
        "sources.csv, row 3, column lead_days: is blank: days from order to hand, by mail",
    ),
    "late before usual": (
        spoil("sources", 3, late_days=6),
        "sources.csv, row 3, column late_days: '6' is less than lead_days, the usual time",
    ),
    "no rate": (
        spoil("sources", 3, currency="CHF"),
        "sources.csv, row 3, column currency: 'CHF' has no rate, and Post asks it: add CHF to the "
        "rates in settings",
    ),
    "two currencies": (
        add("sources", {"source": "Post", "kind": "mail", "delivers_to": "Isla", "lead_days": 9}),
        "sources.csv, row 4, column currency: is not the currency of the source's first row: its "
        "prices can be in one only",
    ),
    "used with itself": (
        spoil("used_with", 2, with_part="G-3"),
        "used_with.csv, row 2, column with_part: 'G-3' is the part itself: name the part it goes "
        "with",
    ),
    "own number as an alias": (
        add("aliases", {"other": "B-2", "part": "007"}),
        "aliases.csv, row 3, column other: 'B-2' is a number of its own in parts: if it is "
        "superseded, say so there in replaced_by",
    ),
    "set that holds itself": (
        add("kits", {"kit": "K-2", "part": "K-2"}),
        "kits.csv, row 4, column part: 'K-2' leads back to K-2: no set can hold itself",
    ),
}


@pytest.mark.parametrize(("tables", "message"), CELLS.values(), ids=CELLS)
def test_a_cell(tables, message):
    assert [str(problem) for problem in problems_of(tables)] == [message]


@pytest.mark.parametrize(("tables", "message"), NAMES.values(), ids=NAMES)
def test_a_name_that_is_not_known(tables, message):
    assert message in [str(problem) for problem in problems_of(tables)]


@pytest.mark.parametrize(("tables", "message"), ROWS.values(), ids=ROWS)
def test_rows_that_contradict(tables, message):
    assert [str(problem) for problem in problems_of(tables)] == [message]


def test_every_problem_names_table_row_column_value_and_what_would_be_right():
    assert problems_of(spoil("prices", 3, pack="two")) == [
        Problem(
            table="prices.csv",
            row=3,
            column="pack",
            value="two",
            expected="is not a number: write digits alone, or leave the cell blank",
        )
    ]


def test_a_circle_of_superseded_numbers_is_named_once():
    tables = sound_tables()
    tables["parts"][0]["replaced_by"] = "B-2"
    tables["parts"][1]["replaced_by"] = "G-3"
    tables["parts"][2]["replaced_by"] = "007"
    assert [str(problem) for problem in problems_of(tables)] == [
        "parts.csv, row 2, column replaced_by: 'B-2' leads in a circle: "
        "007 -> B-2 -> G-3 -> 007; blank it for the current one"
    ]


def test_all_that_is_wrong_is_told_at_once():
    tables = sound_tables()
    for table, row, column, value in (
        ("boats", 2, "spares_kg", "heavy"),
        ("machines", 3, "boat", ""),
        ("readings", 4, "read_on", "1.4.30"),
        ("parts", 2, "consequence", "sinks"),
        ("parts", 3, "kg", "0,2"),
        ("parts", 4, "carry_at_least", -1),
        ("fitted", 2, "part", "700"),
        ("replacements", 2, "quantity", 0),
        ("sources", 2, "kind", "shop"),
        ("prices", 3, "price", ""),
        ("legs", 3, "times", "x"),
        ("ports", 2, "price_factor", 0),
        ("stock", 3, "place", "Albo"),
    ):
        tables[table][row - 2][column] = value
    assert [(p.table, p.row, p.column, p.value) for p in problems_of(tables)] == [
        ("boats.csv", 2, "spares_kg", "heavy"),
        ("machines.csv", 3, "boat", ""),
        ("readings.csv", 3, "machine", "starboard engine"),
        ("readings.csv", 4, "read_on", "1.4.30"),
        ("parts.csv", 2, "consequence", "sinks"),
        ("parts.csv", 3, "kg", "0,2"),
        ("parts.csv", 4, "carry_at_least", "-1"),
        ("fitted.csv", 2, "part", "700"),
        ("replacements.csv", 2, "quantity", "0"),
        ("sources.csv", 2, "kind", "shop"),
        ("prices.csv", 3, "price", ""),
        ("legs.csv", 3, "times", "x"),
        ("ports.csv", 2, "price_factor", "0"),
        ("stock.csv", 3, "place", "Albo"),
    ]


def test_one_slip_in_very_many_rows_is_listed_and_counted():
    row = {"boat": "Albo", "machine": "port engine", "read_on": "2030-05-01", "hours": 120}
    problems = problems_of(add("readings", *[row] * 50))
    assert [problem.row for problem in problems] == list(range(5, 25))
    assert problems[0].expected == "is not in boats: is 'Alba' meant?"
    assert problems[-1].expected == "is not in boats: is 'Alba' meant?; so in 30 rows more"


@pytest.mark.parametrize(
    ("empty", "named"),
    [
        ("boats", "machines, readings, replacements, legs, leg_hours, stock"),
        ("machines", "fitted"),
        ("parts", "fitted, replacements, used_with, kits, aliases, prices, stock"),
        ("sources", "prices"),
    ],
)
def test_a_table_without_rows_that_others_refer_to_is_one_problem(empty, named):
    problems = [str(problem) for problem in problems_of(sound_tables() | {empty: []})]
    assert problems[0].startswith(empty)
    assert f" has no row, but is referred to by {named}: fill it in first" in problems[0]
    assert not any(f"is not in {empty}" in problem for problem in problems)


def test_keys_that_could_not_be_read_are_not_said_to_stand_twice():
    tables = sound_tables()
    tables["legs"] = [
        {"boat": "Alba", "departs_on": day, "days": 7, "to_port": "Porto"}
        for day in ("02/05/2031", "03/06/2031")
    ]
    columns = [problem.column for problem in problems_of(tables) if problem.table == "legs.csv"]
    assert "departs_on" in columns
    assert "boat, departs_on" not in columns
