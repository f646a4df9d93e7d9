"""How people write numbers, shares and dates."""

from datetime import datetime

import numpy as np
import pytest

from stockopt.fleet.cells import CellError, clean_text, parse_date, parse_number, parse_share


@pytest.mark.parametrize(
    ("text", "number"),
    [("12", 12), ("-0.5", -0.5), (".5", 0.5), ("5.", 5), ("1e3", 1000), ("12 345.5", 12345.5)],
)
def test_a_number_has_a_decimal_point(text, number):
    assert parse_number(text) == number
    assert parse_number(text, decimal_comma=True) == number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1,5", 1.5),
        ("1.234,50", 1234.5),
        ("12 345,5", 12345.5),
        ("1.234.567", 1234567),
        ("-1,5", -1.5),
    ],
)
def test_a_decimal_comma_where_it_may_stand(text, number):
    assert parse_number(text, decimal_comma=True) == number
    with pytest.raises(CellError):
        parse_number(text)


@pytest.mark.parametrize(
    ("text", "decimal_comma", "right"),
    [
        ("1,5", False, "is not a number: write 1.5 with a decimal point, or 15 without a comma"),
        ("1,234.50", False, "is not a number: write 1234.50 without a comma"),
        ("1.234", True, "may be 1234 or 1,234: write one of these"),
        ("€ 45.00", False, "is not a number: write 45.00 alone, without unit or symbol"),
        ("0.5 kg", False, "is not a number: write 0.5 alone, without unit or symbol"),
        ("0,3 kg", False, "is not a number: write 0.3 alone, without unit or symbol"),
        ("1.024,50", False, "is not a number: write 1024.50"),
        ("1'250 h", False, "is not a number: write 1250 alone, without unit or symbol"),
        ("3.000 EUR", False, "is not a number: write 3000 or 3.000 alone, without unit or symbol"),
        ("3.000 EUR", True, "is not a number: write 3000 or 3,000 alone, without unit or symbol"),
        ("-5 h", False, "is not a number: write digits alone, or leave the cell blank"),
        ("300:30", False, "is not a number: write digits alone, or leave the cell blank"),
        ("n/a", False, "is not a number: write digits alone, or leave the cell blank"),
        ("nan", False, "is not a number: write digits alone, or leave the cell blank"),
        ("inf", True, "is not a number: write digits alone, or leave the cell blank"),
        ("2031-04-01", False, "is not a number: write digits alone, or leave the cell blank"),
        ("1e20", False, "is too large"),
        ("1e999", False, "is too large"),
    ],
)
def test_what_is_no_number_says_what_would_be_right(text, decimal_comma, right):
    with pytest.raises(CellError) as error:
        parse_number(text, decimal_comma=decimal_comma)
    assert str(error.value) == right


@pytest.mark.parametrize(
    ("text", "share"), [("0.05", 0.05), ("5%", 0.05), ("5 %", 0.05), ("95%", 0.95), ("1", 1.0)]
)
def test_a_share_is_a_part_of_one_or_a_percentage(text, share):
    assert parse_share(text) == share


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("5", "is not a share: write 0.05 or 5%"),
        ("95", "is not a share: write 0.95 or 95%"),
        ("500%", "is not a share: write 0.05 or 5%"),
        ("5,5 %", "is not a share: write 5.5 % with a decimal point"),
    ],
)
def test_a_share_above_one_is_asked_back(text, right):
    with pytest.raises(CellError) as error:
        parse_share(text)
    assert str(error.value) == right


@pytest.mark.parametrize(
    "text", ["2031-04-01", "2031/4/1", "2031.04.01", "2031-04-01 08:30", "2031-04-01T00:00:00Z"]
)
def test_a_date_has_the_year_first(text):
    assert parse_date(text) == np.datetime64("2031-04-01")


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("03/04/25", "may be two days: write 2025-04-03 or 2025-03-04"),
        ("03.04.2025", "may be two days: write 2025-04-03 or 2025-03-04"),
        ("13/04/2025", "is not written year first: write 2025-04-13"),
        ("4/4/2025", "is not written year first: write 2025-04-04"),
        ("31/31/2025", "is not a date: write year, month and day as 2031-04-01"),
        ("spring 2024", "is not a date: write year, month and day as 2031-04-01"),
        ("2024-05", "is not a date: write year, month and day as 2031-04-01"),
        ("45000", "is not a date: write year, month and day as 2031-04-01"),
        ("2031-02-30", "is not a day of the calendar: write it as 2031-04-01"),
        ("0031-04-01", "is not between the years 1950 and 2150"),
        ("9999-12-31", "is not between the years 1950 and 2150"),
    ],
)
def test_what_is_no_date_says_what_would_be_right(text, right):
    with pytest.raises(CellError) as error:
        parse_date(text)
    assert str(error.value) == right


def test_serial_numbers_are_dates_in_a_workbook_only():
    # 2023-03-15 is day 45000 of spreadsheets that count from 1899-12-30, 43538 of those from 1904.
    assert parse_date("45000", serial_epoch=datetime(1899, 12, 30)) == np.datetime64("2023-03-15")
    assert parse_date("43538", serial_epoch=datetime(1904, 1, 1)) == np.datetime64("2023-03-15")
    for text in ("0", "-3", "1e9"):
        with pytest.raises(CellError):
            parse_date(text, serial_epoch=datetime(1899, 12, 30))


def test_text_is_stripped_folded_and_composed():
    assert clean_text("  Joint \u00a0 d'e\u0301tanche\u0301ite\u0301\n") == "Joint d'étanchéité"


@pytest.mark.parametrize("text", ["#REF!", "#N/A", "#DIV/0!"])
def test_errors_of_formulas_are_no_text(text):
    with pytest.raises(CellError, match="is the error of a formula"):
        clean_text(text)


def test_marks_without_a_width_do_not_make_two_names_of_one():
    assert clean_text("\ufeffAl\u200bba\u00ad\u202e") == "Alba"


@pytest.mark.parametrize("mark", ["\x00", "\x07", "\x1b", "\x9f", "\uffff", "\ud800"])
def test_what_no_workbook_can_hold_is_no_text(mark):
    with pytest.raises(CellError, match="holds a character that is not text"):
        clean_text(f"Al{mark}ba")
