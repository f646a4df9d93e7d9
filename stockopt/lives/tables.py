"""The tables of a Lives value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import pandas as pd

from stockopt.lives.cut import History, LeftOut
from stockopt.lives.machines import Machines
from stockopt.lives.positions import Fitted
from stockopt.lives.records import Replacement
from stockopt.lives.watches import Watched

_LIVES = {
    "part": "str",
    "boat": "str",
    "machine": "str",
    "fitted_on": "date",
    "slot": "int64",
    "clock": "str",
    "entered": "float64",
    "left": "float64",
    "sound": "float64",
    "failed": "bool",
    "age_known": "bool",
    "reason": "str",
    "began_on": "date",
    "ended_on": "date",
    "row": "int64",
}
_POSITIONS = {
    "boat": "str",
    "machine": "str",
    "model": "str",
    "part": "str",
    "slot": "int64",
    "clock": "str",
    "age": "float64",
    "age_at_least": "float64",
    "consequence": "str",
}
_LEFT_OUT = {
    "row": "int64",
    "part": "str",
    "boat": "str",
    "machine": "str",
    "pieces": "int64",
    "failed": "bool",
    "why": "str",
}


def lives_table(
    machines: Machines,
    fitted: Mapping[tuple[int, str], Fitted],
    histories: Mapping[tuple[int, str], History],
) -> pd.DataFrame:
    """Return the table of lives, as :class:`stockopt.lives.lives.Lives` describes it."""
    rows = []
    for (index, part), history in sorted(histories.items(), key=_part_then_machine):
        machine, clock = machines.all[index], fitted[index, part].clock
        for life in sorted(history.lives, key=lambda life: (life.slot, life.ended_on)):
            slot, *rest = life
            where = (part, machine.boat, machine.machine, machine.fitted_on)
            rows.append((*where, slot, clock, *rest))
    return _frame(rows, _LIVES)


def positions_table(
    machines: Machines,
    fitted: Mapping[tuple[int, str], Fitted],
    histories: Mapping[tuple[int, str], History],
    watched: Mapping[tuple[int, str], Watched],
    planned_on: int,
) -> pd.DataFrame:
    """Return the table of positions, as :class:`stockopt.lives.lives.Lives` describes it."""
    rows = []
    for (index, part), history in histories.items():
        machine = machines.all[index]
        if not machine.is_aboard(planned_on):
            continue
        place = fitted[index, part]
        now, seen = watched[index, place.clock].amounts_by(planned_on)
        for slot, piece in enumerate(history.pieces, start=1):
            age = now - piece.zero if piece.age_known else np.nan
            at_least = max(0.0, seen - piece.zero)  # 0 where that is NaN
            where = (machine.boat, machine.machine, machine.model, part, slot)
            rows.append((*where, place.clock, age, at_least, place.consequence))
    rows.sort(key=lambda row: (row[0], row[3], row[1], row[4]))
    return _frame(rows, _POSITIONS)


def left_out_table(rows: Iterable[tuple[Replacement, LeftOut]]) -> pd.DataFrame:
    """Return the table of pieces that end no life, by row of the replacements table."""
    said = [
        (row.row, row.part, *row.place, piece.pieces, piece.failed, piece.why)
        for row, piece in rows
    ]
    return _frame(sorted(said), _LEFT_OUT)


def _part_then_machine(item: tuple[tuple[int, str], History]) -> tuple[str, int]:
    (index, part), _ = item
    return part, index


def _frame(rows: Sequence[tuple[object, ...]], kinds: Mapping[str, str]) -> pd.DataFrame:
    """Return rows as a table with the given columns and kinds; dates are day numbers or None."""
    columns = list(zip(*rows, strict=True)) if rows else [()] * len(kinds)
    return pd.DataFrame(
        {
            name: _dates(column) if kind == "date" else pd.Series(column, dtype=kind)
            for (name, kind), column in zip(kinds.items(), columns, strict=True)
        }
    )


def _dates(days: Sequence[int | None]) -> pd.Series[pd.Timestamp]:
    blank = np.iinfo(np.int64).min  # numpy's own number for NaT
    numbers = np.array([blank if day is None else day for day in days], dtype=np.int64)
    return pd.Series(numbers.view("datetime64[D]").astype("datetime64[us]"))
