"""A small valid fleet as rows, files and workbooks, for tests that spoil it."""

import csv
import io
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from builders import PLANNED_ON, Row, make_fleet
from openpyxl import Workbook

from stockopt.errors import InputError, Problem

Rows = list[dict[str, object]]


def sound_tables() -> dict[str, Rows]:
    """Return a fleet of two boats in which nothing is doubtful."""
    return {
        "boats": [
            {"boat": "Alba", "home_port": "Hafen", "store": "Shed", "day_cost": 500},
            {"boat": "Brisa", "home_port": "Hafen", "store": "Shed", "day_cost": 400},
        ],
        "machines": [
            {"boat": "Alba", "machine": "port engine", "model": "M1"},
            {"boat": "Alba", "machine": "starboard engine", "model": "M1"},
            {"boat": "Brisa", "machine": "engine", "model": "M1"},
        ],
        "readings": [
            {"boat": "Alba", "machine": "port engine", "read_on": date(2030, 4, 1), "hours": 100},
            {"boat": "Alba", "machine": "starboard engine", "read_on": "2030-04-01", "hours": 90.5},
            {"boat": "Brisa", "machine": "engine", "read_on": "2030-04-01", "hours": 1200},
        ],
        "parts": [
            {"part": "007", "name": "Seal, shaft", "price": 25, "kg": 0.1, "wear": "wears"},
            {"part": "B-2", "name": "Belt", "price": 18.5, "kg": 0.2, "consequence": "stops"},
            {"part": "G-3", "name": "Gasket", "price": 2, "kg": 0.01},
        ],
        "fitted": [
            {"model": "M1", "part": "007"},
            {"model": "M1", "part": "B-2", "quantity": 2},
        ],
        "replacements": [
            {
                "on": "2030-06-01",
                "boat": "Alba",
                "machine": "port engine",
                "part": "007",
                "hours": 150,
                "reason": "failed",
            },
        ],
        "used_with": [{"part": "G-3", "with_part": "007", "quantity": 1}],
        "kits": [{"kit": "K-1", "part": "007"}, {"kit": "K-1", "part": "G-3", "quantity": 2}],
        "aliases": [{"other": "seven", "part": "007"}],
        "sources": [
            {"source": "Quay", "kind": "local", "delivers_to": "Hafen"},
            {
                "source": "Post",
                "kind": "mail",
                "delivers_to": "Hafen",
                "lead_days": 7,
                "duty": "5%",
                "currency": "USD",
            },
        ],
        "prices": [
            {"source": "Quay", "part": "007", "price": 40},
            {"source": "Post", "part": "B-2", "price": 12, "pack": 2},
        ],
        "legs": [
            {"boat": "Alba", "departs_on": "2031-05-01", "days": 7, "to_port": "Hafen", "times": 3},
            {
                "boat": "Brisa",
                "departs_on": "2031-05-02",
                "days": 20,
                "to_port": "Isla",
                "hours": 60,
            },
        ],
        "leg_hours": [
            {"boat": "Alba", "departs_on": "2031-05-01", "machine": "port engine", "hours": 9}
        ],
        "ports": [{"port": "Isla", "price_factor": 1.5, "wait_days": 3}],
        "stock": [
            {"place": "Shed", "part": "007", "on_hand": 2, "counted_on": "2031-03-01"},
            {"place": "Alba", "part": "B-2", "on_hand": 1, "locker": "12"},
        ],
    }


SETTINGS = {"planned_on": PLANNED_ON, "rates": {"USD": 0.9}}


def spoil(table: str, row: int, **cells: object) -> dict[str, Rows]:
    """Return the sound tables with cells of one row changed; row 2 is the first."""
    tables = sound_tables()
    tables[table][row - 2].update(cells)
    return tables


def add(table: str, *rows: Row) -> dict[str, Rows]:
    """Return the sound tables with rows added at the end of one."""
    tables = sound_tables()
    tables[table] += [dict(row) for row in rows]
    return tables


def problems_of(tables: Mapping[str, Rows]) -> list[Problem]:
    """Return what is wrong with the tables."""
    try:
        make_fleet(settings=SETTINGS, **tables)
    except InputError as error:
        return list(error.problems)
    return []


def write_folder(tables: Mapping[str, Rows], folder: Path, *, separator: str = ",") -> Path:
    """Write the tables as CSV files."""
    folder.mkdir(exist_ok=True)
    for name, rows in tables.items():
        text = io.StringIO(newline="")
        writer = csv.writer(text, delimiter=separator)
        headings = headings_of(rows)
        writer.writerow(headings)
        writer.writerows([[row.get(heading, "") for heading in headings] for row in rows])
        (folder / f"{name}.csv").write_bytes(text.getvalue().encode())
    return folder


def write_workbook(tables: Mapping[str, Rows], path: Path) -> Path:
    """Write the tables as sheets of a workbook."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        headings = headings_of(rows)
        sheet.append(headings)
        for row in rows:
            sheet.append([row.get(heading) for heading in headings])
    book.save(path)
    return path


def headings_of(rows: Rows) -> list[str]:
    """Return the headings in the order in which the rows bring them."""
    return list(dict.fromkeys(heading for row in rows for heading in row))
