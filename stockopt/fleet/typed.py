"""From one sheet of text to one table of values: headings found, every cell read."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.errors import Note, Problem
from stockopt.fleet.cells import (
    OR_BLANK,
    CellError,
    clean_text,
    parse_date,
    parse_number,
    parse_share,
)
from stockopt.fleet.columns import Column, ColumnKind, Table
from stockopt.fleet.sheet import Finding, Sheet, word

#: NumPy dtype and blank of each kind of column before its default is filled in.
_STORED: dict[ColumnKind, tuple[str, Any]] = {
    "text": ("str", ""),
    "number": ("float64", np.nan),
    "whole": ("float64", np.nan),
    "share": ("float64", np.nan),
    "date": ("datetime64[us]", np.datetime64("NaT")),
}

#: What a spreadsheet writes into a CSV file after it took a part number for a large number.
_TAKEN_FOR_NUMBER = re.compile(r"\d(\.\d+)?E[+-]\d{2,3}")
#: ... or for a date.
_TAKEN_FOR_DATE = re.compile(
    r"\d{4}-\d\d-\d\d|\d{1,2}/\d{1,2}/\d{2,4}|\d{1,2}-[A-Z][a-z]{2}|[A-Z][a-z]{2}-\d\d"
)


def type_sheet(sheet: Sheet, table: Table) -> tuple[pd.DataFrame, list[Finding]]:
    """Read every cell of a sheet.

    Parameters
    ----------
    sheet
        Text of the cells.
    table
        The table it holds.

    Returns
    -------
    frame
        All columns of the table, in its order; blank where a column is missing, a cell is blank
        or a cell could not be read. Defaults are not yet filled in.
    findings
        Headings and cells that could not be read, and columns that are not of the table.
    """
    findings = list(sheet.findings)
    headings = [word(str(heading)) for heading in sheet.cells.columns]
    findings += _check_headings(sheet, table, headings)
    columns = {}
    for column in table.columns:
        heading = column.find(headings)
        if heading is None:
            dtype, blank = _STORED[column.kind]
            columns[column.name] = pd.Series(blank, index=sheet.cells.index, dtype=dtype)
            continue
        raw = sheet.cells.iloc[:, headings.index(heading)]
        values, found = _read_column(raw, replace(column, name=heading), sheet)
        if column.other is not None and heading == column.other.name:
            values = values * column.other.factor
        columns[column.name] = values
        findings += found
    return pd.DataFrame(columns, index=sheet.cells.index), findings


def empty_table(table: Table) -> pd.DataFrame:
    """Return the table without rows, as for an optional table that was not given."""
    columns = {
        column.name: pd.Series([], dtype=_STORED[column.kind][0]) for column in table.columns
    }
    return pd.DataFrame(columns, index=pd.Index([], dtype="int64", name="row"))


def fill_defaults(frame: pd.DataFrame, table: Table) -> pd.DataFrame:
    """Return the table with its defaults in the blank cells.

    Whole numbers with a default become int64: nothing is left blank in them.
    """
    filled = {}
    for column in table.columns:
        values = frame[column.name]
        if column.default is not None:
            blank = values.eq("") if column.kind == "text" else values.isna()
            values = values.mask(blank, column.default)
            if column.kind == "whole":
                values = values.astype("int64")
        filled[column.name] = values
    return pd.DataFrame(filled, index=frame.index)


def _check_headings(sheet: Sheet, table: Table, headings: list[str]) -> Iterator[Finding]:
    """Find headings that stand twice, are missing, or are not of the table.

    Where none is of the table, something else stands in the first row: that is one problem.
    """
    names = [name for column in table.columns for name in column.headings]
    if not any(difflib.get_close_matches(heading, names, n=1, cutoff=0.8) for heading in headings):
        found = ", ".join(filter(None, (str(heading) for heading in sheet.cells.columns)))
        row = f"row of headings, for '{found}' is none of them" if found else "row"
        expected = (
            f"lacks its first {row}: it must name the columns, such as {', '.join(names[:4])}"
        )
        yield Problem(table=sheet.label, expected=expected)
        return
    for heading in sorted({heading for heading in headings if headings.count(heading) > 1} - {""}):
        yield Problem(
            table=sheet.label,
            column=heading,
            expected="stands more than once in the header: give each column its own heading",
        )
    extra = [heading for heading in headings if heading and heading not in names]
    for column in table.columns:
        if column.find(headings) is not None:
            if len(column.headings) > 1 and all(name in headings for name in column.headings):
                expected = f"says the same as {column.headings[1]}: keep one of the two columns"
                yield Problem(table=sheet.label, column=column.name, expected=expected)
            continue
        near = difflib.get_close_matches(column.name, extra, n=1, cutoff=0.8)
        # As in "Price (EUR)", and where the column cannot be done without in "Price EUR".
        marks = "_(" if not column.required else "_"
        near = near or [heading for heading in extra if heading.startswith(column.name + marks)]
        if column.required:
            meant = f"; is '{near[0]}' meant?" if near else ""
            expected = f"the column is missing: {column.help}{meant}"
            yield Problem(table=sheet.label, column=column.name, expected=expected)
        elif near and not column.is_free_text:
            expected = f"is not a column: rename it to {column.name}, or take it out"
            yield Problem(table=sheet.label, column=near[0], expected=expected)
    if extra:
        yield Note(table=sheet.label, text=f"columns kept out of the plan: {', '.join(extra)}")


def _read_column(
    raw: pd.Series[str], column: Column, sheet: Sheet
) -> tuple[pd.Series[Any], list[Finding]]:
    """Read the cells of one column, each different text once."""
    dtype, blank = _STORED[column.kind]
    parse = _parser(column, sheet)
    codes, texts = pd.factorize(raw.to_numpy(dtype=object))
    values = np.full(len(texts), blank, dtype=object if column.kind == "text" else dtype)
    wrong: dict[int, str] = {}
    for position, text in enumerate(texts):
        try:
            cleaned = clean_text(text)
            if cleaned:
                values[position] = parse(cleaned)
        except CellError as error:
            # A blank would only be the next thing to mend where the cell must be filled in.
            wrong[position] = str(error).replace(OR_BLANK, "" if column.required else OR_BLANK)
    found: list[Finding] = [
        Problem(
            table=sheet.label,
            row=int(raw.index[place]),
            column=column.name,
            value=" ".join(texts[codes[place]].split()),
            expected=wrong[codes[place]],
        )
        for place in np.flatnonzero(np.isin(codes, list(wrong))).tolist()
    ]
    if column.holds == "part":
        found += _note_dates(values, sheet, column)
    return pd.Series(values[codes], index=raw.index, dtype=dtype, name=column.name), found


def _parser(column: Column, sheet: Sheet) -> Callable[[str], object]:
    """Return the function that reads one cell of the column."""
    if column.kind == "date":
        return partial(parse_date, serial_epoch=sheet.serial_epoch)
    if column.kind == "share":
        return partial(parse_share, decimal_comma=sheet.decimal_comma)
    if column.kind in ("number", "whole"):
        return partial(parse_number, decimal_comma=sheet.decimal_comma)
    if column.holds == "part":
        return _part_number
    if column.holds == "currency":
        return _currency_code
    return str.casefold if column.choices else str


def _part_number(text: str) -> str:
    if _TAKEN_FOR_NUMBER.fullmatch(text):
        raise CellError(
            "is a number that the spreadsheet made of a part number: format the column as text "
            "and type it again"
        )
    return text


def _currency_code(text: str) -> str:
    if not re.fullmatch("[A-Za-z]{3}", text):
        raise CellError("is not an ISO 4217 code: write three letters such as EUR")
    return text.upper()


def _note_dates(values: NDArray[Any], sheet: Sheet, column: Column) -> list[Finding]:
    """Note part numbers that look like dates: the spreadsheet may have made them."""
    found = sorted(text for text in values if _TAKEN_FOR_DATE.fullmatch(text))
    return [
        Note(
            table=sheet.label,
            column=column.name,
            text=f"'{text}' was kept as a part number; if the spreadsheet made a date of it, "
            "format the column as text and type it again",
        )
        for text in found
    ]
