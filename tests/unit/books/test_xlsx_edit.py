"""Workbooks written again: styles, formulas, charts and other sheets stay."""

import io
import zipfile
from datetime import date, datetime

import openpyxl
import pytest
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table

from stockopt.books.events import Entry
from stockopt.books.sheet_xml import FormulaError, NewCell, SheetXml
from stockopt.books.xlsx_edit import edit_xlsx
from stockopt.errors import StockoptError


def change(row, table="stock", **cells):
    return Entry(table=table, row=row, cells=cells, before={})


def add(table="stock", **cells):
    return change(None, table, **cells)


def make_book(*, epoch=None):
    book = openpyxl.Workbook()
    if epoch is not None:
        book.epoch = epoch
    stock = book.active
    stock.title = "Stock"
    stock.append(["place", "remark", "part", "on hand", "counted_on", "worth"])
    stock.append(["Heron", "mine", "IMP-1", 1, date(2031, 3, 20), "=D2*45"])
    stock.append(["Base", "theirs", 12345, 2, date(2031, 3, 20), "=D3*60"])
    stock["D2"].font = Font(bold=True)
    stock["D3"].number_format = "0.00"
    stock["A3"].fill = PatternFill("solid", fgColor="FFFF00")
    stock.column_dimensions["B"].width = 33
    stock["A1"].comment = Comment("where", "me")
    stock.add_data_validation(DataValidation(type="whole", sqref="D2:D9"))
    stock.freeze_panes = "A2"
    notes = book.create_sheet("My notes")
    notes["B2"] = "=SUM(Stock!D2:D3)"
    notes["B3"] = "keep < & >"
    chart = BarChart()
    chart.add_data(Reference(stock, min_col=4, min_row=1, max_row=3), titles_from_data=True)
    notes.add_chart(chart, "D4")
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def parts_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def without_calculation(data):
    """Return the workbook as a spreadsheet program leaves it: all formulas worked out."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name, part in parts_of(data).items():
            archive.writestr(name, part.replace(b' fullCalcOnLoad="1"', b""))
    return made.getvalue()


def opened(data):
    return openpyxl.load_workbook(io.BytesIO(data))


def test_only_the_sheet_written_changes():
    before = make_book()
    before = without_calculation(before)
    after = edit_xlsx(before, [change(2, on_hand=0, counted_on=date(2031, 4, 2))])
    old, new = parts_of(before), parts_of(after)
    assert list(old) == list(new)
    changed = {name for name in old if old[name] != new[name]}
    assert changed == {"xl/worksheets/sheet1.xml", "xl/workbook.xml"}
    assert b"fullCalcOnLoad" in new["xl/workbook.xml"]
    assert any("chart" in name for name in new)
    stock = opened(after)["Stock"]
    assert stock["D2"].value == 0
    assert stock["D2"].font.bold
    assert stock["E2"].value == datetime(2031, 4, 2)
    assert stock["F2"].value == "=D2*45"
    assert stock["A3"].fill.fgColor.rgb == "00FFFF00"


def test_a_new_row_looks_like_the_one_above():
    after = edit_xlsx(
        make_book(),
        [
            add(place="A & <b>", part="007", on_hand=4, counted_on=date(2031, 4, 2)),
            add(place="Second", part="X", on_hand=5),
        ],
    )
    stock = opened(after)["Stock"]
    assert [cell.value for cell in stock[4]] == [
        "A & <b>",
        None,
        "007",
        4,
        datetime(2031, 4, 2),
        None,
    ]
    assert stock["A4"].fill.fgColor.rgb == "00FFFF00"
    assert stock["D4"].number_format == "0.00"
    assert stock["A5"].value == "Second"
    assert stock.max_row == 5


def test_days_count_from_the_workbooks_own_first_day():
    after = edit_xlsx(
        make_book(epoch=openpyxl.utils.datetime.CALENDAR_MAC_1904),
        [add(place="A", counted_on=date(2031, 4, 2))],
    )
    assert opened(after)["Stock"]["E4"].value == datetime(2031, 4, 2)


def test_days_written_as_text_stay_text():
    book = openpyxl.Workbook()
    book.active.title = "stock"
    book.active.append(["place", "part", "counted_on"])
    book.active.append(["A", "B", "2031-03-01"])
    made = io.BytesIO()
    book.save(made)
    after = edit_xlsx(made.getvalue(), [add(place="C", counted_on=date(2031, 4, 2))])
    assert opened(after)["stock"]["C3"].value == "2031-04-02"


def test_a_formula_is_not_written_over():
    book = openpyxl.load_workbook(io.BytesIO(make_book()))
    book["Stock"]["D2"] = "=1+1"
    made = io.BytesIO()
    book.save(made)
    with pytest.raises(StockoptError, match="cell D2 is a formula"):
        edit_xlsx(made.getvalue(), [change(2, on_hand=0)])


def test_a_missing_column_is_added_with_the_heading_before_it_as_its_look():
    book = openpyxl.load_workbook(io.BytesIO(make_book()))
    book["Stock"]["F1"].font = Font(italic=True)
    made = io.BytesIO()
    book.save(made)
    stock = opened(edit_xlsx(made.getvalue(), [change(3, locker="B 4")]))["Stock"]
    assert (stock["G1"].value, stock["G3"].value) == ("locker", "B 4")
    assert stock["G1"].font.italic


def test_a_missing_sheet_is_added_after_the_others():
    after = edit_xlsx(
        make_book(),
        [add("replacements", on=date(2031, 4, 2), boat="Heron", quantity=2, hours=12.5)],
    )
    book = opened(after)
    assert book.sheetnames == ["Stock", "My notes", "replacements"]
    header, row = book["replacements"].iter_rows(values_only=True)
    told = dict(zip(header, row, strict=True))
    assert told["on"] == "2031-04-02"
    assert (told["quantity"], told["hours"], told["slot"]) == (2, 12.5, None)


def test_a_table_of_the_spreadsheet_program_takes_the_new_row_in():
    book = openpyxl.load_workbook(io.BytesIO(make_book()))
    book["Stock"]["D1"] = "on_hand"
    book["Stock"].add_table(Table(displayName="Spares", ref="A1:F3"))
    made = io.BytesIO()
    book.save(made)
    after = opened(edit_xlsx(made.getvalue(), [add(place="A", part="B")]))
    assert after["Stock"].tables["Spares"].ref == "A1:F4"


@pytest.mark.parametrize(
    ("inside", "wanted"),
    [
        ("<sheetData/>", '<sheetData><row r="3"><c r="B3"><v>7</v></c></row></sheetData>'),
        (
            '<sheetData><row r="3"/></sheetData>',
            '<sheetData><row r="3"><c r="B3"><v>7</v></c></row></sheetData>',
        ),
        (
            '<sheetData><row r="2"><c r="A2"/></row><row r="5" ht="9"/></sheetData>',
            '<sheetData><row r="2"><c r="A2"/></row><row r="3"><c r="B3"><v>7</v></c></row>'
            '<row r="5" ht="9"/></sheetData>',
        ),
        (
            '<sheetData><row r="3" a="&gt;>"><c r="A3" s="4"><v>1</v></c><c r="C3"/></row>'
            "</sheetData>",
            '<sheetData><row r="3" a="&gt;>"><c r="A3" s="4"><v>1</v></c><c r="B3"><v>7</v></c>'
            '<c r="C3"/></row></sheetData>',
        ),
        (
            '<sheetData><row><c/></row><row/><row><c/><c s="2" t="s"><v>0</v></c></row>'
            "</sheetData>",
            '<sheetData><row><c/></row><row/><row><c/><c r="B3" s="2"><v>7</v></c></row>'
            "</sheetData>",
        ),
        (
            '<sheetData><row r="3"><c r="A3"/><c r="B3" s="5" /><c r="C3"/></row></sheetData>',
            '<sheetData><row r="3"><c r="A3"/><c r="B3" s="5"><v>7</v></c><c r="C3"/></row>'
            "</sheetData>",
        ),
    ],
)
def test_the_bytes_between_stay(inside, wanted):
    head = '<?xml version="1.0"?><worksheet xmlns="m"><!-- é --><cols/>'
    xml = SheetXml(f"{head}{inside}<mergeCells/></worksheet>".encode())
    made = xml.write({(3, 2): NewCell(value=7.0)}).decode()
    assert made == f"{head}{wanted}<mergeCells/></worksheet>"


def test_prefixes_of_elements_are_kept_and_sizes_grow():
    text = (
        '<x:worksheet xmlns:x="m"><x:dimension ref="A1:B2"/><x:sheetData><x:row r="1">'
        '<x:c r="A1"><x:f>1</x:f></x:c></x:row></x:sheetData></x:worksheet>'
    )
    xml = SheetXml(text.encode())
    made = xml.write({(4, 3): NewCell(value="a<b")}).decode()
    assert '<x:dimension ref="A1:C4"/>' in made
    assert (
        '<x:row r="4"><x:c r="C4" t="inlineStr"><x:is><x:t xml:space="preserve">a&lt;b</x:t>'
        in made
    )
    with pytest.raises(FormulaError, match="A1"):
        xml.write({(1, 1): NewCell(value=2.0)})
