"""The first five minutes: empty tables, filled in as a person would, give a plan."""

import csv
import json
from datetime import date

import openpyxl
import pytest
from click.testing import CliRunner

from stockopt.cli.main import main
from stockopt.fleet.tables import HELP_SHEET, SETTINGS, TABLES

TEN_PARTS = [
    ("IMP-1", "Impeller, raw-water pump", "hours", 600, 45, 0.15, "stops", None),
    ("SEAL-7", "Shaft seal, raw-water pump", "hours", 700, 25, 0.05, "stops", None),
    ("BELT-3", "Belt, alternator", "hours", 900, 32, 0.2, "stops", 1),
    ("FILT-2", "Filter, fuel", "hours", 300, 14, 0.3, "stops", None),
    ("ALT-1", "Alternator", "hours", 3000, 480, 6.5, "limits", None),
    ("THERM-4", "Thermostat", "hours", 2500, 38, 0.2, "limits", None),
    ("BILGE-2", "Bilge pump, electric", "days", 1100, 70, 0.8, "limits", 1),
    ("LAMP-3", "Lamp, navigation light", "days", 900, 60, 0.1, "nuisance", None),
    ("JOK-5", "Joker valve, toilet", "days", 500, 18, 0.1, "limits", None),
    ("HOSE-9", "Hose, exhaust, a metre", "days", 2900, 55, 1.4, "stops", None),
]
PART_COLUMNS = (
    "part",
    "name",
    "clock",
    "expected_life",
    "price",
    "kg",
    "consequence",
    "carry_at_least",
)
FILLED = {
    "boats": [{"boat": "Tern", "spares_kg": 60, "day_cost": 150}],
    "machines": [
        {
            "boat": "Tern",
            "machine": "engine",
            "model": "Diesel 40",
            "fitted_on": date(2028, 3, 1),
            "hours_at_fitting": 0,
        }
    ],
    "readings": [
        {"boat": "Tern", "machine": "engine", "read_on": date(2028, 3, 1), "hours": 0},
        {"boat": "Tern", "machine": "engine", "read_on": date(2031, 3, 28), "hours": 1450},
    ],
    "parts": [dict(zip(PART_COLUMNS, row, strict=True)) for row in TEN_PARTS],
    "fitted": [{"model": "Diesel 40", "part": row[0]} for row in TEN_PARTS],
    "replacements": [
        {
            "on": date(2030, 5, 3),
            "boat": "Tern",
            "machine": "engine",
            "part": "IMP-1",
            "hours": 910,
            "reason": "failed",
        }
    ],
    "legs": [
        {
            "boat": "Tern",
            "departs_on": date(2031, 5, 1),
            "days": 21,
            "to_port": "Far Cay",
            "hours": 160,
        }
    ],
    "ports": [{"port": "Far Cay", "price_factor": 3.5, "wait_days": 10}],
    "stock": [{"place": "Tern", "part": "FILT-2", "on_hand": 2}],
}


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def invoke(*arguments):
    return CliRunner().invoke(main, list(arguments))


def fill_workbook(path):
    book = openpyxl.load_workbook(path)
    for table, rows in FILLED.items():
        sheet = book[table]
        columns = {cell.value: cell.column for cell in sheet[1]}
        for number, row in enumerate(rows, 2):
            for name, value in row.items():
                sheet.cell(row=number, column=columns[name], value=value)
    settings = {row[0].value: row[1] for row in book["settings"].iter_rows(min_row=2)}
    settings["planned_on"].value = date(2031, 4, 1)
    settings["budget"].value = 2000
    book.save(path)


def fill_folder(path):
    for table, rows in FILLED.items():
        file = path / f"{table}.csv"
        columns = file.read_text(encoding="utf-8").strip().split(",")
        with file.open("a", newline="", encoding="utf-8") as handle:
            csv.DictWriter(handle, columns).writerows(rows)
    settings = path / "settings.toml"
    text = settings.read_text(encoding="utf-8").replace("# planned_on", "planned_on")
    settings.write_text(text.replace("# budget = 4000", "budget = 2000"), encoding="utf-8")


def test_one_boat_filled_in_with_ten_parts_gives_a_plan(here):
    assert invoke("start", "tern.xlsx", "--one-boat").exit_code == 0
    fill_workbook(here / "tern.xlsx")
    assert invoke("check", "tern.xlsx").exit_code == 0
    done = invoke("plan", "tern.xlsx", "--json", "tern.json")
    assert done.exit_code == 0, done.output
    plan = json.loads((here / "tern.json").read_text(encoding="utf-8"))
    assert plan["cost"]["spend_now"] <= 2000
    assert {line["part"] for line in plan["carry"]} >= {"BELT-3", "BILGE-2"}  # the floors
    assert not [note for note in plan["notes"] if "not a table" in note["text"]]


def test_folder_and_workbook_filled_in_alike_give_the_same_plan(here):
    invoke("start", "tern")
    fill_folder(here / "tern")
    invoke("start", "tern.xlsx")
    fill_workbook(here / "tern.xlsx")
    plans = []
    for fleet in ("tern", "tern.xlsx"):
        done = invoke("plan", fleet, "--json", "plan.json", "--overwrite")
        assert done.exit_code == 0, done.output
        plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
        plans.append((plan["cost"], plan["carry"], plan["orders"]))
    assert plans[0] == plans[1]


def test_every_table_column_and_setting_is_offered_with_its_help(here):
    invoke("start", "fleet")
    invoke("start", "fleet.xlsx")
    help_page = (here / "fleet" / "how_to_fill_in.txt").read_text(encoding="utf-8")
    book = openpyxl.load_workbook(here / "fleet.xlsx")
    assert book.sheetnames == [HELP_SHEET, *TABLES, "settings"]
    explained = {
        (row[1].value, row[2].value)
        for row in book[HELP_SHEET].iter_rows(min_row=7)
        if row[1].value
    }
    for name, table in TABLES.items():
        header = (here / "fleet" / f"{name}.csv").read_text(encoding="utf-8").strip()
        assert header.split(",") == [column.name for column in table.columns]
        assert [cell.value for cell in book[name][1]] == header.split(",")
        for cell, column in zip(book[name][1], table.columns, strict=True):
            assert cell.comment.text.startswith(column.help)
            assert column.help in help_page
            assert any(
                name == column.name and said.startswith(column.help) for name, said in explained
            )
    offered = [row[0].value for row in book["settings"].iter_rows(min_row=2) if row[0].value]
    assert offered == [column.name for column in SETTINGS.columns]


def test_lists_days_and_part_numbers_are_ready(here):
    invoke("start", "fleet.xlsx")
    book = openpyxl.load_workbook(here / "fleet.xlsx")
    replacements = book["replacements"]
    letters = {cell.value: cell.column_letter for cell in replacements[1]}
    rules = {
        str(rule.sqref).split("2:")[0]: rule
        for rule in replacements.data_validations.dataValidation
    }
    assert rules[letters["reason"]].type == "list"
    assert "failed,worn,scheduled" in rules[letters["reason"]].formula1
    assert rules[letters["part"]].formula1 == "parts!$A$2:$A$2000"
    assert rules[letters["on"]].type == "date"
    assert replacements.column_dimensions[letters["on"]].number_format == "yyyy-mm-dd"
    assert replacements.column_dimensions[letters["part"]].number_format == "@"
    assert all(rule.prompt for rule in rules.values())


def test_nothing_that_is_there_is_replaced(here):
    invoke("start", "fleet")
    (here / "fleet" / "boats.csv").write_text("boat\nTern\n", encoding="utf-8")
    again = invoke("start", "fleet")
    assert again.exit_code == 2
    assert "boats.csv already" in again.output
    assert (here / "fleet" / "boats.csv").read_text(encoding="utf-8") == "boat\nTern\n"
    (here / "fleet.xlsx").write_bytes(b"mine")
    assert invoke("start", "fleet.xlsx").exit_code == 2
    assert (here / "fleet.xlsx").read_bytes() == b"mine"
    assert invoke("start", "nowhere/fleet.xlsx").exit_code == 2
    assert invoke("start", "fleet/boats.csv").exit_code == 2


@pytest.mark.parametrize("name", ["fleet.xls", "fleet.csv", "fleet.ods"])
def test_a_folder_is_not_called_like_a_file(here, name):
    done = invoke("start", name)
    assert done.exit_code == 2
    assert f"'{name}' is neither a workbook nor a folder: give fleet.xlsx or fleet" in done.output
    assert not (here / name).exists()


def test_rows_of_help_are_as_high_as_their_lines(here):
    invoke("start", "fleet.xlsx")
    book = openpyxl.load_workbook(here / "fleet.xlsx")
    for name in (book.sheetnames[0], "settings"):
        sheet = book[name]
        width = sheet.column_dimensions["C"].width
        long = [cell for cell in sheet["C"][6:] if cell.value and len(cell.value) > width]
        assert long
        for cell in long:
            assert sheet.row_dimensions[cell.row].height >= 2 * 13


def test_empty_tables_are_told_to_be_empty(here):
    invoke("start", "fleet.xlsx", "--one-boat")
    done = invoke("plan", "fleet.xlsx")
    assert done.exit_code == 1
    assert "has no row" in done.output
    assert not (here / "reports").exists()
    checked = invoke("check", "fleet.xlsx")
    assert checked.exit_code == 0
    for table in ("boats", "machines", "parts", "fitted", "legs"):
        assert f"- {table}" in checked.output
