"""A CSV file with some cells changed and rows added; everything else byte for byte as it was."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from stockopt.books.events import Entry, Value, as_text
from stockopt.errors import StockoptError
from stockopt.fleet.columns import Table
from stockopt.fleet.csv_sheet import Dialect, find_dialect
from stockopt.fleet.sheet import word

#: One record: its cells as written, quotation marks and all, and the end of its line.
Record = tuple[list[str], str]


def edit_csv(data: bytes, label: str, table: Table, entries: Sequence[Entry]) -> bytes:
    """Return the file with the entries of its table written in.

    Parameters
    ----------
    data
        The file; whoever wrote it, its encoding, marks, separator and line ends stay.
    label
        Its name, for messages.
    table
        What it holds.
    entries
        Of this table. A column that is not there is added at the end.

    Raises
    ------
    StockoptError
        The text cannot be written in the file's alphabet, or not without loss.
    """
    known = [column.name for column in table.columns]
    dialect, text = find_dialect(data, known)
    if (dialect.lead + text).encode(dialect.encoding, errors="replace") != data:
        raise StockoptError(f"{label} cannot be written again without loss: save it as UTF-8.")
    records = list(_split(text, dialect.separator))
    header = next(i for i, (cells, _) in enumerate(records) if any(map(str.strip, cells)))
    end = next((end for _, end in records if end), "\n")
    places = _find_places(records, header, entries, dialect)
    width = 1 + max(places.values())
    for entry in entries:
        written = {places[name]: _write(value, dialect) for name, value in entry.cells.items()}
        if entry.row is not None:
            _change(records[entry.row - 1][0], written)
            continue
        cells = [""] * max(width, len(records[header][0]))
        _change(cells, written)
        _append(records, cells, end)
    text = "".join(dialect.separator.join(cells) + ending for cells, ending in records)
    try:
        return (dialect.lead + text).encode(dialect.encoding)
    except UnicodeEncodeError as error:
        letter = text[error.start : error.end] if error.start < len(text) else ""
        raise StockoptError(
            f"{label} is not UTF-8 and cannot hold '{letter}': save it as CSV (UTF-8) first."
        ) from None


def new_csv(table: Table, entries: Sequence[Entry]) -> bytes:
    """Return a new file of the table with its headings and the entries, as UTF-8 with commas."""
    header = ",".join(column.name for column in table.columns) + "\n"
    return edit_csv(header.encode(), f"{table.name}.csv", table, entries)


def _split(text: str, separator: str) -> Iterator[Record]:
    """Yield every record with its cells as written; quoted cells may hold anything."""
    cells, start, quoted, place = list[str](), 0, False, 0
    while place < len(text):
        letter = text[place]
        if quoted:
            quoted = letter != '"'
        elif letter == '"' and (place == start or text[place - 1] == '"'):
            # At the start of a cell, or the second of two within one.
            quoted = True
        elif letter == separator:
            cells.append(text[start:place])
            start = place + 1
        elif letter in "\r\n":
            ending = "\r\n" if text.startswith("\r\n", place) else letter
            yield [*cells, text[start:place]], ending
            cells, place = [], place + len(ending) - 1
            start = place + 1
        place += 1
    if start < len(text) or cells:
        yield [*cells, text[start:]], ""


def _find_places(
    records: list[Record], header: int, entries: Sequence[Entry], dialect: Dialect
) -> dict[str, int]:
    """Return where each column stands; headings that are missing are added after the last one."""
    cells = records[header][0]
    while cells and not cells[-1].strip():
        cells.pop()
    places = {word(cell.strip().strip('"')): place for place, cell in enumerate(cells)}
    for entry in entries:
        for name in entry.cells:
            if name not in places:
                places[name] = len(cells)
                cells.append(_quote(name, dialect.separator))
    return places


def _change(cells: list[str], written: Mapping[int, str]) -> None:
    for place, text in written.items():
        cells += [""] * (place + 1 - len(cells))
        cells[place] = text


def _append(records: list[Record], cells: list[str], end: str) -> None:
    """Add a record after the last that is not blank."""
    last = max(i for i, (there, _) in enumerate(records) if any(map(str.strip, there)))
    before, ending = records[last]
    records[last] = before, ending or end
    records.insert(last + 1, (cells, end))


def _write(value: Value, dialect: Dialect) -> str:
    text = as_text(value)
    if isinstance(value, float) and dialect.separator == ";":
        text = text.replace(".", ",")
    return _quote(text, dialect.separator)


def _quote(text: str, separator: str) -> str:
    if any(letter in text for letter in (separator, '"', "\r", "\n")):
        return '"' + text.replace('"', '""') + '"'
    return text
