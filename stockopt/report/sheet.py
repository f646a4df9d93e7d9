"""A sheet as plain values: what it says, before anybody decides how that looks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

Cell = str | int | float | date | None

#: What the cells of a column are; the writer turns each kind into a style.
#: `prose` is text that wraps; `rate` a number that may be small; `tick` a box to tick (none where
#: the cell is ""); `blank` a space to write in by hand.
Kind = Literal[
    "text", "prose", "whole", "number", "rate", "money", "share", "date", "tick", "blank"
]

#: plain; group: a heading inside a table; subtotal and total: sums of rows above.
Look = Literal["plain", "group", "subtotal", "total"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    title
        Its header, with the unit where there is one.
    width
        Room for about this many characters; for all the columns it spans together.
    kind
        What its cells are.
    span
        Columns of the sheet it takes, where tables of different shape share a sheet.
    """

    title: str
    width: float
    kind: Kind = "text"
    span: int = 1


def columns_alike(kind: Kind, width: float, *titles: str) -> tuple[Column, ...]:
    """Return columns that differ in their titles alone.

    Examples
    --------
    >>> [column.title for column in columns_alike("share", 14, "Told", "Seen")]
    ['Told', 'Seen']
    """
    return tuple(Column(title=title, width=width, kind=kind) for title in titles)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: a cell for each column, left to right; a group row has its heading first."""

    cells: tuple[Cell, ...]
    look: Look = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A chart below or beside a table, drawn from the table's own cells.

    Parameters
    ----------
    title, across, up
        What it shows, and what stands on its two axes.
    kind
        Bars of several values end to end, such bars of which the first is only room to the left
        (intervals), lines, upright columns, or curves over a number.
    labels, values
        Columns of the sheet, the first being 1: what each bar or point is called (of a curve, the
        number it stands over), and what is drawn; all of them columns that one column of the
        table takes alone, or begins.
    rows
        Rows of the table that are drawn, from the first; None for all.
    beside
        Column of the sheet from which it stands beside the table; 0 for below it.
    """

    title: str
    across: str
    up: str
    kind: Literal["stacked", "intervals", "lines", "columns", "curve"]
    labels: int
    values: tuple[int, ...]
    rows: int | None = None
    beside: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table with a header row; `heading` and `lead` stand above it, perhaps on a new page."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    heading: str = ""
    lead: tuple[str, ...] = ()
    new_page: bool = False
    chart: Chart | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of the workbook.

    Parameters
    ----------
    name
        On its tab; the writer makes it legal and unique.
    title
        First line.
    lead
        Lines under the title.
    tables
        One below the other.
    after
        Lines below the last table.
    sortable
        True for one plain table that a person may want to filter and sort.
    fixed_columns
        Columns at the left that stay in sight while scrolling.
    portrait
        True to print it upright.
    """

    name: str
    title: str
    lead: tuple[str, ...] = ()
    tables: tuple[Table, ...]
    after: tuple[str, ...] = ()
    sortable: bool = False
    fixed_columns: int = 0
    portrait: bool = False


def plain_rows(rows: Iterable[tuple[Cell, ...]]) -> tuple[Row, ...]:
    """Return each tuple of cells as a plain row.

    Examples
    --------
    >>> plain_rows([("a", 1)])
    (Row(cells=('a', 1), look='plain'),)
    """
    return tuple(Row(cells=cells) for cells in rows)
