"""Laws of reading: the form of the files and the order of rows change nothing; garbage is named."""

import tempfile
from pathlib import Path

import pandas as pd
import pytest
from builders import make_fleet
from fleet_builders import SETTINGS, problems_of, sound_tables, write_folder, write_workbook
from hypothesis import given, settings
from hypothesis import strategies as st

from stockopt.errors import InputError
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.read import read_fleet
from stockopt.fleet.tables import TABLES

OVERRIDES = {"planned_on": SETTINGS["planned_on"], "rates.USD": 0.9}

# Whole cells that have spoiled real tables, and letters, digits and marks at random.
SPOILT = [
    " ",
    "-",
    "?",
    "n/a",
    "nan",
    "NaT",
    "inf",
    "-1",
    "0",
    "1e308",
    "1E5",
    "5%",
    "1,5",
    "1.234,50",
    "12 345",
    "2031-04-01",
    "03/04/25",
    "31.12.2030",
    "0000-00-00",
    "45000",
    "#REF!",
    "=1+1",
    "TRUE",
    "Alba",
    "alba",
    "007",
    "7",
    "seven",
    "K-1",
    "B-2",
    "Shed",
    "Hafen",
    "EUR",
    "hours",
    "'",
    '"',
]
GARBAGE = st.one_of(
    st.sampled_from([*SPOILT, "", "\u00a0", "\x00", "\ufeff", "\u202e", "9" * 400]),
    st.text(max_size=12),
    st.floats().map(str),
    st.integers().map(str),
    st.dates().map(str),
)

CELL = st.one_of(
    *(
        st.tuples(
            st.just(name),
            st.integers(0, 3),
            st.sampled_from([column.name for column in table.columns]),
            GARBAGE,
        )
        for name, table in TABLES.items()
    )
)


@st.composite
def spoiled_tables(draw):
    """Draw the sound tables with garbage in some cells, rows lost and rows doubled."""
    tables = sound_tables()
    for name, place, column, value in draw(st.lists(CELL, min_size=1, max_size=6)):
        tables[name][place % len(tables[name])][column] = value
    name = draw(st.sampled_from(sorted(tables)))
    tables[name] = tables[name] * draw(st.integers(0, 2)) or [{}]
    return tables


def garbage_gives_a_fleet_or_an_input_error(tables):
    try:
        fleet = make_fleet(settings=SETTINGS, **tables)
    except InputError as error:
        problems = error.problems
    else:
        check_promises(fleet)
        return
    assert problems
    assert all(problem.table and problem.expected for problem in problems)


def check_promises(fleet: Fleet) -> None:
    """Assert what later rooms may rely on."""
    for name, table in TABLES.items():
        frame = getattr(fleet, name)
        assert frame.columns.tolist() == [column.name for column in table.columns]
        assert frame.index.name == "row"
        for column in table.columns:
            values = frame[column.name]
            if column.kind == "text":
                assert values.map(type).eq(str).all()
            if column.required or column.default is not None:
                assert values.notna().all()
                assert not column.required or values.ne("").all()
            if column.kind == "whole" and column.default is not None:
                assert values.dtype == "int64"
    numbers = set(fleet.parts["part"])
    assert fleet.parts["replaced_by"].eq("").all()
    for frame in (fleet.fitted, fleet.replacements, fleet.stock, fleet.used_with):
        assert set(frame["part"]) <= numbers
    assert set(fleet.prices["part"]) <= numbers | set(fleet.kits["kit"])
    day = pd.Timestamp(fleet.settings.planned_on)
    assert (fleet.readings["read_on"] <= day).all()
    assert (fleet.replacements["on"] <= day).all()
    assert (fleet.legs["departs_on"] >= day).all()


@settings(max_examples=12, deadline=None, derandomize=True)
@given(spoiled_tables())
def test_garbage_gives_a_fleet_or_an_input_error(tables):
    garbage_gives_a_fleet_or_an_input_error(tables)


@pytest.mark.full
@settings(max_examples=300, deadline=None)
@given(spoiled_tables())
def test_much_garbage_gives_a_fleet_or_an_input_error(tables):
    garbage_gives_a_fleet_or_an_input_error(tables)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.binary(max_size=300))
def test_any_bytes_in_a_file_give_an_input_error(data):
    with tempfile.TemporaryDirectory() as name:
        folder = write_folder({"prices": sound_tables()["prices"]}, Path(name) / "fleet")
        (folder / "boats.csv").write_bytes(data)
        with pytest.raises(InputError):
            read_fleet(folder, overrides=OVERRIDES)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(1, 255)), max_size=20))
def test_any_damage_to_a_workbook_gives_an_input_error_or_a_fleet(damage):
    with tempfile.TemporaryDirectory() as name:
        book = write_workbook(sound_tables(), Path(name) / "fleet.xlsx")
        content = bytearray(book.read_bytes())
        for share, change in damage:
            content[int(share * len(content))] ^= change
        book.write_bytes(content)
        try:
            check_promises(read_fleet(book, overrides=OVERRIDES))
        except InputError as error:
            problems = error.problems
        else:
            return
        assert problems


TEXT = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8
).filter(lambda text: not text.startswith(("=", "#")))


@settings(max_examples=6, deadline=None, derandomize=True)
@given(
    boat=TEXT,
    note=TEXT,
    part=st.from_regex(r"[0-9A-Z][0-9A-Z.-]{0,6}[A-Z]", fullmatch=True),
    cents=st.integers(0, 10**9),
    separator=st.sampled_from(",;\t"),
)
def test_folder_and_workbook_are_the_same_fleet(boat, note, part, cents, separator):
    tables = sound_tables()
    tables["boats"].append({"boat": f"x{boat}", "day_cost": 3})
    tables["parts"].append({"part": part, "name": note, "price": cents / 100, "kg": 1})
    tables["replacements"][0]["note"] = note
    with tempfile.TemporaryDirectory() as name:
        folder = write_folder(tables, Path(name) / "fleet", separator=separator)
        book = write_workbook(tables, Path(name) / "fleet.xlsx")
        one = read_fleet(folder, overrides=OVERRIDES)
        other = read_fleet(book, overrides=OVERRIDES)
    assert one.settings == other.settings
    assert one.notes == other.notes
    for table in TABLES:
        pd.testing.assert_frame_equal(getattr(one, table), getattr(other, table), check_exact=True)


@settings(max_examples=6, deadline=None, derandomize=True)
@given(st.randoms(use_true_random=False), spoiled_tables())
def test_the_order_of_rows_does_not_matter_to_the_checks(random, tables):
    """What is wrong is the same but for the row; rows that stand twice may change their roles."""
    for name, rows in tables.items():
        tables[name] = [row for place, row in enumerate(rows) if row not in rows[:place]]
    shuffled = {name: random.sample(rows, len(rows)) for name, rows in tables.items()}

    def told(problems):
        return sorted(
            (problem.table, problem.column, problem.value)
            for problem in problems
            if "each may stand once" not in problem.expected
        )

    assert told(problems_of(shuffled)) == told(problems_of(tables))
