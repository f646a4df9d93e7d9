"""CSV files as different programs write them."""

import pytest

from stockopt.errors import Note, Problem
from stockopt.fleet.csv_sheet import parse_csv

KNOWN = ["part", "name", "price"]


def read(data):
    return parse_csv(data if isinstance(data, bytes) else data.encode(), "parts.csv", KNOWN)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(separator, end):
    rows = [["part", "name", "price"], ["007", "Seal", "2.5"]]
    sheet = read(end.join(separator.join(row) for row in rows) + end)
    assert sheet.cells.columns.tolist() == rows[0]
    assert sheet.cells.loc[2].tolist() == rows[1]
    assert sheet.decimal_comma == (separator == ";")


def test_the_separator_is_the_one_that_finds_the_headings():
    sheet = read("part;name, noun first;price\n007;Seal, shaft;1,5\n")
    assert sheet.cells.loc[2].tolist() == ["007", "Seal, shaft", "1,5"]
    assert read("sep=;\npart;name;price\n1;2;3\n").cells.index.tolist() == [2]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_with_and_without_mark(encoding):
    sheet = read("part,name\n1,Étoile\n".encode(encoding))
    assert sheet.cells.columns[0] == "part"
    assert sheet.cells.at[2, "name"] == "Étoile"
    assert sheet.findings == ()


def test_windows_text_is_read_with_a_note():
    sheet = read("part,name\n1,Étoile\n".encode("cp1252"))
    assert sheet.cells.at[2, "name"] == "Étoile"
    assert sheet.findings == (
        Note(
            table="parts.csv",
            text="is not UTF-8 and was read as Windows text (cp1252): check letters with accents",
        ),
    )


def test_rows_are_numbered_as_a_spreadsheet_shows_them():
    sheet = read('\npart,name\n\n1,"two\nlines"\n,\n2,Belt\n\n')
    assert sheet.cells.columns.tolist() == ["part", "name"]
    assert sheet.cells.index.tolist() == [4, 6]
    assert sheet.cells.index.name == "row"


def test_short_rows_are_filled_up():
    assert read("part,name,price,\n1\n2,Belt,3,\n").cells.loc[2].tolist() == ["1", "", ""]


def test_cells_beyond_the_header_are_a_problem():
    assert read("part,price\n1,2,50\n").findings == (
        Problem(
            table="parts.csv",
            row=2,
            value="50",
            expected="stands beyond the last heading: write a text that holds the separator "
            "between quotation marks, and numbers with a decimal point",
        ),
    )


@pytest.mark.parametrize("line", ['2,"Hose 3/4" x\n3,Belt', '2,"Hose\n3,Belt'])
def test_a_quotation_mark_astray_swallows_nothing(line):
    sheet = read(f"part,name\n1,Seal\n{line}\n")
    assert sheet.cells.index.tolist() == [2]
    (problem,) = sheet.findings
    assert str(problem) == (
        "parts.csv, row 3: a quotation mark is astray: a cell that holds one is written between "
        'quotation marks, the inner one twice, as in "hose 3/4"""'
    )


def test_a_workbook_called_csv_is_a_problem():
    assert read(b"PK\x03\x04...").findings == (
        Problem(table="parts.csv", expected="is a workbook, not text: save it as CSV (UTF-8)"),
    )


@pytest.mark.parametrize("data", [b"", b"\n\n", b"part,name\n", b"\x00\x00", b"\xff\xfe"])
def test_little_or_nothing_in_the_file(data):
    assert len(read(data).cells) == 0
