"""One sheet inside a workbook with some cells replaced: the bytes between them stay as they are."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple
from xml.parsers import expat
from xml.sax.saxutils import escape

from openpyxl.utils import column_index_from_string, get_column_letter

#: Row and column, both from 1.
Place = tuple[int, int]


class NewCell(NamedTuple):
    """What is written into one cell: a text, or a number; None blanks it. `style` as numbered."""

    value: str | float | None
    style: str | None = None


class FormulaError(Exception):
    """A cell to be written holds a formula; the message is its place, such as B7."""


@dataclass(slots=True)
class _Cell:
    """Where one cell stands in the bytes, and its style."""

    start: int
    tag_end: int
    style: str | None
    has_formula: bool = False
    end: int = 0


@dataclass(slots=True)
class _Row:
    """Where one row stands in the bytes: all of it, and where its inside ends."""

    number: int
    start: int
    tag_end: int
    inside_end: int = 0
    end: int = 0
    cells: dict[int, _Cell] = field(default_factory=dict)


class SheetXml:
    """The bytes of one sheet, and where its rows and cells stand in them."""

    def __init__(self, data: bytes) -> None:
        found = _Scanner(data)
        self.rows, self.prefix = found.rows, found.prefix
        self._data, self._inside_end = data, found.inside_end
        if _closes_itself(data, found.inside):  # <sheetData/>: opened to take rows
            opened = data[: found.inside - 2].rstrip() + b">"
            self._data = opened + f"</{self.prefix}sheetData>".encode() + data[found.inside :]
            self._inside_end = len(opened)

    def style_of(self, place: Place) -> str | None:
        """Return the style of a cell as the workbook numbers it; None where it has none."""
        row = self.rows.get(place[0])
        cell = row.cells.get(place[1]) if row else None
        return cell.style if cell else None

    def has_formula(self, place: Place) -> bool:
        """Tell whether a cell holds a formula."""
        row = self.rows.get(place[0])
        cell = row.cells.get(place[1]) if row else None
        return cell is not None and cell.has_formula

    def write(self, cells: Mapping[Place, NewCell]) -> bytes:
        """Return the bytes with the cells written in.

        Raises
        ------
        FormulaError
            One of them holds a formula.
        """
        by_row: dict[int, dict[int, NewCell]] = {}
        for place, cell in cells.items():
            if self.has_formula(place):
                raise FormulaError(f"{get_column_letter(place[1])}{place[0]}")
            by_row.setdefault(place[0], {})[place[1]] = cell
        # From the end on, so that the places before stay true; of several new rows the last first.
        pieces = [
            piece
            for number in sorted(by_row, reverse=True)
            for piece in self._splice(number, by_row[number])
        ]
        data = self._data
        for start, end, text in sorted(pieces, key=lambda piece: piece[:2], reverse=True):
            data = data[:start] + text.encode() + data[end:]
        last = max(by_row), max(column for row in by_row.values() for column in row)
        return _extend_dimension(data, last)

    def _splice(self, number: int, cells: Mapping[int, NewCell]) -> list[tuple[int, int, str]]:
        """Return what replaces which bytes for one row."""
        row = self.rows.get(number)
        if row is None:
            later = [other.start for other in self.rows.values() if other.number > number]
            place = min(later, default=self._inside_end)
            inside = "".join(self._cell(number, column, cells[column]) for column in sorted(cells))
            text = f'<{self.prefix}row r="{number}">{inside}</{self.prefix}row>'
            return [(place, place, text)]
        if _closes_itself(self._data, row.tag_end):  # <row/>: opened to take cells
            inside = "".join(self._cell(number, column, cells[column]) for column in sorted(cells))
            opened = self._data[row.start : row.tag_end].decode().rstrip()
            opened = opened.removesuffix("/>").rstrip() + ">"
            return [(row.start, row.end, f"{opened}{inside}</{self.prefix}row>")]
        pieces = []
        new: dict[int, list[str]] = {}
        for column in sorted(cells):
            old = row.cells.get(column)
            text = self._cell(number, column, cells[column], old.style if old else None)
            if old is not None:
                pieces.append((old.start, old.end, text))
            else:
                later = [cell.start for place, cell in row.cells.items() if place > column]
                new.setdefault(min(later, default=row.inside_end), []).append(text)
        # A new cell before an old one that is replaced as well goes with it.
        for start, texts in new.items():
            pieces.append((start, start, "".join(texts)))
        return pieces

    def _cell(self, row: int, column: int, cell: NewCell, style: str | None = None) -> str:
        x, place = self.prefix, f"{get_column_letter(column)}{row}"
        style = cell.style if cell.style is not None else style
        head = f'<{x}c r="{place}"' + (f' s="{style}"' if style is not None else "")
        if cell.value is None or cell.value == "":
            return f"{head}/>"
        if isinstance(cell.value, str):
            text = escape(cell.value)
            return (
                f'{head} t="inlineStr"><{x}is><{x}t xml:space="preserve">{text}'
                f"</{x}t></{x}is></{x}c>"
            )
        return f"{head}><{x}v>{cell.value:.15g}</{x}v></{x}c>"


class _Scanner:
    """Finds every row and cell with expat, which tells where in the bytes it is."""

    def __init__(self, data: bytes) -> None:
        self.rows: dict[int, _Row] = {}
        self.prefix = ""
        self.inside = self.inside_end = 0
        self._data = data
        self._number = self._column = 0
        self._row: _Row | None = None
        self._cell: _Cell | None = None
        self._parser = expat.ParserCreate()
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.Parse(data, True)

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        index, local = self._parser.CurrentByteIndex, name.rpartition(":")[2]
        if local == "sheetData":
            self.prefix = name.removesuffix("sheetData")
            self.inside = self._tag_end(index)
        elif local == "row":
            self._number, self._column = int(attributes.get("r", self._number + 1)), 0
            self._row = _Row(number=self._number, start=index, tag_end=self._tag_end(index))
            self.rows[self._number] = self._row
        elif local == "c" and self._row is not None:
            told = attributes.get("r")
            self._column = _column_of(told) if told else self._column + 1
            self._cell = _Cell(start=index, tag_end=self._tag_end(index), style=attributes.get("s"))
            self._row.cells[self._column] = self._cell
        elif local == "f" and self._cell is not None:
            self._cell.has_formula = True

    def _end(self, name: str) -> None:
        index, local = self._parser.CurrentByteIndex, name.rpartition(":")[2]
        if local == "c" and self._cell is not None:
            self._cell.end, self._cell = self._close(self._cell.tag_end, index), None
        elif local == "row" and self._row is not None:
            self._row.inside_end, self._row.end = index, self._close(self._row.tag_end, index)
            self._row = None
        elif local == "sheetData":
            self.inside_end = index

    def _close(self, tag_end: int, index: int) -> int:
        """Return where an element ends: with its only tag, or with the closing one."""
        return tag_end if _closes_itself(self._data, tag_end) else self._tag_end(index)

    def _tag_end(self, index: int) -> int:
        """Return where the tag that begins here ends; quoted values may hold anything."""
        match = _TAG.match(self._data, index)
        if match is None:
            raise ValueError("not a tag")
        return match.end()


_TAG = re.compile(rb"<(?:[^<>\"']|\"[^\"]*\"|'[^']*')*>")


def _closes_itself(data: bytes, tag_end: int) -> bool:
    return data[tag_end - 2 : tag_end] == b"/>"


def _column_of(reference: str) -> int:
    return int(column_index_from_string(reference.rstrip("0123456789")))


def _extend_dimension(data: bytes, last: Place) -> bytes:
    """Return the bytes with the size told at the head of the sheet, if any, large enough."""
    found = re.search(rb'(<(?:\w+:)?dimension ref=")([A-Z]+\d+)(?::([A-Z]+)(\d+))?(")', data)
    if found is None:
        return data
    first = found[2].decode()
    column, row = (found[3] or b"A").decode(), int(found[4] or 1)
    column = get_column_letter(max(column_index_from_string(column), _column_of(first), last[1]))
    row = max(row, last[0])
    size = f"{first}:{column}{row}".encode()
    return data[: found.start(2)] + size + data[found.start(5) :]
