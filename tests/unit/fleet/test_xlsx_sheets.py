"""Workbooks as spreadsheet programs leave them."""

import io
import zipfile
from datetime import date, datetime, time

import numpy as np
import pytest
from fleet_builders import SETTINGS, sound_tables, write_workbook
from openpyxl import Workbook, load_workbook

from stockopt.errors import InputError
from stockopt.fleet.read import read_fleet

OVERRIDES = {"planned_on": SETTINGS["planned_on"], "rates.USD": 0.9}


@pytest.fixture
def book(tmp_path):
    return write_workbook(sound_tables(), tmp_path / "fleet.xlsx")


def change(path, sheet, **cells):
    """Write cells by their address."""
    book = load_workbook(path)
    for address, value in cells.items():
        book[sheet][address] = value
    book.save(path)
    return path


def problems_in(path):
    with pytest.raises(InputError) as error:
        read_fleet(path, overrides=OVERRIDES)
    return [str(problem) for problem in error.value.problems]


def test_part_numbers_and_dates_as_the_workbook_holds_them(book):
    change(book, "readings", C2=datetime(2030, 4, 1, 14, 30), C3=date(2030, 4, 2), C4=47574)
    change(book, "parts", A4=12345.0)
    change(book, "used_with", A2=12345)
    change(book, "kits", B3="12345")
    fleet = read_fleet(book, overrides=OVERRIDES)
    assert fleet.parts["part"].sort_index().tolist() == ["007", "B-2", "12345"]
    assert fleet.used_with.at[2, "part"] == "12345"
    # 47574 is 2030-04-01 where day 1 is 1900-01-01 (and 1900 counts as a leap year).
    days = ["2030-04-01", "2030-04-02", "2030-04-01"]
    assert fleet.readings["read_on"].sort_index().tolist() == [np.datetime64(day) for day in days]


def test_days_are_counted_from_1904_where_the_workbook_says_so(tmp_path):
    tables = sound_tables()
    tables["readings"][0]["read_on"] = 47574 - 1462
    path = write_workbook(tables, tmp_path / "fleet.xlsx")
    book = load_workbook(path)
    book.epoch = datetime(1904, 1, 1)
    book.save(path)
    assert read_fleet(path, overrides=OVERRIDES).readings.at[2, "read_on"] == datetime(2030, 4, 1)


def test_a_part_number_that_became_a_date_a_power_or_lost_digits(book):
    change(book, "prices", B2=datetime(2030, 12, 3), B3=12345678901234570)
    change(book, "fitted", B3=100000)
    workbook = load_workbook(book)
    workbook["fitted"]["B3"].number_format = "0.00E+00"
    workbook.save(book)
    made = "the spreadsheet made of a part number: format the column as text and type it again"
    assert problems_in(book) == [
        f"fitted, row 3, column part: '100000' is a number that {made}",
        f"prices, row 2, column part: '2030-12-03' is a date that {made}",
        f"prices, row 3, column part: '12345678901234570' is a number with digits cut off that "
        f"{made}",
    ]


def test_a_round_number_in_plain_format_is_a_part_number(book):
    change(book, "parts", A4=100000)
    change(book, "used_with", A2="100000")
    change(book, "kits", B3="100000")
    assert "100000" in read_fleet(book, overrides=OVERRIDES).parts["part"].tolist()


def test_a_formula_never_calculated_is_named(book):
    change(book, "prices", C2="=20*2")
    assert problems_in(book) == [
        "prices, row 2, column price: is a formula that was never calculated: open the workbook "
        "in the spreadsheet program and save it"
    ]


def test_formulas_are_read_by_their_last_value(book):
    """A spreadsheet program keeps the last value beside each formula, empty text too."""
    change(book, "prices", C2="=20*2", A4='=IF(1=1,"","x")')
    with zipfile.ZipFile(book) as source:
        archive = {name: source.read(name) for name in source.namelist()}
    for name, data in archive.items():
        data = data.replace(b"<f>20*2</f><v />", b"<f>20*2</f><v>40</v>")
        data = data.replace(
            b'<c r="A4"><f>IF(1=1,"","x")</f><v />', b'<c r="A4" t="str"><f>IF(1)</f><v></v>'
        )
        archive[name] = data
    with zipfile.ZipFile(book, "w") as target:
        for name, data in archive.items():
            target.writestr(name, data)
    prices = read_fleet(book, overrides=OVERRIDES).prices["price"]
    assert prices.sort_index().tolist() == [40.0, 12.0]


def test_what_is_no_number_or_date_in_its_column(book):
    change(book, "readings", D2=time(12, 30), D3=True, D4="=1/0")
    change(book, "readings", C2="03/04/25", D4=datetime(2030, 1, 1))
    assert problems_in(book) == [
        "readings, row 2, column read_on: '03/04/25' may be two days: write 2025-04-03 or "
        "2025-03-04",
        "readings, row 2, column hours: '12:30:00' is not a number: write digits alone",
        "readings, row 3, column hours: 'True' is not a number: write digits alone",
        "readings, row 4, column hours: '2030-01-01' is not a number: write digits alone",
    ]


def test_blank_rows_hidden_rows_merged_cells_and_notes_beside_the_table(book):
    workbook = load_workbook(book)
    sheet = workbook["boats"]
    sheet.insert_rows(1, 2)  # the header is row 3 now
    sheet.insert_rows(5)
    sheet.row_dimensions[4].hidden = True
    sheet["H4"] = "ask the yard"
    sheet.merge_cells("H4:I5")
    workbook["parts"].sheet_state = "hidden"
    workbook.create_sheet("Old lists")["A1"] = "anything"
    workbook.save(book)
    fleet = read_fleet(book, overrides=OVERRIDES)
    assert fleet.boats.index.tolist() == [4, 6]
    texts = [(note.table, note.text) for note in fleet.notes]
    assert ("boats", "cells beyond the last heading kept out: row 4") in texts
    assert ("Old lists", "is not a table and was not read") in texts


def test_settings_from_their_sheet(book):
    workbook = load_workbook(book)
    sheet = workbook.create_sheet("Settings")
    for row in (
        ("Setting", "Value", "why"),
        ("planned on", date(2031, 4, 1), ""),
        ("readiness", "95%", ""),
        ("budget", 4000, ""),
        ("carry_over", 0.25, ""),
        ("rates.usd", 0.9, ""),
        ("seconds", None, "blank keeps what holds"),
    ):
        sheet.append(row)
    workbook.save(book)
    settings = read_fleet(book).settings
    assert settings.planned_on == date(2031, 4, 1)
    assert (settings.readiness, settings.budget, settings.carry_over) == (0.95, 4000.0, 0.25)
    assert dict(settings.rates) == {"USD": 0.9}
    assert settings.seconds == 60.0


def test_a_wrong_setting_is_named_by_its_row(book):
    workbook = load_workbook(book)
    sheet = workbook.create_sheet("settings")
    sheet.append(["setting", "value"])
    sheet.append(["gap", "tight"])
    workbook.save(book)
    assert problems_in(book) == [
        "settings, row 2, column gap: 'tight' is not a number: write digits alone, or leave the "
        "cell blank"
    ]


def test_a_sheet_of_settings_without_its_columns(book):
    workbook = load_workbook(book)
    workbook.create_sheet("settings").append(["name", "value"])
    workbook.save(book)
    assert problems_in(book) == ["settings, column setting: the column is missing"]


@pytest.mark.parametrize("share", [0, 3, 20, 50, 90])
def test_a_damaged_workbook_says_what_to_do(book, share):
    data = book.read_bytes()
    book.write_bytes(data[: len(data) * share // 100])
    assert problems_in(book) == [
        "fleet.xlsx: cannot be read as a workbook: open it in the spreadsheet program and save it "
        "as .xlsx without a password"
    ]


def test_an_archive_that_is_no_workbook(tmp_path):
    path = tmp_path / "fleet.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("readme.txt", "hello")
    assert "cannot be read as a workbook" in problems_in(path)[0]


def test_a_workbook_without_any_table(tmp_path):
    path = tmp_path / "fleet.xlsx"
    target = io.BytesIO()
    Workbook().save(target)
    path.write_bytes(target.getvalue())
    assert problems_in(path) == [
        "fleet.xlsx: holds no table of a fleet, only Sheet: it needs sheets named boats, machines, "
        "readings, parts, fitted, replacements, legs"
    ]
