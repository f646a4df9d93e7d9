"""What lies on the wrong side of the day of the plan: records after it, legs before it."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.faults import rows_in_words
from stockopt.fleet.spelling import Tables


def leave_out(tables: Tables, planned_on: date) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Leave out readings and replacements after `planned_on`, and legs that departed before it.

    Of a leg that repeats only the repeats that departed are left out.
    """
    day = pd.Timestamp(planned_on)
    kept = dict(tables)
    notes = []
    for table, column in (("readings", "read_on"), ("replacements", "on")):
        late = kept[table][column] > day
        kept[table] = kept[table][~late]
        notes += _note(table, column, late, f"after {planned_on}, the day of the plan, left out")
    legs, moved = _move_repeats(tables["legs"], day)
    early = legs["departs_on"] < day
    notes += _note(
        "legs", "departs_on", early, f"departed before {planned_on}, the day of the plan, left out"
    )
    notes += _note(
        "legs",
        "departs_on",
        legs["departs_on"].ne(tables["legs"]["departs_on"]) & legs["departs_on"].notna(),
        f"repeats that departed before {planned_on}, the day of the plan, left out",
    )
    kept["legs"] = legs[~early]
    kept["leg_hours"] = _move_hours(tables["leg_hours"], moved, day)
    return kept, notes


def _move_repeats(
    legs: pd.DataFrame, day: pd.Timestamp
) -> tuple[pd.DataFrame, dict[tuple[str, pd.Timestamp], pd.Timestamp]]:
    """Return the legs with past repeats cut off, and where each such leg begins now."""
    days = legs["days"].clip(lower=1e-6)
    past = np.ceil((day - legs["departs_on"]).dt.days / days).clip(lower=0.0)
    past = past.where(past < legs["times"], 0.0).fillna(0.0)
    later = legs["departs_on"] + pd.to_timedelta(np.floor(past * legs["days"].fillna(0)), unit="D")
    moved = {
        (boat, before): after
        for boat, before, after in zip(legs["boat"], legs["departs_on"], later, strict=True)
        if after != before
    }
    cut = legs.assign(departs_on=later, times=legs["times"] - past.astype("int64"))
    return cut.astype(legs.dtypes.to_dict()), moved


def _move_hours(
    leg_hours: pd.DataFrame,
    moved: dict[tuple[str, pd.Timestamp], pd.Timestamp],
    day: pd.Timestamp,
) -> pd.DataFrame:
    """Return the hours of single machines, led to where their legs begin now."""
    begins = [
        moved.get((boat, departs_on), departs_on)
        for boat, departs_on in zip(leg_hours["boat"], leg_hours["departs_on"], strict=True)
    ]
    led = leg_hours.assign(
        departs_on=pd.Series(begins, index=leg_hours.index, dtype=leg_hours["departs_on"].dtype)
    )
    return led[~(led["departs_on"] < day)]


def _note(table: str, column: str, which: pd.Series[bool], what: str) -> list[Note]:
    """Return one note on all the rows of a table that are left out."""
    rows = [int(row) for row in which.index[which]]
    if not rows:
        return []
    return [Note(table=table, row=rows[0], column=column, text=f"{rows_in_words(rows)}: {what}")]
