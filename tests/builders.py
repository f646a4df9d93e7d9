"""Tiny fleets in one line, through the same code as files go through."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime

import pandas as pd

from stockopt.fleet.build import build_fleet
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.sheet import Sheet
from stockopt.fleet.tables import TABLES
from stockopt.settings import Settings

PLANNED_ON = date(2031, 4, 1)

Row = Mapping[str, object]


def make_fleet(
    *,
    name: str = "test",
    settings: Settings | Mapping[str, object] | None = None,
    **tables: Sequence[Row],
) -> Fleet:
    """Return a fleet from rows of Python values; raises InputError as the reader would.

    Every table may be left out and is then empty, except that

    * without `boats`, every boat that another table names is one, with nothing else known;
    * a part without a `name` is called by its number.

    Rows count from 2, as under a header. Columns not given are blank and take their defaults.

    >>> fleet = make_fleet(
    ...     machines=[dict(boat="Alba", machine="engine", model="M")],
    ...     parts=[dict(part="seal", price=25)],
    ...     fitted=[dict(model="M", part="seal")],
    ... )
    """
    unknown = sorted(set(tables) - set(TABLES))
    if unknown:
        raise TypeError(f"no such table: {', '.join(unknown)}")
    rows = {key: [dict(row) for row in tables.get(key, ())] for key in TABLES}
    for row in rows["parts"]:
        row.setdefault("name", row.get("part"))
    if "boats" not in tables:
        named = [row["boat"] for key in ("machines", "legs", "readings") for row in rows[key]]
        rows["boats"] = [{"boat": boat} for boat in dict.fromkeys(named)]
    if not isinstance(settings, Settings):
        settings = Settings(**{"planned_on": PLANNED_ON, **(settings or {})})
    sheets = {
        key: make_sheet(key, rows[key]) for key in TABLES if rows[key] or TABLES[key].required
    }
    return build_fleet(name, sheets, settings)


def make_sheet(table: str, rows: Sequence[Row]) -> Sheet:
    """Return the rows as the sheet of a file ``<table>.csv`` with the headings they need."""
    required = [column.name for column in TABLES[table].columns if column.required]
    headings = list(dict.fromkeys([*required, *(heading for row in rows for heading in row)]))
    cells = [[_text(row.get(heading)) for heading in headings] for row in rows]
    index = pd.RangeIndex(2, 2 + len(cells), name="row")
    return Sheet(
        label=f"{table}.csv", cells=pd.DataFrame(cells, columns=headings, index=index, dtype=object)
    )


def _text(value: object) -> str:
    if value is None or value != value:  # NaN, NaT
        return ""
    if isinstance(value, datetime | date):
        return value.isoformat()[:10]
    return str(value)
