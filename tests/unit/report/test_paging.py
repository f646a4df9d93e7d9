"""Where printed pages end: tables and charts stay together, headers are written again."""

from dataclasses import replace

import openpyxl
import pytest

from stockopt.report.paging import PageSoFar, page_points
from stockopt.report.sheet import Chart, Column, Sheet, Table, plain_rows
from stockopt.report.workbook import write_sheets

COLUMNS = (
    Column(title="Part", width=40, kind="prose"),
    Column(title="Pieces", width=40, kind="whole"),
    Column(title="Spare", width=40, kind="whole"),
)
CHART = Chart(title="Pieces", across="", up="", kind="columns", labels=1, values=(2,))


def make_table(rows, **changes):
    cells = [(f"P{k}", k, k) for k in range(rows)]
    return Table(columns=COLUMNS, rows=plain_rows(cells), **changes)


def write(tmp_path, *tables, paper="a4"):
    """Return the page, and the rows after which a new printed page begins."""
    sheet = Sheet(name="One", title="One", tables=tables, portrait=True)
    write_sheets([sheet], "EUR", "foot", tmp_path / "one.xlsx", paper)
    page = openpyxl.load_workbook(tmp_path / "one.xlsx")["One"]
    return page, [one.id for one in page.row_breaks.brk]


def test_a_table_that_fits_on_a_page_is_not_split(tmp_path):
    page, ends = write(tmp_path, make_table(40), make_table(30, heading="Second"))
    (end,) = ends
    assert page.cell(end + 2, 1).value == "Second"


def test_two_tables_that_fit_share_a_page(tmp_path):
    assert write(tmp_path, make_table(15), make_table(15))[1] == []


def test_a_chart_goes_with_its_table(tmp_path):
    page, ends = write(tmp_path, make_table(35), make_table(12, heading="Second", chart=CHART))
    (end,) = ends
    assert page.cell(end + 2, 1).value == "Second"
    (chart,) = page._charts
    assert chart.anchor._from.row > end


def test_the_first_table_stays_below_the_title_and_its_chart_goes_where_it_fits(tmp_path):
    page, ends = write(tmp_path, make_table(48, chart=CHART))
    (end,) = ends
    assert end > 48
    (chart,) = page._charts
    assert chart.anchor._from.row == end + 1  # below one blank row


def test_a_long_table_among_others_has_its_header_on_every_page(tmp_path):
    page, ends = write(tmp_path, make_table(3), make_table(150, heading="Long"))
    assert len(ends) >= 2
    assert all(page.cell(end + 1, 1).value == "Part" for end in ends[1:])
    told = [row[0].value for row in page.iter_rows() if str(row[0].value).startswith("P")]
    assert [text for text in told if text != "Part"][3:] == [f"P{k}" for k in range(150)]


@pytest.mark.parametrize(("drawn", "headers"), [(None, 2), (60, 3)])
def test_no_header_is_written_again_between_rows_that_a_chart_draws(tmp_path, drawn, headers):
    chart = replace(CHART, rows=drawn)
    page, ends = write(tmp_path, make_table(3), make_table(110, chart=chart))
    assert len(ends) >= 2
    assert [row[0].value for row in page.iter_rows()].count("Part") == headers
    labels = page._charts[0].series[0].cat.numRef.f.split("!")[1]
    told = [row[0].value for row in page[labels.replace("$", "")]]
    assert told == [f"P{k}" for k in range(drawn or 110)]


def test_an_only_table_leaves_its_pages_to_the_program_and_has_no_header_among_its_rows(tmp_path):
    page, ends = write(tmp_path, make_table(150))
    assert ends == []
    assert [row[0].value for row in page.iter_rows()].count("Part") == 1


def test_a_page_of_letter_holds_less_than_one_of_a4_upright_and_more_sideways():
    holds = {
        (paper, portrait): page_points([130.0], paper, portrait=portrait)
        for paper in ("a4", "letter")
        for portrait in (True, False)
    }
    assert holds["letter", True] < holds["a4", True]
    assert holds["letter", False] > holds["a4", False]


def test_a_row_that_does_not_fit_begins_the_next_page():
    so_far = PageSoFar(holds=100.0, repeated=10.0, used=80.0)
    assert so_far.has_room(20.0)
    assert not so_far.has_room(21.0)
    assert so_far.could_hold(90.0)
    assert not so_far.could_hold(91.0)
    so_far.add(30.0)
    assert so_far.used == 40.0
