"""One table as found, before anything is believed of it."""

from __future__ import annotations

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
        Text of every cell, "" where blank; columns are the headings as found, the index is the
        row as a spreadsheet shows it. Wholly blank rows are left out.
    decimal_comma
        Numbers may be written 1.234,50: a semicolon-separated file.
    serial_epoch
        Day 0 of the serial numbers of dates in a workbook; None where there are none.
    findings
        What was found wrong or doubtful while reading the cells.
    """

    label: str
    cells: pd.DataFrame
    decimal_comma: bool = False
    serial_epoch: datetime | None = None
    findings: tuple[Finding, ...] = ()


def word(heading: str) -> str:
    """Return a heading, or the name of a table, as the tables spell it.

    Examples
    --------
    >>> word(" Home Port ")
    'home_port'
    """
    return "_".join(heading.replace("_", " ").replace("-", " ").casefold().split())
