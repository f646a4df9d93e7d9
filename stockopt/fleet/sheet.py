"""One table as found, before anything is believed of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

import pandas as pd

from stockopt.errors import Note, Problem

#: What a check finds: a problem stops the run, a note does not.
Finding = Problem | Note


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One CSV file or one sheet of a workbook, as text.

    Parameters
    ----------
    label
        Its name as the person knows it: ``parts.csv``, or the sheet ``parts``.
    cells
        Text of every cell (object dtype), "" where blank; columns are the headings as found, the
        index is the row as a spreadsheet shows it. Wholly blank rows are left out.
    decimal_comma
        Numbers may be written 1.234,50: a semicolon-separated file.
    serial_epoch
        Day 0 of the serial numbers of dates in a workbook; None where there are none.
    findings
        What was found wrong or doubtful while reading the cells.
    too_wide
        Rows of a CSV file with more cells than its first row, though blank ones: in such a row a
        separator may stand inside a text.
    """

    label: str
    cells: pd.DataFrame
    decimal_comma: bool = False
    serial_epoch: datetime | None = None
    findings: tuple[Finding, ...] = ()
    too_wide: frozenset[int] = frozenset()


def word(heading: str) -> str:
    """Return a heading, or the name of a table, as the tables spell it.

    Examples
    --------
    >>> word(" Home Port ")
    'home_port'
    """
    return "_".join(heading.replace("_", " ").replace("-", " ").casefold().split())


def sheet_of_rows(rows: list[list[str]], label: str, findings: Iterable[Finding] = ()) -> Sheet:
    """Return rows of text as a sheet: the first row that is not blank is the header.

    Blank rows are left out, short rows filled up, cells beyond the header dropped.
    """
    filled = [(number, row) for number, row in enumerate(rows, start=1) if any(map(str.strip, row))]
    header = filled[0][1][: _width(filled[0][1])] if filled else []
    body = filled[1:]
    blank = [""] * len(header)
    columns = zip(*((row + blank)[: len(header)] for _, row in body), strict=True)
    cells = pd.DataFrame(
        {
            place: pd.Series(list(column), dtype=object)
            for place, column in enumerate(columns if body else blank)
        }
    )
    cells.columns = pd.Index(header, dtype=object)
    cells.index = pd.Index([number for number, _ in body], dtype="int64", name="row")
    return Sheet(label=label, cells=cells, findings=tuple(findings))


def beyond_header(rows: list[list[str]]) -> dict[int, str]:
    """Return the text that stands beyond the last heading, by row."""
    header = next((row for row in rows if any(map(str.strip, row))), [])
    width = _width(header)
    rests = ((number, row[width:]) for number, row in enumerate(rows, start=1) if len(row) > width)
    return {
        number: " ".join(" ".join(rest).split())
        for number, rest in rests
        if any(map(str.strip, rest))
    }


def _width(header: list[str]) -> int:
    """Return the number of columns up to the last heading."""
    return max((place for place, cell in enumerate(header, start=1) if cell.strip()), default=0)
