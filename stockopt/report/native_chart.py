"""Charts of a sheet, drawn by the spreadsheet program from the cells of one of its tables."""

from __future__ import annotations

import math
from typing import cast

from openpyxl.chart import BarChart, LineChart, Reference, ScatterChart, Series
from openpyxl.chart.axis import TextAxis
from openpyxl.chart.legend import Legend
from openpyxl.chart.series import Series as OneSeries
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, OneCellAnchor
from openpyxl.drawing.text import (
    CharacterProperties,
    Paragraph,
    ParagraphProperties,
    RegularTextRun,
)
from openpyxl.drawing.xdr import XDRPositiveSize2D
from openpyxl.worksheet.worksheet import Worksheet

from stockopt.report.sheet import Chart

#: Greys and patterns that stay apart in black and white.
SHADES = ("404040", "7F7F7F", "A6A6A6", "C8C8C8", "E4E4E4", "F4F4F4")
#: Marks of points, in the order of the curves.
MARKS = ("circle", "diamond", "square", "triangle")
DASHES = ("solid", "dash", "sysDot", "dashDot", "lgDash")
#: Size in cm below a table, and beside one.
WIDTH_CM, HEIGHT_CM = 24, 7.4
BESIDE_CM, BESIDE_HEIGHT_CM = 15, 6.3
#: Height in cm of one bar of intervals, and of what stands above and below them.
BAR_CM, AROUND_CM = 0.55, 2.8
#: ... and of a bar of several values, whose legend may take two lines.
THICK_BAR_CM, LEGEND_CM = 0.9, 0.6
#: Height of a row under a chart, in points.
ROW_POINTS = 15.0
ROW_CM = ROW_POINTS / 72 * 2.54
#: Free to the left of a chart that stands beside its table, in cm.
FREE_CM = 0.4
#: Units of a drawing.
EMU_PER_CM = 360_000
#: Numbers up to this are written with a decimal along a chart.
FEW = 10
#: Size of its title, in hundredths of a point.
TITLE_SIZE = 1100


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
    drawn: BarChart | LineChart | ScatterChart
    if chart.kind == "curve":
        drawn = _draw_curve(page, chart, header, last)
    else:
        drawn = _draw_over_labels(page, chart, header, last)
    corner = AnchorMarker(col=max(chart.beside, 1) - 1, row=at - 1)
    if chart.beside:
        corner.colOff = round(FREE_CM * EMU_PER_CM)
    size = XDRPositiveSize2D(round(drawn.width * EMU_PER_CM), round(drawn.height * EMU_PER_CM))
    drawn.anchor = OneCellAnchor(_from=corner, ext=size)  # type: ignore[assignment] # stub: str
    page.add_chart(drawn)


def rows_covered(chart: Chart, bars: int) -> int:
    """Return how many rows of usual height a chart of so many bars covers."""
    return math.ceil(_height_cm(chart, bars) / ROW_CM)


def _height_cm(chart: Chart, bars: int) -> float:
    if chart.kind == "intervals":
        return BAR_CM * bars + AROUND_CM
    if chart.kind == "stacked":
        return THICK_BAR_CM * bars + AROUND_CM + LEGEND_CM
    return BESIDE_HEIGHT_CM if chart.beside else HEIGHT_CM


def _draw_curve(page: Worksheet, chart: Chart, header: int, last: int) -> ScatterChart:
    """Return curves over a column of numbers, a mark at each point."""
    drawn = ScatterChart()
    drawn.scatterStyle = "lineMarker"
    _set_frame(drawn, chart, last - header)
    first = header + 1
    drawn.x_axis.number_format = _along_format(page, chart.labels, last)
    if _is_share(page, chart.values[0], last):
        shares = [page.cell(row, chart.values[0]).value for row in range(first, last + 1)]
        least = min((share for share in shares if isinstance(share, float)), default=0.0)
        # No finer than a tenth: what lies within the rounding of a plan should look flat.
        drawn.y_axis.scaling.min, drawn.y_axis.scaling.max = max(math.floor(10 * least) / 10, 0), 1
        drawn.y_axis.number_format = "0%"
    else:
        drawn.y_axis.number_format = "#,##0"
    drawn.x_axis.majorGridlines = None
    drawn.x_axis.crosses = drawn.y_axis.crosses = "min"
    over = Reference(page, min_col=chart.labels, min_row=first, max_row=last)
    for number, column in enumerate(chart.values):
        values = Reference(page, min_col=column, min_row=header, max_row=last)
        series = Series(values, over, title_from_data=True)
        _style_line(series, number)
        series.marker.symbol = MARKS[number % len(MARKS)]
        series.marker.size = 5
        series.marker.graphicalProperties = GraphicalProperties(solidFill="000000")
        drawn.series.append(series)
    return drawn


def _along_format(page: Worksheet, column: int, last: int) -> str:
    """Return how the numbers of a rising column are written along a chart."""
    if _is_share(page, column, last):
        return "0%"
    greatest = page.cell(last, column).value
    small = isinstance(greatest, int | float) and greatest < FEW
    return "0.0" if small else "#,##0"


def _is_share(page: Worksheet, column: int, row: int) -> bool:
    return "%" in str(page.cell(row, column).number_format)


def _draw_over_labels(
    page: Worksheet, chart: Chart, header: int, last: int
) -> BarChart | LineChart:
    """Return bars, columns or lines, one for each row."""
    drawn: BarChart | LineChart
    if chart.kind in ("stacked", "intervals"):
        drawn = BarChart()
        drawn.type, drawn.grouping, drawn.overlap = "bar", "stacked", 100
        drawn.gapWidth = 60
    elif chart.kind == "columns":
        drawn = BarChart()
        drawn.type, drawn.gapWidth = "col", 10
    else:
        drawn = LineChart()
    _set_frame(drawn, chart, last - header)
    if chart.kind in ("stacked", "intervals"):
        drawn.x_axis.scaling.orientation = "maxMin"  # the first at the top, as in the table
        drawn.y_axis.crosses = "max"
        cast(TextAxis, drawn.x_axis).tickLblSkip = 1  # every bar is called by its name
    drawn.y_axis.number_format = "#,##0"
    drawn.y_axis.scaling.min = 0
    for column in chart.values:
        values = Reference(page, min_col=column, min_row=header, max_row=last)
        drawn.add_data(values, titles_from_data=True)
    drawn.set_categories(Reference(page, min_col=chart.labels, min_row=header + 1, max_row=last))
    for number, series in enumerate(drawn.series):
        if chart.kind == "lines":
            _style_line(series, number)
        elif chart.kind == "intervals" and number == 0:
            series.graphicalProperties = GraphicalProperties(noFill=True)
            series.graphicalProperties.line.noFill = True
        else:
            # Of an interval, dark up to the mean and light beyond it.
            place = 3 * (number - 1) if chart.kind == "intervals" else number
            shade = SHADES[place % len(SHADES)]
            series.graphicalProperties = GraphicalProperties(solidFill=shade)
            series.graphicalProperties.line.solidFill = "000000"
    return drawn


def _set_frame(drawn: BarChart | LineChart | ScatterChart, chart: Chart, bars: int) -> None:
    """Give a chart its size, titles and legend; none of one series, which its title names."""
    drawn.title = _title(chart.title)
    drawn.style = 1
    drawn.width = BESIDE_CM if chart.beside else WIDTH_CM
    drawn.height = _height_cm(chart, bars)
    drawn.x_axis.title, drawn.y_axis.title = chart.across, chart.up
    drawn.x_axis.delete = drawn.y_axis.delete = False
    drawn.legend = None
    if len(chart.values) > 1:
        drawn.legend = Legend()
        drawn.legend.position = "b"


def _style_line(series: OneSeries, number: int) -> None:
    """Draw a line straight from point to point, told apart by its dashes."""
    series.smooth = False
    series.graphicalProperties = GraphicalProperties()
    series.graphicalProperties.line.solidFill = "000000" if number == 0 else "7F7F7F"
    series.graphicalProperties.line.dashStyle = DASHES[number % len(DASHES)]
    series.graphicalProperties.line.width = 22_000


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
