"""The one writer that turns a sheet of plain values into a styled, printable page."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping
from datetime import date
from typing import cast

from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.cell.cell import Cell as PageCell
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from stockopt.report.native_chart import put_chart, rows_covered
from stockopt.report.sheet import Cell, Column, Row, Sheet, Table
from stockopt.report.styles import HEADER, HEADING, LEAD, TITLE, Styles
from stockopt.units import Paper

EMPTY_BOX = "☐"
#: Heights in points: a line of text, a row to tick by hand, the title, a heading.
LINE_POINTS = 13.0
TICK_POINTS = 17.0
TITLE_POINTS = 22.0
HEADING_POINTS = 18.0
#: Letters of the report's font, a digit being 1 wide, on the safe side: widths of columns count
#: digits. What is not listed is 1 wide, capitals and everything outside ASCII wider.
LETTER_WIDTHS = {
    **dict.fromkeys("ijl'|", 0.42),
    **dict.fromkeys("ft.,:;!I/ ()[]-", 0.55),
    **dict.fromkeys("rsckvxyz", 0.92),
    **dict.fromkeys("mwMW%@", 1.65),
}
CAPITAL_WIDTH = 1.3
#: Room left free in case the letters come out wider.
SAFETY = 0.97
#: The numbering of paper sizes that workbooks use.
PAPER_SIZES: Mapping[Paper, int] = {"a4": 9, "letter": 1}


def write_page(
    page: Worksheet, sheet: Sheet, styles: Styles, footer: str, paper: Paper = "a4"
) -> None:
    """Write one sheet: title, lead, tables, closing lines; then what it looks like on paper.

    Parameters
    ----------
    page
        The empty page.
    sheet
        What it says.
    styles
        Named styles of the workbook.
    footer
        Text at the foot of each printed page.
    paper
        What it is printed on.
    """
    writer = _Writer(page, sheet, styles)
    writer.line(sheet.title, TITLE, TITLE_POINTS)
    for text in sheet.lead:
        writer.line(text, LEAD)
    headers = [writer.table(table) for table in sheet.tables]
    last_row = writer.row - 1
    if sheet.after:
        writer.row += 1
    for text in sheet.after:
        writer.line(text, LEAD, TICK_POINTS)
    only_table = len(sheet.tables) == 1
    _arrange_screen(page, sheet, headers[0] if only_table else 1, last_row)
    repeated_rows = f"1:{headers[0]}" if only_table else "1:1"
    _arrange_paper(page, sheet, repeated_rows, footer, writer.row - 1)
    page.page_setup.paperSize = PAPER_SIZES[paper]


def lines_needed(text: str, width: float) -> int:
    """Return how many lines a text takes in a cell of about `width` characters.

    Examples
    --------
    >>> lines_needed("one two three", 8), lines_needed("", 8)
    (2, 1)
    """
    room = max(int(width), 1)
    return sum(max(len(textwrap.wrap(line, room)), 1) for line in (text or " ").splitlines())


def text_width(text: str) -> float:
    """Return about how many digits wide a text is.

    Examples
    --------
    >>> text_width("2031"), text_width("WWF") > text_width("ill")
    (4.0, True)
    """
    return sum(
        LETTER_WIDTHS.get(letter, CAPITAL_WIDTH if letter.isupper() or letter > "~" else 1.0)
        for letter in text
    )


def column_widths(tables: tuple[Table, ...]) -> list[float]:
    """Return the width of each column of a page whose tables share its columns.

    Columns of one table decide first; what a spanning column still lacks is shared out evenly.
    """
    across = max(sum(column.span for column in table.columns) for table in tables)
    widths = [0.0] * across
    spanning = []
    for table in tables:
        for column, (first, last) in zip(table.columns, _places(table.columns), strict=True):
            if first == last:
                widths[first - 1] = max(widths[first - 1], column.width)
            else:
                spanning.append((first, last, column.width))
    for first, last, width in spanning:
        missing = width - sum(widths[first - 1 : last])
        for number in range(first - 1, last):
            widths[number] += max(missing, 0.0) / (last - first + 1)
    return widths


def _places(columns: tuple[Column, ...]) -> list[tuple[int, int]]:
    """Return the first and last column of the page that each column takes."""
    places, first = [], 1
    for column in columns:
        places.append((first, first + column.span - 1))
        first += column.span
    return places


class _Writer:
    """A page being filled, and the row it has reached."""

    def __init__(self, page: Worksheet, sheet: Sheet, styles: Styles) -> None:
        self.page = page
        self.styles = styles
        self.widths = column_widths(sheet.tables)
        self.row = 1
        for number, width in enumerate(self.widths, start=1):
            page.column_dimensions[get_column_letter(number)].width = width

    def line(self, text: str, style: str, least: float = LINE_POINTS) -> None:
        """Write a line of text across the page."""
        self._cell(1, len(self.widths), text, style)
        lines = lines_needed(text, self._room(1, len(self.widths), text))
        self._finish_row(max(least, lines * LINE_POINTS))

    def table(self, table: Table) -> int:
        """Write one table below what is there; return the row of its header."""
        if table.new_page:
            self.page.row_breaks.append(Break(id=self.row))
        self.row += 1
        if table.heading:
            self.line(table.heading, HEADING, HEADING_POINTS)
        for text in table.lead:
            self.line(text, LEAD)
        header, lines = self.row, 1
        for column, (first, last) in zip(table.columns, _places(table.columns), strict=True):
            self._cell(first, last, column.title, HEADER)
            lines = max(lines, lines_needed(column.title, sum(self.widths[first - 1 : last]) - 1))
        self._finish_row(lines * LINE_POINTS + 4)
        for row in table.rows:
            if row.look == "group":
                self._group(row, table.columns)
            else:
                self._cells(row, table.columns)
        if table.chart is not None:
            drawn = len(table.rows) if table.chart.rows is None else table.chart.rows
            at = header if table.chart.beside else self.row + 1
            put_chart(self.page, table.chart, header, header + drawn, at)
            self.row = max(self.row, at + rows_covered(table.chart, drawn))
        return header

    def _group(self, row: Row, columns: tuple[Column, ...]) -> None:
        last = _places(columns)[-1][1]
        self._cell(1, last, row.cells[0], self.styles.of("text", "group"))
        self._finish_row(LINE_POINTS + 5)

    def _cells(self, row: Row, columns: tuple[Column, ...]) -> None:
        height = TICK_POINTS if columns[0].kind == "tick" else LINE_POINTS + 2
        places = _places(columns)
        for column, (first, last), value in zip(columns, places, row.cells, strict=True):
            box = column.kind == "tick" and row.look == "plain" and value is None
            shown = EMPTY_BOX if box else value
            self._cell(first, last, shown, self.styles.of(column.kind, row.look))
            if column.kind == "prose" and isinstance(shown, str):
                lines = lines_needed(shown, self._room(first, last, shown))
                height = max(height, lines * LINE_POINTS + 2)
        self._finish_row(height)

    def _room(self, first: int, last: int, text: str) -> float:
        """Return how many letters like a text's fit from one column to another, margins free."""
        letters_per_digit = len(text) / max(text_width(text), 1.0)
        return SAFETY * letters_per_digit * (sum(self.widths[first - 1 : last]) - 2)

    def _cell(self, first: int, last: int, value: Cell, style: str) -> None:
        """Write one value; join the columns it spans."""
        for number in range(first, last + 1):
            self.page.cell(self.row, number).style = style
        put_value(cast(PageCell, self.page.cell(self.row, first)), value)
        if last > first:
            self.page.merge_cells(
                start_row=self.row, end_row=self.row, start_column=first, end_column=last
            )

    def _finish_row(self, height: float) -> None:
        self.page.row_dimensions[self.row].height = height
        self.row += 1


def put_value(cell: PageCell, value: Cell) -> None:
    """Put a value into a cell so that text stays text and nothing becomes a formula.

    A number that is not finite is left blank; text that looks like a formula or an error word is
    stored as text and marked as such, so that editing it later does not turn it into one.
    """
    if value == "":
        return
    if isinstance(value, str):
        cell.value = ILLEGAL_CHARACTERS_RE.sub("", value)
        cell.data_type = "s"
        if value.startswith(("=", "+", "-", "@")):
            cell.quotePrefix = True
    elif isinstance(value, date) or (value is not None and math.isfinite(value)):
        cell.value = value


def _arrange_screen(page: Worksheet, sheet: Sheet, header: int, last_row: int) -> None:
    """Keep headers in sight; offer a filter on a plain table."""
    page.sheet_view.showGridLines = False
    page.freeze_panes = page.cell(header + 1, sheet.fixed_columns + 1).coordinate
    if sheet.sortable:
        last = get_column_letter(page.max_column)
        page.auto_filter.ref = f"A{header}:{last}{max(last_row, header)}"


def _arrange_paper(
    page: Worksheet, sheet: Sheet, repeated_rows: str, footer: str, last_row: int
) -> None:
    """Fit the page to the width of the paper, repeat its headers, number its pages."""
    page.print_area = f"A1:{get_column_letter(page.max_column)}{max(page.max_row, last_row)}"
    page.print_title_rows = repeated_rows
    page.page_setup.orientation = "portrait" if sheet.portrait else "landscape"
    page.page_setup.fitToWidth = 1
    page.page_setup.fitToHeight = 0
    page.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    page.page_margins.left = page.page_margins.right = 0.4
    page.page_margins.top, page.page_margins.bottom = 0.45, 0.75
    page.page_margins.header = page.page_margins.footer = 0.3
    foot = cast(HeaderFooterItem, page.oddFooter)
    foot.left.text = footer.replace("&", "&&")
    foot.center.text = "&A"
    foot.right.text = "Page &P of &N"
