"""Tables as plain rows, and the two ways a fleet is kept: a folder of CSV files or a workbook."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

Cell = str | int | float | date | None

#: The workbook says it was made on this day, whenever it is made again.
MADE_ON = datetime(2031, 1, 1)

HEADER_FONT = Font(bold=True)
HEADER_FILL = PatternFill("solid", fgColor="DCE6F1")


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenTable:
    """One table as it is written: column names and rows of cells, None for a blank."""

    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def as_table(columns: str, rows: Iterable[tuple[Cell, ...]]) -> WrittenTable:
    """Return a table from its column names, separated by blanks, and its rows."""
    return WrittenTable(columns=tuple(columns.split()), rows=tuple(rows))


def read_rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file written by hand, each by column name."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def as_number(text: str) -> float | int | None:
    """Return what a cell of a CSV file says: a whole number where it is one, None where blank."""
    if not text:
        return None
    number = float(text)
    return int(number) if number.is_integer() else number


def write_folder(tables: Mapping[str, WrittenTable], settings: str, folder: Path) -> None:
    """Write one CSV file a table, and settings.toml, into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(table.columns)
        writer.writerows([_as_text(cell) for cell in row] for row in table.rows)
        (folder / f"{name}.csv").write_bytes(text.getvalue().encode())
    (folder / "settings.toml").write_bytes(settings.encode())


def write_workbook(tables: Mapping[str, WrittenTable], path: Path) -> None:
    """Write one sheet a table into a workbook whose bytes depend on the tables alone."""
    book = Workbook()
    book.remove(book.worksheets[0])
    book.properties.creator = "stockopt sample fleet"
    book.properties.created = MADE_ON
    for name, table in tables.items():
        _fill_sheet(book.create_sheet(name), table)
    saved = io.BytesIO()
    book.save(saved)
    path.write_bytes(_without_clock(saved.getvalue()))


def _as_text(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float):
        return f"{cell:.4f}".rstrip("0").rstrip(".")
    return cell.isoformat() if isinstance(cell, date) else str(cell)


def _fill_sheet(sheet: Worksheet, table: WrittenTable) -> None:
    sheet.append(table.columns)
    for row in table.rows:
        sheet.append(row)
    formats = [_number_format([row[at] for row in table.rows]) for at in range(len(table.columns))]
    for cells in sheet.iter_rows(min_row=2):
        for cell, number_format in zip(cells, formats, strict=True):
            cell.number_format = "yyyy-mm-dd" if isinstance(cell.value, date) else number_format
    for cell in sheet[1]:
        cell.font, cell.fill = HEADER_FONT, HEADER_FILL
        cell.alignment = Alignment(vertical="top", wrap_text=True)
    for number, name in enumerate(table.columns):
        widest = max([len(name), *(len(_as_text(row[number])) for row in table.rows)])
        sheet.column_dimensions[get_column_letter(number + 1)].width = min(widest + 2, 60)
    sheet.freeze_panes = "A2"


def _number_format(cells: Sequence[Cell]) -> str:
    """Return one format for a column: as many decimals, up to two, as its numbers need."""
    numbers = [cell for cell in cells if cell is not None]
    if not all(isinstance(number, int | float) for number in numbers):
        return "General"
    decimals = max((len(_as_text(number).partition(".")[2]) for number in numbers), default=0)
    return ("0", "0.0", "0.00")[min(decimals, 2)]


def _without_clock(archive: bytes) -> bytes:
    """Return the same workbook with the times of its making replaced by `MADE_ON`.

    Stored, not deflated: compressors differ between machines, and the bytes should not.
    """
    fixed = io.BytesIO()
    stamp = MADE_ON.timetuple()[:6]
    with zipfile.ZipFile(io.BytesIO(archive)) as old, zipfile.ZipFile(fixed, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                content = _with_fixed_modified(content)
            entry = zipfile.ZipInfo(name, date_time=stamp)
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            new.writestr(entry, content)
    return fixed.getvalue()


def _with_fixed_modified(core: bytes) -> bytes:
    """Return the properties with the time of saving, which openpyxl always sets, replaced."""
    before, tag, rest = core.partition(b"<dcterms:modified")
    opening, _, after = rest.partition(b">")
    _, closing, end = after.partition(b"</dcterms:modified>")
    made_on = MADE_ON.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    return before + tag + opening + b">" + made_on + closing + end
