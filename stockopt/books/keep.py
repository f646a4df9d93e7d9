"""Keeping the books: one event into the tables of a fleet, whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from stockopt.books.csv_edit import edit_csv, new_csv
from stockopt.books.entries import make_entries
from stockopt.books.events import Entry, Event, as_text
from stockopt.books.lock import locked, make_moves, note_moves
from stockopt.books.xlsx_edit import edit_xlsx
from stockopt.errors import Note, StockoptError
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.read import read_fleet, read_sheets
from stockopt.fleet.sheet import Sheet
from stockopt.fleet.tables import TABLES
from stockopt.lives.build import build_lives

#: How long to wait for somebody else who writes, in seconds.
WAIT_SECONDS = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What was written, or would be.

    Parameters
    ----------
    lines
        Each row changed or added, in words.
    remarks
        What the person should know of it.
    doubts
        Doubtful things that were not there before.
    previous
        Where the previous version of each file is kept; empty where nothing was written.
    """

    lines: tuple[str, ...]
    remarks: tuple[str, ...]
    doubts: tuple[Note, ...]
    previous: tuple[Path, ...]


def keep_books(
    path: Path,
    event: Event,
    *,
    dry_run: bool = False,
    take_over: bool = False,
    wait_seconds: float = WAIT_SECONDS,
) -> Kept:
    """Write one event into the tables of a fleet.

    Parameters
    ----------
    path
        Folder of CSV files, or workbook.
    event
        What happened.
    dry_run
        True to work everything out and write nothing.
    take_over
        True to go on where somebody else began to write and, as the person says, never ended.
    wait_seconds
        How long to wait for somebody else who writes.

    Returns
    -------
    Kept
        The tables are checked before and after, as ``stockopt check`` does. Each file is written
        beside its place and moved in; its previous version stays beside it as
        ``<file>.<time>.bak``, which no command reads.

    Raises
    ------
    InputError
        The tables were not in order, or would not be; nothing was written.
    CommandError, StockoptError
        See :func:`~stockopt.books.entries.make_entries` and :func:`~stockopt.books.lock.locked`;
        or a file is open in another program, or was changed by one meanwhile.
    OSError
        A file cannot be read or written.
    """
    path = path.resolve()
    if dry_run:
        return _work(path, event, None)
    read_sheets(path)  # a lock is never left beside what is no fleet
    with locked(path, wait_seconds=wait_seconds, take_over=take_over) as lock:
        return _work(path, event, lock)


def _work(path: Path, event: Event, lock: Path | None) -> Kept:
    fleet, sheets = read_fleet(path), read_sheets(path)
    made = make_entries(event, fleet, sheets)
    old = _read_files(path, made.entries, sheets)
    new = _edit(path, old, made.entries, sheets)
    doubts = _check(path, new, fleet)
    lines = tuple(_describe(entry, sheets, path) for entry in made.entries)
    remarks = (*made.remarks, *_tell_late(event, fleet))
    previous = () if lock is None else _write(path, old, new, lock)
    return Kept(lines=lines, remarks=remarks, doubts=doubts, previous=previous)


def _file_of(path: Path, table: str, sheets: Mapping[str, Sheet]) -> Path:
    if not path.is_dir():
        return path
    sheet = sheets.get(table)
    return path / (f"{table}.csv" if sheet is None else sheet.label)


def _read_files(
    path: Path, entries: tuple[Entry, ...], sheets: Mapping[str, Sheet]
) -> dict[Path, bytes | None]:
    """Return what the files to be changed hold; None for one that is not there."""
    files = dict.fromkeys(_file_of(path, entry.table, sheets) for entry in entries)
    return {file: file.read_bytes() if file.exists() else None for file in files}


def _edit(
    path: Path,
    old: Mapping[Path, bytes | None],
    entries: tuple[Entry, ...],
    sheets: Mapping[str, Sheet],
) -> dict[Path, bytes]:
    new = {}
    for file, data in old.items():
        mine = [entry for entry in entries if _file_of(path, entry.table, sheets) == file]
        if not path.is_dir():
            new[file] = edit_xlsx(data or b"", mine)
        elif data is None:
            new[file] = new_csv(TABLES[mine[0].table], mine)
        else:
            new[file] = edit_csv(data, file.name, TABLES[mine[0].table], mine)
    return new


def _check(path: Path, new: Mapping[Path, bytes], before: Fleet) -> tuple[Note, ...]:
    """Read the fleet as it would be, and return what is doubtful only then."""
    with tempfile.TemporaryDirectory() as folder:
        beside = Path(folder) / path.name
        if path.is_dir():
            beside.mkdir()
            for file in path.iterdir():
                if file.is_file() and file.suffix.lower() in (".csv", ".toml"):
                    shutil.copyfile(file, beside / file.name)
        for file, data in new.items():
            target = beside / file.name if path.is_dir() else beside
            target.write_bytes(data)
        after = read_fleet(beside)
        notes = {*after.notes, *build_lives(after).notes}
    known = {(note.table, note.column, note.text) for note in before.notes}
    known |= {(note.table, note.column, note.text) for note in build_lives(before).notes}
    return tuple(
        sorted(
            (note for note in notes if (note.table, note.column, note.text) not in known),
            key=lambda note: (note.table, note.row or 0, note.text),
        )
    )


def _write(
    path: Path, old: Mapping[Path, bytes | None], new: Mapping[Path, bytes], lock: Path
) -> tuple[Path, ...]:
    """Put the new files in place, the old ones kept beside them."""
    for file in new:
        _refuse_open(file)
    stamp = datetime.now().strftime("%Y%m%d-%H%M%S-%f")
    moves, previous = [], []
    try:
        for file, data in new.items():
            beside = file.with_name(f".{file.name}.{stamp}.new")
            moves.append((beside, file))
            with beside.open("wb") as made:
                made.write(data)
                made.flush()
                os.fsync(made.fileno())
            if old[file] is not None:
                shutil.copymode(file, beside)
                kept = file.with_name(f"{file.name}.{stamp}.bak")
                shutil.copy2(file, kept)
                previous.append(kept)
        for file, data_before in old.items():
            if (file.read_bytes() if file.exists() else None) != data_before:
                raise StockoptError(
                    f"{file} was changed by another program meanwhile. Nothing was written; run "
                    "the command again."
                )
        note_moves(lock, moves)
    except BaseException:
        for gone in (*(beside for beside, _ in moves), *previous):
            gone.unlink(missing_ok=True)
        raise
    make_moves(moves)
    return tuple(previous)


def _refuse_open(file: Path) -> None:
    """Refuse a file that a spreadsheet program has open: it would write over the entry."""
    marks = (file.with_name(f"~${file.name}"), file.with_name(f".~lock.{file.name}#"))
    if any(mark.exists() for mark in marks):
        raise StockoptError(
            f"{file} is open in a spreadsheet program: save and close it there first. "
            "Nothing was written."
        )


def _describe(entry: Entry, sheets: Mapping[str, Sheet], path: Path) -> str:
    sheet = sheets.get(entry.table)
    label = f"{entry.table}.csv" if sheet is None and path.is_dir() else entry.table
    label = label if sheet is None else sheet.label
    if entry.row is None:
        told = ", ".join(f"{name} {as_text(value)}" for name, value in entry.cells.items())
        return f"{label}, new row{'' if sheet is not None else ' of a new table'}: {told}"
    told = ", ".join(
        f"{name} {entry.before.get(name) or 'blank'} -> {as_text(value) or 'blank'}"
        for name, value in entry.cells.items()
    )
    return f"{label}, row {entry.row}: {told}"


def _tell_late(event: Event, fleet: Fleet) -> tuple[str, ...]:
    planned_on = fleet.settings.planned_on
    if event.on <= planned_on:
        return ()
    return (
        f"{event.on} is after {planned_on}, the day of the plan: move planned_on, or give "
        "--planned-on, for plans to count changes made then.",
    )
