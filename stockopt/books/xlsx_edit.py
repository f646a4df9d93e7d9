"""A workbook with some cells changed and rows added; every other byte of its parts stays."""

from __future__ import annotations

import io
import posixpath
import re
import warnings
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from xml.etree import ElementTree
from xml.sax.saxutils import quoteattr

from openpyxl import load_workbook
from openpyxl.styles.numbers import is_date_format
from openpyxl.worksheet.worksheet import Worksheet

from stockopt.books.events import Entry, Value
from stockopt.books.sheet_xml import FormulaError, NewCell, Place, SheetXml
from stockopt.errors import StockoptError
from stockopt.fleet.columns import Table
from stockopt.fleet.sheet import word
from stockopt.fleet.tables import TABLES

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATED = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_BOOK = "xl/workbook.xml"
_BOOK_LINKS = "xl/_rels/workbook.xml.rels"
_TYPES = "[Content_Types].xml"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """A sheet by both ways to look at it: as openpyxl reads it, and as its bytes."""

    sheet: Worksheet
    xml: SheetXml
    epoch: datetime
    header: int
    last: int


def edit_xlsx(data: bytes, entries: Sequence[Entry]) -> bytes:
    """Return the workbook with the entries written in.

    Parameters
    ----------
    data
        The file. Styles, formulas, pictures, charts and other sheets stay as they are. A new row
        looks like the one above it; formulas are worked out anew when it is next opened.
    entries
        Of any tables. A sheet that is not there is added, and so is a column.

    Raises
    ------
    StockoptError
        A cell to be written holds a formula.
    """
    parts, infos = _unzip(data)
    titles = _find_sheets(parts)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        book = load_workbook(io.BytesIO(data))
    for table in dict.fromkeys(entry.table for entry in entries):
        mine = [entry for entry in entries if entry.table == table]
        title = next((title for title in titles if word(title) == table), None)
        if title is None:
            _add_sheet(parts, TABLES[table], mine)
            continue
        name = titles[title]
        xml = SheetXml(parts[name])
        page = _look_at(book[title], xml, book.epoch)
        cells = _list_cells(page, mine)
        try:
            parts[name] = xml.write(cells)
        except FormulaError as error:
            raise StockoptError(
                f"Sheet {title}, cell {error} is a formula and is not written over: change it by "
                "hand. Nothing was written."
            ) from None
        _extend_tables(parts, name, page, max(place[0] for place in cells))
    parts[_BOOK] = _calculate_anew(parts[_BOOK])
    return _zip(parts, infos)


def _unzip(data: bytes) -> tuple[dict[str, bytes], dict[str, zipfile.ZipInfo]]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        infos = {info.filename: info for info in archive.infolist()}
        return {name: archive.read(name) for name in infos}, infos


def _zip(parts: Mapping[str, bytes], infos: Mapping[str, zipfile.ZipInfo]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(infos.get(name, name), data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def _find_sheets(parts: Mapping[str, bytes]) -> dict[str, str]:
    """Return by title which part of the archive holds each sheet."""
    targets = {
        link.get("Id"): link.get("Target", "")
        for link in ElementTree.fromstring(parts[_BOOK_LINKS])
    }
    found = {}
    for sheet in ElementTree.fromstring(parts[_BOOK]).iter(f"{{{_MAIN}}}sheet"):
        target = targets.get(sheet.get(f"{{{_RELATED}}}id"), "")
        name = target.lstrip("/") if target.startswith("/") else posixpath.join("xl", target)
        if name in parts:
            found[sheet.get("name", "")] = name
    return found


def _look_at(sheet: Worksheet, xml: SheetXml, epoch: datetime) -> _Page:
    """Find the row of the headings and the last row that holds anything."""
    filled = [
        number
        for number, row in enumerate(sheet.iter_rows(values_only=True), start=1)
        if any(value is not None and str(value).strip() for value in row)
    ]
    return _Page(sheet=sheet, xml=xml, epoch=epoch, header=filled[0], last=filled[-1])


def _list_cells(page: _Page, entries: Sequence[Entry]) -> dict[Place, NewCell]:
    """Return every cell to be written; columns that are missing are added after the last."""
    sheet, cells = page.sheet, dict[Place, NewCell]()
    headings = {
        word(str(cell.value)): cell.column
        for cell in sheet[page.header]
        if cell.value is not None and str(cell.value).strip()
    }
    row = page.last
    for entry in entries:
        if entry.row is None:
            row += 1
        at = row if entry.row is None else entry.row
        for name, value in entry.cells.items():
            if name not in headings:
                column = max(headings.values()) + 1
                style = page.xml.style_of((page.header, column - 1))
                cells[page.header, column] = NewCell(value=name, style=style)
                headings[name] = column
            cells[at, headings[name]] = _new_cell(page, (at, headings[name]), value)
    return cells


def _new_cell(page: _Page, place: Place, value: Value) -> NewCell:
    """Return the cell with its own style, else that of the cell above; dates as those above."""
    row, column = place
    style = page.xml.style_of(place)
    if style is None and row > page.last > page.header:
        style = page.xml.style_of((page.last, column))
    if isinstance(value, date):
        like = [place] if row <= page.last else []
        like += [(above, column) for above in range(page.last, page.header, -1)]
        for other in like:
            cell = page.sheet.cell(*other)
            if not isinstance(cell.value, str) and is_date_format(cell.number_format):
                return NewCell(
                    value=float((value - page.epoch.date()).days),
                    style=page.xml.style_of(other),
                )
        return NewCell(value=value.isoformat(), style=style)
    if isinstance(value, int | float):
        return NewCell(value=float(value), style=style)
    return NewCell(value=value or None, style=style)


def _extend_tables(parts: dict[str, bytes], sheet: str, page: _Page, last: int) -> None:
    """Let a table of the spreadsheet program that ended with the last row take in the new ones."""
    if last <= page.last:
        return
    links = posixpath.join(posixpath.dirname(sheet), "_rels", f"{posixpath.basename(sheet)}.rels")
    for link in ElementTree.fromstring(parts[links]) if links in parts else ():
        if not link.get("Type", "").endswith("/table"):
            continue
        target = link.get("Target", "")
        name = posixpath.normpath(
            target.lstrip("/")
            if target.startswith("/")
            else posixpath.join(posixpath.dirname(sheet), target)
        )
        if b"totalsRowCount" not in parts.get(name, b"totalsRowCount"):
            parts[name] = re.sub(
                rb'(\bref="[A-Z]+\d+:[A-Z]+)%d"' % page.last, rb"\g<1>%d" % last + b'"', parts[name]
            )


def _calculate_anew(book: bytes) -> bytes:
    """Ask the spreadsheet program to work all formulas out when it opens the workbook."""
    if b"fullCalcOnLoad" in book:
        return book
    return re.sub(rb"(<(?:\w+:)?calcPr\b)", rb'\1 fullCalcOnLoad="1"', book, count=1)


def _add_sheet(parts: dict[str, bytes], table: Table, entries: Sequence[Entry]) -> None:
    """Add a sheet of the table, its headings and the entries, after the others."""
    number = 1
    while f"xl/worksheets/sheet{number}.xml" in parts:
        number += 1
    name = f"xl/worksheets/sheet{number}.xml"
    empty = (
        f'<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'
    )
    headings = [column.name for column in table.columns]
    cells = {(1, place): NewCell(value=heading) for place, heading in enumerate(headings, start=1)}
    for row, entry in enumerate(entries, start=2):
        for heading, value in entry.cells.items():
            told = value.isoformat() if isinstance(value, date) else value
            place = row, headings.index(heading) + 1
            cells[place] = NewCell(value=float(told) if isinstance(told, int) else told)
    parts[name] = SheetXml(empty.encode()).write(cells)
    links = parts[_BOOK_LINKS].decode()
    ids = [int(found) for found in re.findall(r'Id="rId(\d+)"', links)]
    link = f"rId{max(ids, default=0) + 1}"
    parts[_BOOK_LINKS] = _insert(
        links,
        "Relationships",
        f'<%sRelationship Id="{link}" Type="{_RELATED}/worksheet" Target="/{name}"/>',
    )
    book = parts[_BOOK].decode()
    sheet_ids = [int(found) for found in re.findall(r'sheetId="(\d+)"', book)]
    prefix = re.search(rf'xmlns:(\w+)="{re.escape(_RELATED)}"', book)
    parts[_BOOK] = _insert(
        book,
        "sheets",
        f'<%ssheet name={quoteattr(table.name)} sheetId="{max(sheet_ids, default=0) + 1}" '
        f'{prefix[1] if prefix else "r"}:id="{link}"'
        + ("" if prefix else f' xmlns:r="{_RELATED}"')
        + "/>",
    )
    parts[_TYPES] = _insert(
        parts[_TYPES].decode(),
        "Types",
        f'<%sOverride PartName="/{name}" ContentType="{_SHEET_TYPE}"/>',
    )


def _insert(text: str, parent: str, child: str) -> bytes:
    """Return the text with a child added at the end of its parent; %s takes the prefix."""
    found = re.search(rf"</((?:\w+:)?){parent}>", text)
    if found is None:
        raise StockoptError("The workbook cannot take a new sheet: add it there by hand.")
    return (text[: found.start()] + child % found[1] + text[found.start() :]).encode()
