"""Where a fleet is looked for, and which file holds which table."""

from datetime import date

import pandas as pd
import pytest
from fleet_builders import sound_tables, write_folder, write_workbook

from stockopt.errors import InputError, Note
from stockopt.fleet.read import read_fleet
from stockopt.fleet.tables import TABLES

TOML = "planned_on = 2031-04-01\n[rates]\nUSD = 0.9\n"


@pytest.fixture
def folder(tmp_path):
    path = write_folder(sound_tables(), tmp_path / "fleet")
    (path / "settings.toml").write_text(TOML)
    return path


def problems_in(path, **overrides):
    with pytest.raises(InputError) as error:
        read_fleet(path, overrides=overrides)
    return [str(problem) for problem in error.value.problems]


def test_a_folder_becomes_a_fleet(folder):
    fleet = read_fleet(folder)
    assert fleet.name == "fleet"
    assert fleet.settings.planned_on == date(2031, 4, 1)
    assert dict(fleet.settings.rates) == {"USD": 0.9}
    assert fleet.notes == ()
    for name, table in TABLES.items():
        frame = getattr(fleet, name)
        assert frame.columns.tolist() == [column.name for column in table.columns]
        assert frame.index.name == "row"


def test_columns_are_typed_and_blanks_filled(folder):
    fleet = read_fleet(folder)
    assert fleet.parts.dtypes.astype(str).to_dict() == {
        "part": "str",
        "name": "str",
        "family": "str",
        "clock": "str",
        "wear": "str",
        "expected_life": "float64",
        "replace_every": "float64",
        "price": "float64",
        "kg": "float64",
        "litres": "float64",
        "consequence": "str",
        "days_to_fix": "float64",
        "failure_cost": "float64",
        "fitting_cost": "float64",
        "carry_at_least": "int64",
        "shelf_life_days": "float64",
        "replaced_by": "str",
    }
    seal = fleet.parts.loc[2]
    assert (seal["part"], seal["clock"], seal["consequence"]) == ("007", "hours", "limits")
    assert seal["carry_at_least"] == 0
    assert fleet.parts["days_to_fix"].isna().all()
    assert fleet.sources.at[3, "duty"] == 0.05
    assert fleet.legs["departs_on"].dtype.kind == "M"
    assert fleet.stock["due_on"].dtype.kind == "M"
    assert fleet.replacements["slot"].dtype == "float64"
    assert fleet.fitted["quantity"].dtype == "int64"


def test_headings_and_file_names_may_be_written_in_many_ways(folder):
    (folder / "used_with.csv").rename(folder / "Used With.CSV")
    boats = (folder / "boats.csv").read_text()
    (folder / "boats.csv").write_text(boats.replace("home_port", " Home Port ", 1))
    fleet = read_fleet(folder)
    assert len(fleet.used_with) == 1
    assert fleet.boats.at[2, "home_port"] == "Hafen"


def test_an_extra_column_is_noted(folder):
    path = folder / "ports.csv"
    path.write_text("port,price_factor,wait_days,Mooring\nIsla,1.5,3,buoy\n")
    assert read_fleet(folder).notes == (
        Note(table="ports", text="columns kept out of the plan: mooring"),
    )


def test_a_heading_twice_and_a_heading_missing(folder):
    (folder / "ports.csv").write_text("port,wait_days,Wait Days\nIsla,3,4\n")
    (folder / "aliases.csv").write_text("othr,part\nseven,007\n")
    assert problems_in(folder) == [
        "aliases.csv, column other: the column is missing: number or spelling met in the records; "
        "is 'othr' meant?",
        "ports.csv, column wait_days: stands more than once in the header: give each column "
        "its own heading",
    ]


def test_a_slip_in_an_optional_heading_does_not_lose_the_column(folder):
    (folder / "ports.csv").write_text("port,price_factr,wait_days\nIsla,1.5,3\n")
    assert problems_in(folder) == [
        "ports.csv, column price_factr: is not a column: rename it to price_factor, or take it out"
    ]
    (folder / "ports.csv").write_text("port,price_factor,wait_days\nIsla,1.5,3\n")
    replacements = (folder / "replacements.csv").read_text().replace("reason", "reason,notes", 1)
    (folder / "replacements.csv").write_text(replacements)
    assert read_fleet(folder).notes == (
        Note(table="replacements", text="columns kept out of the plan: notes"),
    )


def test_a_required_table_that_is_missing(folder):
    (folder / "legs.csv").unlink()
    assert problems_in(folder) == [
        "legs: the table is missing: The plan of each boat: passages or charters still to come."
    ]


@pytest.mark.parametrize("table", [name for name in TABLES if TABLES[name].required])
def test_what_follows_from_a_missing_table_is_not_told(folder, table):
    (folder / f"{table}.csv").unlink()
    (folder / "ports.csv").write_text("port,price_factor\nIsla,x\n")
    assert problems_in(folder) == [
        f"{table}: the table is missing: {TABLES[table].help}",
        "ports.csv, row 2, column price_factor: 'x' is not a number: write digits alone, or leave "
        "the cell blank",
    ]


@pytest.mark.parametrize(
    ("table", "column"),
    [
        (table.name, column.name)
        for table in TABLES.values()
        for column in table.columns
        if column.required
    ],
)
def test_what_follows_from_a_missing_column_is_not_told(folder, table, column):
    path = folder / f"{table}.csv"
    header, *rows = path.read_text().splitlines()
    path.write_text("\n".join([header.replace(column, "?", 1), *rows]))
    found = problems_in(folder)
    assert found[0].startswith(f"{table}.csv, column {column}: the column is missing: ")
    assert len(found) == 1


def test_a_file_that_is_nearly_a_table(folder):
    (folder / "boats.csv").rename(folder / "Boat.csv")
    assert problems_in(folder) == [
        "Boat.csv: is not a table: rename it to boats.csv, or take it out",
        "boats: the table is missing: The boats of the fleet, one row each.",
    ]


def test_an_optional_table_is_not_lost_by_a_slip_of_its_name(folder):
    (folder / "prices.csv").rename(folder / "price.csv")
    assert problems_in(folder) == [
        "price.csv: is not a table: rename it to prices.csv, or take it out"
    ]


def test_other_files_are_noted_and_hidden_ones_passed_over(folder):
    (folder / "wish list.csv").write_text("a,b\n")
    (folder / ".boats.csv").write_text("a,b\n")
    (folder / "notes.txt").write_text("a,b\n")
    assert read_fleet(folder).notes == (
        Note(table="wish list.csv", text="is not a table and was not read"),
    )


def test_one_table_in_two_files(folder):
    (folder / "used with.csv").write_text((folder / "used_with.csv").read_text())
    assert problems_in(folder) == [
        "used_with.csv: holds the same table as used with.csv: keep one of them"
    ]


def test_a_table_saved_in_another_form_is_not_passed_over(folder):
    (folder / "aliases.csv").rename(folder / "Aliases.xlsx")
    (folder / "boats.ods").write_text("")
    (folder / "~$boats.xlsx").write_text("")
    assert problems_in(folder) == [
        "Aliases.xlsx: is not CSV: save it as aliases.csv, or take it out"
    ]
    (folder / "Aliases.xlsx").unlink()
    notes = read_fleet(folder).notes
    assert Note(table="boats.ods", text="was not read: boats was read from its CSV file") in notes


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("My fleet\n\nboat,home_port\nAlba,\n", "of headings, for 'My fleet' is none of them"),
        ("", ""),
    ],
)
def test_a_file_without_headings_is_one_problem(folder, text, found):
    (folder / "boats.csv").write_text(text)
    lacks = f"boats.csv: lacks its first row {found}".rstrip()
    assert problems_in(folder) == [
        f"{lacks}: it must name the columns, such as boat, home_port, store, spares_kg"
    ]


def test_the_order_of_rows_makes_no_difference(folder):
    first = read_fleet(folder)
    for file in folder.glob("*.csv"):
        header, *rows = file.read_text().splitlines()
        file.write_text("\n".join([header, *reversed(rows)]) + "\n")
    second = read_fleet(folder)
    for name in TABLES:
        one, two = (getattr(fleet, name).reset_index(drop=True) for fleet in (first, second))
        pd.testing.assert_frame_equal(one, two)


def test_settings_in_a_csv_file_are_sent_to_settings_toml(folder):
    (folder / "settings.toml").rename(folder / "setting.toml")
    (folder / "settings.csv").write_text("setting,value\n")
    found = problems_in(folder)
    assert found[:2] == [
        "settings.csv: is not read: in a folder settings stand in settings.toml, as budget = 4000",
        "setting.toml: is not a table: rename it to settings.toml, or take it out",
    ]


@pytest.mark.parametrize(
    ("toml", "message"),
    [
        ("budget = ", "settings.toml: is not TOML: Invalid value (at end of document)"),
        (
            "rates = 0.9",
            "settings.toml, column rates: '0.9' cannot stand alone: write [rates], and below it "
            "USD = 0.92",
        ),
        (
            "[rates]\nUSD = 'much'",
            "settings.toml, column rates.USD: 'much' is not a number: write digits alone, or leave "
            "the cell blank",
        ),
    ],
)
def test_settings_that_cannot_be_read(folder, toml, message):
    (folder / "settings.toml").write_text(toml)
    (folder / "ports.csv").write_text("port,price_factor\nIsla,-1\n")
    found = problems_in(folder, planned_on="2031-04-01", **{"rates.USD": 0.9})
    assert found == [
        message,
        "ports.csv, row 2, column price_factor: '-1' must be greater than 0",
    ]


def test_a_file_that_cannot_be_opened(folder):
    (folder / "ports.csv").unlink()
    (folder / "ports.csv").mkdir()
    (message,) = problems_in(folder)
    assert message.startswith("ports.csv: cannot be read: ")


def test_a_folder_without_any_table(tmp_path):
    (tmp_path / "fleet.xlsx").write_bytes(b"")
    assert problems_in(tmp_path) == [
        f"{tmp_path.name}: holds no table of a fleet, only fleet.xlsx: it needs CSV files named "
        "boats, machines, readings, parts, fitted, replacements, legs; is "
        f"'{tmp_path / 'fleet.xlsx'}' meant?"
    ]


def test_a_folder_above_the_one_that_is_meant(folder):
    for name in "abcdefghijk":
        (folder.parent / f"{name}.txt").write_text("")
    (message,) = problems_in(folder.parent)
    assert "only a.txt, b.txt" in message
    assert " more: it needs" in message
    assert f"'{folder}'" in message.partition("; is ")[2]


@pytest.mark.parametrize(
    ("name", "right"), [("Parts list.csv", "parts.csv"), ("parts (1).csv", "parts.csv")]
)
def test_a_table_under_a_longer_name(folder, name, right):
    (folder / "parts.csv").rename(folder / name)
    assert f"{name}: is not a table: rename it to {right}, or take it out" in problems_in(folder)


def test_a_table_that_was_saved_as_text(folder):
    (folder / "parts.csv").rename(folder / "parts.csv.txt")
    wanted = "parts.csv.txt: is not CSV: save it as parts.csv, or take it out"
    assert wanted in problems_in(folder)


def test_a_workbook_named_without_its_ending(folder):
    (folder.parent / "base.xlsx").write_bytes(b"")
    (message,) = problems_in(folder.parent / "base")
    assert message.endswith("is 'base.xlsx' meant?")


def test_nothing_there(tmp_path):
    (tmp_path / "charter").mkdir()
    assert problems_in(tmp_path / "chartr") == [
        f"{tmp_path / 'chartr'}: there is no such folder or file: is 'charter' meant?"
    ]
    assert problems_in(tmp_path / "far" / "away") == [
        f"{tmp_path / 'far' / 'away'}: there is no such folder or file: give the folder or "
        "workbook that holds the fleet"
    ]


def test_a_comma_in_a_text_without_quotation_marks_is_one_problem_a_row(folder):
    (folder / "parts.csv").write_text(
        "part,name,clock,price,kg,consequence\n"
        "IMP-1,Impeller, raw-water pump,hours,38,0.2,stops\n"
        'BELT-2,"Belt, alternator",hours,24,0.2,limits\n'
        "SW-4,Foot switch, windlass,days,24,,\n"
    )
    wide = [message for message in problems_in(folder) if message.startswith("parts.csv")]
    assert [message.partition(" has more cells")[0] for message in wide] == [
        "parts.csv, row 2:",
        "parts.csv, row 4:",
    ]


def test_a_separator_too_many_at_the_end_of_a_row_does_no_harm(folder):
    rows = (folder / "parts.csv").read_text().splitlines()
    (folder / "parts.csv").write_text("\n".join([rows[0], *(f"{row},," for row in rows[1:])]))
    assert read_fleet(folder).parts.shape[0] == len(rows) - 1


@pytest.mark.parametrize(
    ("table", "found", "said"),
    [
        ("parts", "Price (EUR)", "column price_(eur): is not a column: rename it to price"),
        ("prices", "Price EUR", "column price: the column is missing: price of one pack, in the "),
        ("prices", "Price EUR", "is 'price_eur' meant?"),
    ],
)
def test_a_heading_with_its_unit(folder, table, found, said):
    file = folder / f"{table}.csv"
    heading, _, rows = file.read_text().partition("\n")
    headings = [found if one == "price" else one for one in heading.split(",")]
    file.write_text("\n".join([",".join(headings), rows]))
    assert any(said in message for message in problems_in(folder))


def test_one_table_is_not_a_fleet(folder):
    assert problems_in(folder / "boats.csv") == [
        "boats.csv: is one table of a fleet: give the folder that holds it"
    ]


@pytest.mark.parametrize("name", ["fleet.xls", "fleet.ods", "sums.csv", "fleet"])
def test_a_file_of_another_kind(tmp_path, name):
    (tmp_path / name).write_text("x")
    assert problems_in(tmp_path / name) == [
        f"{name}: is not a fleet: give a folder of CSV files or one workbook saved as .xlsx"
    ]


def test_folder_and_workbook_are_the_same_fleet(folder, tmp_path):
    book = write_workbook(sound_tables(), tmp_path / "fleet.xlsx")
    one, other = (
        read_fleet(folder),
        read_fleet(book, overrides={"planned_on": "2031-04-01", "rates.USD": 0.9}),
    )
    assert one.name == other.name
    assert one.settings == other.settings
    for name in TABLES:
        assert getattr(one, name).equals(getattr(other, name)), name


def test_reading_touches_nothing(folder):
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    read_fleet(folder)
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before
