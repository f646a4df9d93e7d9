"""The one writer that turns a sheet of plain values into a styled, printable page."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping
from datetime import date
from itertools import zip_longest
from typing import cast

from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.cell.cell import Cell as PageCell
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from stockopt.report.native_chart import ROW_POINTS, put_chart, rows_covered
from stockopt.report.paging import (
    BOTTOM_MARGIN,
    SIDE_MARGIN,
    TOP_MARGIN,
    PageSoFar,
    page_points,
)
from stockopt.report.sheet import Cell, Chart, Column, Row, Sheet, Table
from stockopt.report.styles import HEADER, HEADING, LEAD, TITLE, Styles
from stockopt.units import Paper

EMPTY_BOX = "☐"
#: Heights in points: a line of text, a row to tick by hand, the title, a heading.
LINE_POINTS = 13.0
TICK_POINTS = 17.0
TITLE_POINTS = 22.0
HEADING_POINTS = 18.0
GROUP_POINTS = LINE_POINTS + 5
#: Rows that a header has below it on its page at least.
FEWEST_ROWS = 3
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
    writer = _Writer(page, sheet, styles, paper)
    writer.line(sheet.title, TITLE, TITLE_POINTS)
    writer.so_far.repeated = writer.so_far.used
    for text in sheet.lead:
        writer.line(text, LEAD)
    writer.above = writer.so_far.used
    headers = [writer.table(table) for table in sheet.tables]
    last_row = writer.row - 1
    if sheet.after:
        writer.row += 1
    for text in sheet.after:
        writer.line(text, LEAD, TICK_POINTS)
    only_table = len(sheet.tables) == 1
    rows = [len(table.rows) for table in sheet.tables]
    frozen = headers[0] if 2 * rows[0] >= sum(rows) else 1
    _arrange_screen(page, sheet, frozen, last_row)
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


def _count_drawn(table: Table) -> int:
    """Return how many rows of a table its chart draws, from the first; 0 without one."""
    if table.chart is None:
        return 0
    return len(table.rows) if table.chart.rows is None else table.chart.rows


def _places(columns: tuple[Column, ...]) -> list[tuple[int, int]]:
    """Return the first and last column of the page that each column takes."""
    places, first = [], 1
    for column in columns:
        places.append((first, first + column.span - 1))
        first += column.span
    return places


class _Writer:
    """A page being filled, and the row it has reached."""

    def __init__(self, page: Worksheet, sheet: Sheet, styles: Styles, paper: Paper) -> None:
        self.page = page
        self.styles = styles
        self.widths = column_widths(sheet.tables)
        #: The program itself repeats the header of an only table on each printed page.
        self.repeats_header = len(sheet.tables) > 1
        self.so_far = PageSoFar(page_points(self.widths, paper, portrait=sheet.portrait))
        self.row = 1
        #: Points above the first table, which stays with them.
        self.above = 0.0
        for number, width in enumerate(self.widths, start=1):
            page.column_dimensions[get_column_letter(number)].width = width

    def line(self, text: str, style: str, least: float = LINE_POINTS) -> None:
        """Write a line of text across the page."""
        self._cell(1, len(self.widths), text, style)
        self._finish_row(self._line_height(text, least))

    def table(self, table: Table) -> int:
        """Write one table below what is there; return the row of its header."""
        begun = self.so_far.used > self.above
        if table.new_page or (begun and self._belongs_on_next_page(table)):
            self._turn_page()
        self._finish_row(LINE_POINTS)
        if table.heading:
            self.line(table.heading, HEADING, HEADING_POINTS)
        for text in table.lead:
            self.line(text, LEAD)
        header = self.row
        self._header(table.columns)
        drawn = _count_drawn(table)
        for number, (row, next_row) in enumerate(zip_longest(table.rows, table.rows[1:])):
            # A header between rows that a chart draws would be drawn as well.
            again = number == 0 or number >= drawn
            self._keep_below_header(row, next_row, table.columns, again=again)
            if row.look == "group":
                self._group(row, table.columns)
            else:
                self._cells(row, table.columns)
        if table.chart is not None:
            self._chart(table, header)
        return header

    def _chart(self, table: Table, header: int) -> None:
        """Put the table's chart beside it or below it, over rows of known height."""
        chart, drawn = cast(Chart, table.chart), _count_drawn(table)
        if not chart.beside:
            if not self.so_far.has_room(LINE_POINTS + ROW_POINTS * rows_covered(chart, drawn)):
                self._turn_page()
            self._finish_row(LINE_POINTS)
        at = header if chart.beside else self.row
        put_chart(self.page, chart, header, header + drawn, at)
        while self.row < at + rows_covered(chart, drawn):
            self._finish_row(ROW_POINTS)

    def _belongs_on_next_page(self, table: Table) -> bool:
        """Return whether a table should not begin here.

        It stays together with its chart where one page holds them; where none does, its header
        does not stand without rows at the foot of a page.
        """
        above = LINE_POINTS + (HEADING_POINTS if table.heading else 0.0)
        above += sum(self._line_height(text, LINE_POINTS) for text in table.lead)
        above += self._header_height(table.columns)
        rows = [self._row_height(row, table.columns) for row in table.rows]
        whole = above + sum(rows)
        if table.chart is not None:
            covered = ROW_POINTS * rows_covered(table.chart, _count_drawn(table))
            if table.chart.beside:  # it begins beside the header
                whole = max(whole, above - self._header_height(table.columns) + covered)
            else:
                whole += LINE_POINTS + covered
        if self.so_far.could_hold(whole):
            return not self.so_far.has_room(whole)
        return not self.so_far.has_room(above + sum(rows[:FEWEST_ROWS]))

    def _keep_below_header(
        self, row: Row, next_row: Row | None, columns: tuple[Column, ...], *, again: bool
    ) -> None:
        """Turn the page before a row that does not fit, and write the header `again`."""
        if not self.repeats_header:
            return
        needed = self._row_height(row, columns)
        if row.look == "group" and next_row is not None:
            needed += self._row_height(next_row, columns)
        if not self.so_far.has_room(needed):
            self._turn_page()
            if again:
                self._header(columns)

    def _turn_page(self) -> None:
        self.page.row_breaks.append(Break(id=self.row - 1))
        self.so_far.turn()

    def _header(self, columns: tuple[Column, ...]) -> None:
        for column, (first, last) in zip(columns, _places(columns), strict=True):
            self._cell(first, last, column.title, HEADER)
        self._finish_row(self._header_height(columns))

    def _header_height(self, columns: tuple[Column, ...]) -> float:
        lines = 1
        for column, (first, last) in zip(columns, _places(columns), strict=True):
            lines = max(lines, lines_needed(column.title, sum(self.widths[first - 1 : last]) - 1))
        return lines * LINE_POINTS + 4

    def _group(self, row: Row, columns: tuple[Column, ...]) -> None:
        last = _places(columns)[-1][1]
        self._cell(1, last, row.cells[0], self.styles.of("text", "group"))
        self._finish_row(GROUP_POINTS)

    def _cells(self, row: Row, columns: tuple[Column, ...]) -> None:
        for column, (first, last), value in zip(columns, _places(columns), row.cells, strict=True):
            box = column.kind == "tick" and row.look == "plain" and value is None
            shown = EMPTY_BOX if box else value
            self._cell(first, last, shown, self.styles.of(column.kind, row.look))
        self._finish_row(self._row_height(row, columns))

    def _row_height(self, row: Row, columns: tuple[Column, ...]) -> float:
        if row.look == "group":
            return GROUP_POINTS
        height = TICK_POINTS if columns[0].kind == "tick" else LINE_POINTS + 2
        for column, (first, last), value in zip(columns, _places(columns), row.cells, strict=True):
            if column.kind == "prose" and isinstance(value, str):
                lines = lines_needed(value, self._room(first, last, value))
                height = max(height, lines * LINE_POINTS + 2)
        return height

    def _line_height(self, text: str, least: float) -> float:
        lines = lines_needed(text, self._room(1, len(self.widths), text))
        return max(least, lines * LINE_POINTS)

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
        self.so_far.add(height)
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
    page.page_margins.left = page.page_margins.right = SIDE_MARGIN
    page.page_margins.top, page.page_margins.bottom = TOP_MARGIN, BOTTOM_MARGIN
    page.page_margins.header = page.page_margins.footer = 0.3
    foot = cast(HeaderFooterItem, page.oddFooter)
    foot.left.text = footer.replace("&", "&&")
    foot.center.text = "&A"
    foot.right.text = "Page &P of &N"
