"""The workbook, opened again: sheets, frozen headers, print settings, no formulas, totals."""

from dataclasses import replace
from datetime import datetime

import openpyxl
import pytest
from report_builders import DEPARTS, make_boat, make_carry, make_order, make_run

from stockopt.report.page import column_widths, lines_needed
from stockopt.report.sheet import Column, Table
from stockopt.report.workbook import sheet_names, write_workbook


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    path = tmp_path_factory.mktemp("book") / "report.xlsx"
    write_workbook(make_run(), path)
    return openpyxl.load_workbook(path)


def cells(page):
    return [cell for row in page.iter_rows() for cell in row]


def find(page, text):
    (cell,) = [cell for cell in cells(page) if cell.value == text]
    return cell


def test_sheets_stand_in_reading_order(book):
    assert book.sheetnames == [
        "At a glance",
        "Stow Heron",
        "Stow Osprey - west",
        "Replace now",
        "Buy",
        "Buy, Far Parts",
        "Buy, Quayside",
        "Calendar",
        "Part lives",
        "Life bars",
        "Every part",
        "Part lives, fit",
        "Part lives, tests",
        "Data notes",
        "How it was worked out",
    ]


def test_no_cell_is_a_formula_or_an_error(book):
    kinds = {cell.data_type for page in book for cell in cells(page)}
    assert kinds <= {"s", "n", "d"}


def test_text_that_looks_like_a_formula_is_marked_as_text(book):
    for page, text in (
        ("Stow Heron", "=BELT"),
        ("Stow Heron", "+Belt, alternator"),
        ("Data notes", "=runs backwards; left out"),
    ):
        cell = find(book[page], text)
        assert cell.data_type == "s"
        assert cell.quotePrefix


@pytest.mark.parametrize("text", ["#N/A", "#REF!", "@home", "-12", "{=1+1}", "1E5", "3-12"])
def test_any_text_comes_back_as_the_same_text(tmp_path, text):
    run = make_run(carry=(make_carry("Heron", "IMP-1", name=text),))
    write_workbook(run, tmp_path / "r.xlsx")
    cell = find(openpyxl.load_workbook(tmp_path / "r.xlsx")["Stow Heron"], text)
    assert cell.data_type == "s"


def test_control_characters_are_dropped(tmp_path):
    run = make_run(carry=(make_carry("Heron", "IMP-1", name="Seal\x07 ring"),))
    write_workbook(run, tmp_path / "r.xlsx")
    assert find(openpyxl.load_workbook(tmp_path / "r.xlsx")["Stow Heron"], "Seal ring")


@pytest.mark.parametrize(
    ("sheet", "header"),
    [
        ("Stow Heron", "Counted"),
        ("Replace now", "Change"),
        ("Buy", "Packs"),
        ("Every part", "Carry"),
        ("Part lives", "Mean life"),
        ("Part lives, fit", "Scale"),
        ("Data notes", "Row"),
    ],
)
def test_headers_of_tables_are_frozen_and_repeated_on_paper(book, sheet, header):
    page = book[sheet]
    row = find(page, header).row
    assert page.freeze_panes.endswith(str(row + 1))
    # A sheet of several tables writes the header of a split one again where a page begins.
    assert page.print_title_rows == ("$1:$1" if sheet == "Stow Heron" else f"$1:${row}")


def test_every_page_prints_whole_on_a4_with_page_numbers(book):
    for page in book:
        upright = page.title.startswith(("Stow ", "At a glance", "Life bars"))
        assert page.page_setup.orientation == ("portrait" if upright else "landscape")
        assert int(page.page_setup.paperSize) == 9
        assert (page.page_setup.fitToWidth, page.page_setup.fitToHeight) == (1, 0)
        assert page.sheet_properties.pageSetUpPr.fitToPage
        last = page.cell(page.max_row, page.max_column).coordinate.strip("0123456789")
        area, _, end = page.print_area.rpartition("$")
        assert area.endswith(f"$A$1:${last}")
        assert int(end) >= page.max_row  # charts stand below the last row
        assert "&P" in page.oddFooter.right.text
        assert page.freeze_panes is not None


def test_only_plain_tables_have_a_filter_and_it_covers_them(book):
    filtered = {page.title: page.auto_filter.ref for page in book if page.auto_filter.ref}
    assert set(filtered) == {
        "Every part",
        "Part lives",
        "Part lives, fit",
        "Part lives, tests",
        "Data notes",
    }
    header = find(book["Every part"], "Carry").row
    assert filtered["Every part"] == f"A{header}:N{header + 6}"


def test_every_cell_of_a_table_has_a_named_style(book):
    for page in book:
        assert all(
            cell.style.startswith("stockopt ") for cell in cells(page) if cell.value is not None
        )


def test_dates_are_dates_and_money_is_a_number_with_the_currency_in_its_sums(book):
    use_by = [cell for cell in cells(book["Stow Heron"]) if cell.data_type == "d"]
    assert [cell.value for cell in use_by] == [datetime(2033, 1, 1)]
    total = [c for c in cells(book["Buy"]) if c.value == 200]
    assert [c.number_format for c in total] == ['#,##0.00 "EUR"_)']
    departs = [
        c for c in cells(book["At a glance"]) if c.value == datetime(*DEPARTS.timetuple()[:3])
    ]
    assert {c.number_format for c in departs} == {"yyyy-mm-dd"}


def test_orders_add_up_to_what_is_spent_now(book):
    page = book["Buy"]
    column = find(page, "Line total, EUR").column
    totals = {"lines": 0.0, "subtotals": 0.0, "all": 0.0}
    for row in page.iter_rows(min_row=5):
        value, style = row[column - 1].value, row[column - 1].style
        for look, kind in (("plain", "lines"), ("subtotal", "subtotals"), ("total", "all")):
            if style == f"stockopt {look} money" and value is not None:
                totals[kind] += value
    assert totals == {"lines": 200.0, "subtotals": 200.0, "all": 200.0}


def test_stow_list_adds_up_and_puts_safety_first(book):
    page = book["Stow Heron"]
    end = find(page, "Locker by locker").row - 1
    rows = page.iter_rows(min_row=6, max_row=end, values_only=True)
    rows = [row for row in rows if row[2] or row[3]]
    assert [row[2] for row in rows] == ["BILGE-2", "IMP-1", "=BELT", "GSK-1", None]
    assert rows[0][3].endswith("(at least 1)")
    for row in rows[:-1]:
        carry, now, aboard, store, order, ashore = (value or 0 for value in row[4:10])
        assert aboard + store + order == carry + now + ashore
    assert sum(row[10] for row in rows[:-1]) == pytest.approx(rows[-1][10])


def test_each_locker_has_its_mass_and_together_they_are_the_boats(book):
    page = book["Stow Heron"]
    start = find(page, "Locker by locker").row + 2
    rows = [row for row in page.iter_rows(min_row=start, values_only=True) if row[2]]
    assert [row[0] for row in rows] == ["A1", "L2", "no locker yet"]
    assert [row[3] for row in rows[:2]] == ["1 x IMP-1", "2 x =BELT"]
    assert sum(row[10] for row in rows) == pytest.approx(0.15 + 0.4 + 0.8 + 0.02)


def test_a_plan_with_nothing_in_it_is_still_a_workbook(tmp_path):
    run = make_run(carry=(), orders=(), charges=(), notes=(), boats=(make_boat("Heron"),))
    run = replace(run, plan=replace(run.plan, cost=replace(run.plan.cost, spend_now=0.0)))
    write_workbook(run, tmp_path / "r.xlsx")
    book = openpyxl.load_workbook(tmp_path / "r.xlsx")
    assert find(book["Buy"], "Nothing to buy.")
    assert find(book["Data notes"], "Nothing doubtful was found.")
    assert find(book["Replace now"], "Nothing: no piece is worth changing before departure.")


def test_unknown_numbers_are_blank(tmp_path):
    run = make_run(
        boats=(make_boat("Heron", kg_limit=None, expected_shortages=float("inf")),),
        orders=(make_order("IMP-1", price=float("nan")),),
    )
    write_workbook(run, tmp_path / "r.xlsx")
    book = openpyxl.load_workbook(tmp_path / "r.xlsx")
    assert all(c.data_type != "e" for page in book for c in cells(page))


def test_names_of_sheets_are_legal_short_and_unique():
    long = "Stow " + "x" * 40
    names = sheet_names(["Stow a/b", "Stow A:B", long, long, "Stow [?*\\]", "'", "Buy", "buy"])
    assert names[:2] == ["Stow a-b", "Stow A-B 2"]
    assert names[2:4] == [long[:31], long[:29] + " 2"]
    assert names[4] == "Stow -----"
    assert names[5] == "Sheet"
    assert names[6:] == ["Buy", "buy 2"]
    assert all(len(name) <= 31 for name in names)


def test_widths_of_tables_that_share_columns():
    narrow = Table(columns=(Column(title="a", width=5), Column(title="b", width=7)), rows=())
    wide = Table(columns=(Column(title="c", width=20, span=2),), rows=())
    assert column_widths((narrow,)) == [5, 7]
    assert column_widths((narrow, wide)) == [9, 11]


@pytest.mark.parametrize(("text", "lines"), [("", 1), ("a b", 1), ("aaaa bbbb", 2), ("a\nb", 2)])
def test_lines_needed(text, lines):
    assert lines_needed(text, 5) == lines
