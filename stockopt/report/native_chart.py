"""Charts of a sheet, drawn by the spreadsheet program from the cells of one of its tables."""

from __future__ import annotations

import math

from openpyxl.chart import BarChart, LineChart, Reference, ScatterChart, Series
from openpyxl.chart.legend import Legend
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.text import (
    CharacterProperties,
    Paragraph,
    ParagraphProperties,
    RegularTextRun,
)
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from stockopt.report.sheet import Chart

#: Greys and patterns that stay apart in black and white.
SHADES = ("404040", "7F7F7F", "A6A6A6", "C8C8C8", "E4E4E4", "F4F4F4")
DASHES = ("solid", "dash", "sysDot", "dashDot", "lgDash")
#: Size in cm below a table and beside one, and the rows of usual height that a chart covers.
WIDTH_CM, BESIDE_CM, HEIGHT_CM = 24, 15, 6.3
ROWS_COVERED = 12
#: Height in cm of one bar of intervals, of what stands above and below them, and of a row.
BAR_CM, AROUND_CM, ROW_CM = 0.55, 2.8, 0.53
#: Size of its title, in hundredths of a point.
TITLE_SIZE = 1100


def draw_curve(page: Worksheet, chart: Chart, header: int, last: int) -> ScatterChart:
    """Return curves over a column of numbers, a mark at each point; parameters as below."""
    drawn = ScatterChart()
    drawn.title = _title(chart.title)
    drawn.style = 1
    drawn.scatterStyle = "lineMarker"
    drawn.width, drawn.height = WIDTH_CM, HEIGHT_CM
    drawn.x_axis.title, drawn.y_axis.title = chart.across, chart.up
    drawn.x_axis.delete = drawn.y_axis.delete = False
    shares = {number for number in (chart.labels, *chart.values) if _is_share(page, number, last)}
    drawn.x_axis.number_format = "0%" if chart.labels in shares else "#,##0"
    drawn.y_axis.number_format = "0.0%" if chart.values[0] in shares else "#,##0"
    drawn.x_axis.majorGridlines = None
    drawn.x_axis.crosses = drawn.y_axis.crosses = "min"
    over = Reference(page, min_col=chart.labels, min_row=header + 1, max_row=last)
    for number, column in enumerate(chart.values):
        values = Reference(page, min_col=column, min_row=header, max_row=last)
        series = Series(values, over, title_from_data=True)
        series.smooth = False
        series.graphicalProperties = GraphicalProperties()
        series.graphicalProperties.line.solidFill = "000000" if number == 0 else "7F7F7F"
        series.graphicalProperties.line.dashStyle = DASHES[number % len(DASHES)]
        series.graphicalProperties.line.width = 22_000
        series.marker.symbol = "circle"
        series.marker.size = 5
        series.marker.graphicalProperties = GraphicalProperties(solidFill="000000")
        drawn.series.append(series)
    drawn.legend = Legend()
    drawn.legend.position = "b"
    return drawn


def _is_share(page: Worksheet, column: int, row: int) -> bool:
    return "%" in str(page.cell(row, column).number_format)


def rows_covered(chart: Chart, bars: int) -> int:
    """Return how many rows of usual height a chart of so many bars covers."""
    if chart.kind != "intervals":
        return ROWS_COVERED
    return math.ceil((BAR_CM * bars + AROUND_CM) / ROW_CM)


def put_chart(page: Worksheet, chart: Chart, header: int, last: int, at: int) -> None:
    """Put a chart on a page.

    Parameters
    ----------
    page
        Its sheet.
    chart
        What it shows.
    header, last
        Rows of the table's header and of its last row drawn.
    at
        Row at which it stands.
    """
    if chart.kind == "curve":
        page.add_chart(draw_curve(page, chart, header, last), f"A{at}")
        return
    drawn = _begin(chart)
    drawn.title = _title(chart.title)
    drawn.style = 1
    drawn.width = BESIDE_CM if chart.beside else WIDTH_CM
    drawn.height = HEIGHT_CM
    if chart.kind == "intervals":
        drawn.height = BAR_CM * (last - header) + AROUND_CM
        drawn.x_axis.scaling.orientation = "maxMin"  # the first at the top, as in the table
        drawn.y_axis.crosses = "max"
    drawn.x_axis.title, drawn.y_axis.title = chart.across, chart.up
    drawn.x_axis.delete = drawn.y_axis.delete = False
    drawn.y_axis.number_format = "#,##0"
    drawn.y_axis.scaling.min = 0
    for column in chart.values:
        values = Reference(page, min_col=column, min_row=header, max_row=last)
        drawn.add_data(values, titles_from_data=True)
    labels = Reference(page, min_col=chart.labels, min_row=header + 1, max_row=last)
    drawn.set_categories(labels)
    for number, series in enumerate(drawn.series):
        # Of an interval, dark up to the mean and light beyond it.
        place = 3 * (number - 1) if chart.kind == "intervals" else number
        shade = SHADES[place % len(SHADES)]
        if chart.kind == "intervals" and number == 0:
            series.graphicalProperties = GraphicalProperties(noFill=True)
            series.graphicalProperties.line.noFill = True
        elif chart.kind != "lines":
            series.graphicalProperties = GraphicalProperties(solidFill=shade)
            series.graphicalProperties.line.solidFill = "000000"
        else:
            series.smooth = False
            series.graphicalProperties = GraphicalProperties()
            series.graphicalProperties.line.solidFill = "000000" if number == 0 else "7F7F7F"
            series.graphicalProperties.line.dashStyle = DASHES[number % len(DASHES)]
            series.graphicalProperties.line.width = 22_000
    drawn.legend = Legend()
    drawn.legend.position = "b"
    page.add_chart(drawn, f"{get_column_letter(max(chart.beside, 1))}{at}")


def _title(text: str) -> Title:
    """Return a title no larger than the headings of the page."""
    size = CharacterProperties(sz=TITLE_SIZE, b=True)
    run = RegularTextRun(rPr=size, t=text)
    paragraph = Paragraph(pPr=ParagraphProperties(defRPr=size), r=[run])
    return Title(tx=Text(rich=RichText(p=[paragraph])), overlay=False)


def _begin(chart: Chart) -> BarChart | LineChart:
    """Return the empty chart of a kind."""
    if chart.kind == "lines":
        return LineChart()
    drawn = BarChart()
    if chart.kind == "columns":
        drawn.type, drawn.gapWidth = "col", 10
    else:
        drawn.type, drawn.grouping, drawn.overlap = "bar", "stacked", 100
        drawn.gapWidth = 60
    return drawn
