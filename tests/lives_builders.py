"""Histories for the tests of lives: short rows for hand-worked ones, random ones for the laws."""

from datetime import date, timedelta
from functools import cache

import pandas as pd
from hypothesis import strategies as st

from stockopt.fleet.fleet import Fleet
from stockopt.fleet.tables import TABLES
from stockopt.lives.build import build_lives
from stockopt.lives.lives import Lives
from stockopt.settings import Settings

DTYPES = {"text": "str", "date": "datetime64[us]", "whole": "float64"}


FIRST = date(2030, 1, 1)


def on(day: int) -> date:
    """Return the day so many days after the first, for arithmetic by hand."""
    return FIRST + timedelta(days=day)


def engine(**more):
    """One row of machines, or of its records: the engine of the Alba."""
    return {"boat": "Alba", "machine": "engine", **more}


def fit(**more):
    return engine(model="M", **more)


def read(day, hours, **more):
    return engine(read_on=on(day), hours=hours, **more)


def change(day, part="seal", reason="failed", **more):
    return engine(on=on(day), part=part, reason=reason, **more)


def lives_of(planned_on: int, **tables) -> Lives:
    """Return the lives of a fleet; by default with one seal, by hours, on each model M."""
    tables.setdefault("parts", [{"part": "seal"}])
    tables.setdefault("fitted", [{"model": "M", "part": "seal"}])
    boats = dict.fromkeys(machine["boat"] for machine in tables["machines"])
    tables.setdefault("boats", [{"boat": boat} for boat in boats])
    return build_lives(make_unchecked_fleet(Settings(planned_on=on(planned_on)), **tables))


def told(lives: Lives, columns: str, **where) -> list[tuple]:
    """Return the named columns of the lives, dates as ISO text and ages to 6 decimals."""
    return tell(lives.lives, columns, **where)


def tell(table: pd.DataFrame, columns: str, **where) -> list[tuple]:
    for column, value in where.items():
        table = table[table[column] == value]
    return [tuple(_plain(row[name]) for name in columns.split()) for _, row in table.iterrows()]


def _plain(value):
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if value is pd.NaT or value != value:
        return None
    return round(value, 6) if isinstance(value, float) else value


def notes_on(lives: Lives, *words: str) -> list[str]:
    """Return the text of the notes that hold all these words."""
    return [note.text for note in lives.notes if all(word in note.text for word in words)]


def make_unchecked_fleet(settings: Settings, **tables) -> Fleet:
    """Return a fleet from rows as they are: doubtful ones too, and in no time."""
    return Fleet(
        name="unchecked",
        settings=settings,
        **{
            name: _frame(name, tables[name]) if tables.get(name) else _empty_frame(name)
            for name in TABLES
        },
    )


@cache
def _empty_frame(name):
    return _frame(name, ())


def _frame(name, rows):
    columns = TABLES[name].columns
    frame = pd.DataFrame(
        {
            column.name: pd.Series(
                [_cell(row.get(column.name), column) for row in rows],
                dtype=DTYPES.get(column.kind, "float64"),
            )
            for column in columns
        }
    )
    for column in columns:
        if column.kind == "whole" and column.default is not None:
            frame[column.name] = frame[column.name].astype("int64")
    frame.index = pd.RangeIndex(2, 2 + len(rows), name="row")
    return frame


def _cell(value, column):
    if value is None:
        value = column.default
    if value is None:
        return {"text": "", "date": pd.NaT}.get(column.kind, float("nan"))
    return pd.Timestamp(value) if column.kind == "date" else value


# Random histories: short, so that every day can be walked, and as doubtful as real ones.

PLANNED_ON = on(150)
REASONS = ("failed", "worn", "scheduled", "swapped", "borrowed", "unknown")
PARTS = (
    {"part": "seal", "name": "seal", "clock": "hours", "expected_life": 1500.0},
    {"part": "belt", "name": "belt", "clock": "hours", "wear": "wears"},
    {"part": "hose", "name": "hose", "clock": "days", "wear": "random"},
)


def days(first, last):
    return st.integers(first, last).map(on)


def seldom(strategy):
    """Draw None two times in three."""
    return st.one_of(st.none(), st.none(), strategy)


def _meter_readings(draw, place):
    """Draw the readings of one meter: it runs on, and is now and then changed or misread."""
    day, hours, rows = draw(st.integers(0, 30)), float(draw(st.integers(0, 600))), []
    for _ in range(draw(st.integers(0, 7))):
        row = {**place, "read_on": on(day), "hours": hours}
        kind = draw(st.sampled_from(["usual"] * 6 + ["slip", "changed", "changed unseen"]))
        if kind == "slip":
            row["hours"] = float(draw(st.integers(0, 2000)))
        elif kind == "changed":
            row["new_meter_hours"] = hours = float(draw(st.integers(0, 50)))
        elif kind == "changed unseen":
            hours = float(draw(st.integers(0, 1000)))
        rows.append(row)
        step = draw(st.integers(0, 40))
        day, hours = day + step, hours + draw(st.integers(0, 24)) * step / 2
    return rows


def _replacements(place):
    return st.fixed_dictionaries(
        {
            **{name: st.just(value) for name, value in place.items()},
            "on": days(0, 155),
            "part": st.sampled_from([part["part"] for part in PARTS]),
            "quantity": st.sampled_from([1, 1, 1, 1, 2, 4]),
            "reason": st.sampled_from(REASONS),
            "slot": st.sampled_from([None, None, None, 1, 2, 3]),
            "hours": seldom(st.integers(0, 900)),
            "sound_on": seldom(days(0, 155)),
        }
    )


@st.composite
def random_fleets(draw):
    """Draw a small fleet with meters changed and misread, and records before and after her stay."""
    names = ["Alba", "Brisa"][: draw(st.integers(1, 2))]
    boats = [
        {
            "boat": name,
            "joined_on": draw(seldom(days(0, 60))),
            "left_on": draw(seldom(days(100, 160))),
        }
        for name in names
    ]
    machines, readings, replacements = [], [], []
    for name in names:
        for machine in ["port", "starboard"][: draw(st.integers(1, 2))]:
            place = {"boat": name, "machine": machine}
            model = draw(st.sampled_from(["M", "M", "N"]))
            fitted_on = [draw(st.one_of(st.none(), days(0, 40)))]
            fitted_on += draw(st.lists(days(50, 155), max_size=1))
            for day in fitted_on:
                hours = draw(st.one_of(st.none(), st.just(0.0), st.just(0.0), st.just(400.0)))
                machines.append(
                    {**place, "model": model, "fitted_on": day, "hours_at_fitting": hours}
                )
            readings += _meter_readings(draw, place)
            replacements += draw(st.lists(_replacements(place), max_size=10))
    fitted = [
        {"model": "M", "part": "seal", "quantity": draw(st.integers(1, 3))},
        {"model": "M", "part": "hose", "quantity": draw(st.integers(1, 2))},
        {"model": "M", "part": "belt", "machine": "port"},
        {"model": "N", "part": "seal", "quantity": 2},
        {"model": "N", "part": "seal", "boat": "Alba", "quantity": 1, "consequence": "stops"},
    ]
    return make_unchecked_fleet(
        Settings(planned_on=PLANNED_ON),
        boats=boats,
        machines=machines,
        readings=readings,
        parts=PARTS,
        fitted=fitted,
        replacements=replacements,
    )
