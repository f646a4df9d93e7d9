"""A fleet to fill in as a workbook: help, lists to choose from, formats of days."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from stockopt.fleet.columns import Column
from stockopt.fleet.tables import HELP_SHEET
from stockopt.report.page import LINE_POINTS, lines_needed
from stockopt.report.start_forms import Form, describe, describe_rate
from stockopt.report.styles import FONT, FORMATS, HEADER, LEAD, TITLE, Styles

#: Rows to which lists and formats reach.
_LAST_ROW = 2000
#: A spreadsheet shows no more of a message.
_LONGEST_MESSAGE = 250
#: A list in a cell is written out only while it is short.
_LONGEST_LIST = 250
_FIRST_DAY = "1950-01-01"

_PLAIN, _BOLD = Font(name=FONT, size=10), Font(name=FONT, size=10, bold=True)

#: Where the names are that a column of such names can be chosen from.
_NAMED_IN: Mapping[str, tuple[str, str]] = {
    "boat": ("boats", "boat"),
    "machine": ("machines", "machine"),
    "model": ("machines", "model"),
    "part": ("parts", "part"),
    "port": ("ports", "port"),
    "source": ("sources", "source"),
}


def write_start_workbook(
    forms: tuple[Form, ...], settings: tuple[tuple[Column, object], ...], path: Path
) -> None:
    """Write the workbook to `path`."""
    book = Workbook()
    book.remove(book.worksheets[0])
    Styles(book, "")  # adds the named styles
    _write_help(book.create_sheet(HELP_SHEET), forms)
    ranges = _list_ranges(forms)
    for form in forms:
        _write_form(book.create_sheet(form.name), form, ranges)
    _write_settings(book.create_sheet("settings"), settings)
    book.save(path)


def _list_ranges(forms: tuple[Form, ...]) -> dict[str, tuple[tuple[str, str], str]]:
    """Return by what a column holds: the table and column that define it, and their cells."""
    ranges: dict[str, tuple[tuple[str, str], str]] = {}
    for form in forms:
        for number, column in enumerate(form.columns, 1):
            if _NAMED_IN.get(column.holds) == (form.name, column.name):
                letter = get_column_letter(number)
                cells = f"{form.name}!${letter}$2:${letter}${_LAST_ROW}"
                ranges[column.holds] = ((form.name, column.name), cells)
    return ranges


def _write_form(
    sheet: Worksheet, form: Form, ranges: Mapping[str, tuple[tuple[str, str], str]]
) -> None:
    sheet.freeze_panes = "A2"
    for number, column in enumerate(form.columns, 1):
        letter = get_column_letter(number)
        told = describe(column)
        cell = sheet.cell(row=1, column=number, value=column.name)
        cell.style = HEADER
        cell.comment = Comment(told, "stockopt", width=260, height=90)
        size = sheet.column_dimensions[letter]
        size.width = max(12, len(column.name) + 4, 24 if column.is_free_text else 0)
        size.number_format = _format(column)
        where, cells = ranges.get(column.holds, (None, ""))
        names = "" if where == (form.name, column.name) else cells
        rule = _rule(column, names)
        rule.promptTitle = column.name[:32]
        rule.prompt = told[:_LONGEST_MESSAGE]
        rule.showInputMessage = True
        rule.add(f"{letter}2:{letter}{_LAST_ROW}")
        sheet.add_data_validation(rule)
    _print_wide(sheet)


def _format(column: Column) -> str:
    """Return the format of a column's cells: names stay text, so that 0042 keeps its zeros."""
    if column.kind == "text":
        return "@"
    return FORMATS["date"] if column.kind == "date" else "General"


def _rule(column: Column, names: str) -> DataValidation:
    """Return what may be typed; a name not yet listed only warns."""
    listed = '"' + ",".join(column.choices) + '"'
    if column.choices and len(listed) <= _LONGEST_LIST:
        rule = DataValidation(type="list", formula1=listed)
        rule.error = f"one of {', '.join(column.choices)}"[:_LONGEST_MESSAGE]
    elif names:
        rule = DataValidation(type="list", formula1=names, errorStyle="warning")
        rule.error = f"no such {column.holds} is listed yet"
    elif column.kind == "date":
        rule = DataValidation(type="date", operator="greaterThan", formula1=_serial(_FIRST_DAY))
        rule.error = "a day, such as 2031-04-01"
    elif column.kind == "whole":
        rule = _at_least(column, "whole", "a whole number")
    elif column.kind == "share":
        rule = DataValidation(type="decimal", operator="between", formula1="0", formula2="1")
        rule.error = "a share, such as 0.05 or 5%"
    elif column.kind == "number":
        rule = _at_least(column, "decimal", "a number")
    else:
        return DataValidation(allow_blank=True)
    rule.allow_blank = True
    rule.showErrorMessage = True
    rule.errorTitle = column.name[:32]
    return rule


def _at_least(column: Column, kind: Literal["whole", "decimal"], words: str) -> DataValidation:
    above = column.above is not None
    least = (column.above if above else column.least) or 0.0
    rule = DataValidation(
        type=kind,
        operator="greaterThan" if above else "greaterThanOrEqual",
        formula1=f"{least:g}",
    )
    rule.error = f"{words} {'above' if above else 'of at least'} {least:g}"
    return rule


def _serial(day: str) -> str:
    """Return a day as a formula, which a rule of a spreadsheet needs."""
    year, month, number = day.split("-")
    return f"DATE({year},{int(month)},{int(number)})"


def _write_help(sheet: Worksheet, forms: tuple[Form, ...]) -> None:
    widths = (16, 20, 80)
    for letter, width in zip("ABC", widths, strict=True):
        sheet.column_dimensions[letter].width = width
    sheet["A1"] = "How to fill in this workbook"
    sheet["A1"].style = TITLE
    sheet["A1"].alignment = Alignment(wrap_text=False)
    for row, line in enumerate(
        (
            "One row a boat, machine, part ... below the header of each sheet; sheets left empty "
            "are fine where not marked as needed.",
            "Stand on a cell to see what goes in; many have a list to choose from. This sheet is "
            "not read.",
            "When done: stockopt check WORKBOOK, then stockopt plan WORKBOOK.",
        ),
        2,
    ):
        sheet.cell(row=row, column=1, value=line).style = LEAD
        sheet.cell(row=row, column=1).alignment = Alignment(wrap_text=False)
    for number, title in enumerate(("sheet", "column", "what goes in"), 1):
        sheet.cell(row=6, column=number, value=title).style = HEADER
    row = 7
    for form in forms:
        needed = " (needed)" if form.required else ""
        named = sheet.cell(row=row, column=1, value=f"{form.name}{needed}")
        named.alignment, named.font = Alignment(vertical="top"), _BOLD
        _write_wrapped(sheet, row, form.help, widths[-1]).font = _BOLD
        row += 1
        for column in form.columns:
            name = sheet.cell(row=row, column=2, value=column.name)
            name.alignment, name.font = Alignment(vertical="top"), _PLAIN
            _write_wrapped(sheet, row, describe(column), widths[-1])
            row += 1
    sheet.freeze_panes = "A7"
    _print_wide(sheet)
    sheet.print_title_rows = "6:6"


def _write_wrapped(sheet: Worksheet, row: int, text: str, width: float) -> Cell:
    """Write a text into the third column, in a row as high as its lines.

    Not every spreadsheet program fits the height of a row that another program wrote.
    """
    cell: Cell = sheet.cell(row=row, column=3, value=text)
    cell.alignment, cell.font = Alignment(wrap_text=True, vertical="top"), _PLAIN
    # Bold letters are about a tenth wider than those that widths of columns count.
    sheet.row_dimensions[row].height = LINE_POINTS * lines_needed(text, 0.9 * width) + 2
    return cell


def _write_settings(sheet: Worksheet, settings: tuple[tuple[Column, object], ...]) -> None:
    for number, title in enumerate(("setting", "value", "what it is"), 1):
        sheet.cell(row=1, column=number, value=title).style = HEADER
    widths = (18, 18, 90)
    for letter, width in zip("ABC", widths, strict=True):
        sheet.column_dimensions[letter].width = width
    rows = [(column, default, column.help) for column, default in settings]
    for row, (column, default, told) in enumerate(rows, 2):
        sheet.cell(row=row, column=1, value=column.name).alignment = Alignment(vertical="top")
        value = sheet.cell(row=row, column=2)
        value.alignment = Alignment(horizontal="left", vertical="top")
        value.number_format = _format(column)
        shown = f"{default:g}" if isinstance(default, float) else default
        blank = "" if default is None or "blank =" in told else f"; blank = {shown}"
        _write_wrapped(sheet, row, told + blank, widths[-1])
    last = len(rows) + 2
    told = f"for a rate write rates.USD here, with its own three letters: {describe_rate()}"
    _write_wrapped(sheet, last, told, widths[-1])
    sheet.freeze_panes = "A2"
    _print_wide(sheet)


def _print_wide(sheet: Worksheet) -> None:
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:1"
