"""From the bytes of a workbook to sheets of text."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Collection, Iterator
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Protocol

from openpyxl.workbook import Workbook
from openpyxl.worksheet.formula import ArrayFormula, DataTableFormula

from stockopt.errors import InputError, Note, Problem
from stockopt.fleet.sheet import Finding, Sheet, beyond_header, sheet_of_rows, word

#: What openpyxl raises on a file that is no workbook, cut short, or damaged inside.
_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    OSError,
    EOFError,
    LookupError,
    ValueError,
    TypeError,
    AttributeError,
    SyntaxError,  # ParseError of the XML inside
    RuntimeError,  # parts of the archive are encrypted
)

_WHAT_FILE_IS_RIGHT = (
    "cannot be read as a workbook: open it in the spreadsheet program and save it as .xlsx "
    "without a password"
)
_MADE_OF_PART = "the spreadsheet made of a part number: format the column as text and type it again"
_NOT_CALCULATED = (
    "is a formula that was never calculated: open the workbook in the spreadsheet program "
    "and save it"
)

#: A spreadsheet keeps this many digits of a number.
_DIGITS = 15

Row = tuple[object, ...]


class Opened(Protocol):
    """Opens one workbook: with the last values of its formulas, or with the formulas."""

    def __call__(self, *, data_only: bool) -> AbstractContextManager[Workbook]:
        """Return the open workbook."""


#: Row and column from 0.
Place = tuple[int, int]


def parse_workbook(
    data: bytes, opened: Opened, label: str, part_headings: Collection[str]
) -> dict[str, Sheet]:
    """Turn every sheet of a workbook into text, formulas into their last values.

    Parameters
    ----------
    data
        The .xlsx file.
    opened
        Opens it for reading row by row.
    label
        Its name, for messages.
    part_headings
        Headings of part numbers: there a number or date made by the spreadsheet is a problem.

    Returns
    -------
    dict
        Sheets by title, hidden ones too.

    Raises
    ------
    InputError
        If the file is no workbook or is damaged.
    """
    try:
        with opened(data_only=True) as book:
            epoch = book.epoch
            grids = _grids(book)
    except _DAMAGED:
        raise InputError([Problem(table=label, expected=_WHAT_FILE_IS_RIGHT)]) from None
    spoiled = _spoiled_cells(data, opened, grids, part_headings)
    sheets = {}
    for title, rows in grids.items():
        text = [[_text(value) for value in row] for row in rows]
        findings = _explain(title, rows, spoiled[title])
        if outside := beyond_header(text):
            where = ", ".join(map(str, outside))
            findings.append(
                Note(table=title, text=f"cells beyond the last heading kept out: row {where}")
            )
        sheets[title] = replace(sheet_of_rows(text, title, findings), serial_epoch=epoch)
    return sheets


def _grids(book: Workbook) -> dict[str, list[Row]]:
    """Return the values of every sheet."""
    grids: dict[str, list[Row]] = {}
    for sheet in book.worksheets:
        sheet.reset_dimensions()  # some programs write a wrong size, which would cut the sheet
        grids[sheet.title] = list(sheet.iter_rows(values_only=True))
    return grids


def _text(value: object) -> str:
    """Return the value of a cell as text: 12345.0 as 12345, a date with the year first."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime):
        return str(value).removesuffix(" 00:00:00")
    return str(value)


def _spoiled_cells(
    data: bytes, opened: Opened, grids: dict[str, list[Row]], part_headings: Collection[str]
) -> dict[str, dict[Place, str]]:
    """Return what is wrong with cells whose value says less than the person typed.

    The workbook is read again only where a value is suspicious, for the formula and the number
    format of the cell cost time.
    """
    spoiled: dict[str, dict[Place, str]] = {}
    suspects: dict[str, set[Place]] = {}
    formulas = _formulas(opened) if _has_formulas(data) else {}
    for title, rows in grids.items():
        spoiled[title] = {}
        unknown = {place for place in formulas.get(title, ()) if _value(rows, place) is None}
        suspects[title] = unknown
        for place, value in _part_cells(rows, part_headings):
            if isinstance(value, date | time | timedelta):
                spoiled[title][place] = f"is a date that {_MADE_OF_PART}"
            elif isinstance(value, int | float) and abs(value) >= 10**_DIGITS:
                spoiled[title][place] = f"is a number with digits cut off that {_MADE_OF_PART}"
            elif isinstance(value, int | float) and value % 10 == 0:
                suspects[title].add(place)
    if any(suspects.values()):
        with opened(data_only=True) as book:
            for title, places in suspects.items():
                spoiled[title].update(_look_closer(book, title, places))
    return spoiled


def _has_formulas(data: bytes) -> bool:
    """Tell whether any sheet holds a formula, from the files inside the workbook."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        inside = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return any(re.search(rb"<(\w+:)?f[ >]", archive.read(name)) for name in inside)


def _formulas(opened: Opened) -> dict[str, list[Place]]:
    """Return where each sheet holds formulas."""
    with opened(data_only=False) as book:
        grids = _grids(book)
    return {
        title: [
            (row, column)
            for row, values in enumerate(rows)
            for column, value in enumerate(values)
            if isinstance(value, ArrayFormula | DataTableFormula)
            or (isinstance(value, str) and value.startswith("="))
        ]
        for title, rows in grids.items()
    }


def _value(rows: list[Row], place: Place) -> object:
    row, column = place
    return rows[row][column] if row < len(rows) and column < len(rows[row]) else None


def _part_cells(rows: list[Row], part_headings: Collection[str]) -> Iterator[tuple[Place, object]]:
    """Yield the cells under headings of part numbers."""
    header = next((place for place, row in enumerate(rows) if any(map(_text, row))), len(rows))
    if header == len(rows):
        return
    columns = [
        column for column, value in enumerate(rows[header]) if word(_text(value)) in part_headings
    ]
    for row in range(header + 1, len(rows)):
        for column in columns:
            if column < len(rows[row]):
                yield (row, column), rows[row][column]


def _look_closer(book: Workbook, title: str, places: Collection[Place]) -> dict[Place, str]:
    """Return those of the places that hold no result of a formula, or a number written 1E5."""
    if not places:
        return {}
    spoiled = {}
    sheet = book[title]
    sheet.reset_dimensions()
    for row, cells in enumerate(sheet.iter_rows()):
        for column, cell in enumerate(cells):
            if (row, column) not in places:
                continue
            if cell.value is None and cell.data_type != "str":  # str: its result is no text
                spoiled[row, column] = _NOT_CALCULATED
            elif cell.value is not None and "E+" in cell.number_format.upper():
                spoiled[row, column] = f"is a number that {_MADE_OF_PART}"
    return spoiled


def _explain(title: str, rows: list[Row], spoiled: dict[Place, str]) -> list[Finding]:
    """Return the spoiled cells as problems."""
    header = next((row for row in rows if any(map(_text, row))), ())
    return [
        Problem(
            table=title,
            row=row + 1,
            column=word(_text(header[column])) if column < len(header) else "",
            value=_text(_value(rows, (row, column))),
            expected=expected,
        )
        for (row, column), expected in sorted(spoiled.items())
    ]
