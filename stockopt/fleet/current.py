"""Every table rewritten to the numbers that are sold now.

A part that took another's place takes over its records, its places on machines and its stock.
What the superseded row of the parts table says is not asked any more, but for one thing: its
floor of spares to carry. Where two numbers have become one,

* `fitted`: their pieces on one machine are added, for they were two lines of its parts list;
* `prices`: a source that quotes the current number is taken at that word alone;
* `used_with`: the larger quantity holds, for it is one change that uses the part up;
* `kits`: their pieces in one set are added.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.faults import rows_in_words
from stockopt.fleet.part_numbers import Numbers, list_numbers
from stockopt.fleet.spelling import Tables
from stockopt.fleet.tables import TABLES
from stockopt.units import CONSEQUENCES

_GRAVEST: list[str] = list(CONSEQUENCES)


def lead_to_current(tables: Tables) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Return the tables with current numbers only, and a note on each supersession."""
    numbers = list_numbers(tables)
    parts, notes = _current_parts(tables["parts"], numbers)
    led = {**tables, "parts": parts}
    for name, frame in tables.items():
        columns = [column.name for column in TABLES[name].columns if column.holds == "part"]
        if name != "parts" and columns:
            kept = [column for column in columns if column != "other"]
            led[name] = frame.assign(**{c: _map(frame[c], numbers) for c in kept})
    led["prices"], found = _one_price(tables["prices"], led["prices"], numbers)
    notes += found
    usual = dict(zip(parts["part"], parts["consequence"], strict=True))
    for name, add in (("fitted", sum), ("kits", sum), ("used_with", max)):
        led[name], found = _join(led[name], name, add, usual)
        notes += found
    return led, notes


def _map(values: pd.Series[str], numbers: Numbers) -> pd.Series[str]:
    change = {number: numbers.current(number) for number in values.unique() if number}
    return values.map(change).fillna("").astype(values.dtype)


def _current_parts(parts: pd.DataFrame, numbers: Numbers) -> tuple[pd.DataFrame, list[Note]]:
    """Return the parts that are sold now, each with the highest floor of those it took over."""
    current = _map(parts["part"], numbers)
    floors = parts["carry_at_least"].groupby(current).max()
    old = parts["replaced_by"].ne("")
    notes = [
        Note(
            table="parts",
            row=int(row),
            column="replaced_by",
            text=f"{number} is superseded: its records, places and stock count for {now}",
        )
        for row, number, now in zip(
            parts.index[old], parts.loc[old, "part"], current[old], strict=True
        )
    ]
    kept = parts[~old]
    raised = kept["part"].map(floors).astype("int64")
    higher = raised > kept["carry_at_least"]
    for row, number, floor in zip(
        kept.index[higher], kept.loc[higher, "part"], raised[higher], strict=True
    ):
        text = f"{number}: at least {floor}, as for the number it took the place of"
        notes.append(Note(table="parts", row=int(row), column="carry_at_least", text=text))
    return kept.assign(carry_at_least=raised), notes


def _one_price(
    written: pd.DataFrame, led: pd.DataFrame, numbers: Numbers
) -> tuple[pd.DataFrame, list[Note]]:
    """Return the prices without those of old numbers that their source quotes by the current too.

    Of two old numbers that have become one, the cheaper is kept.
    """
    old = written["part"].map(numbers.spell).ne(led["part"])
    quoted = set(zip(led.loc[~old, "source"], led.loc[~old, "part"], strict=True))
    pairs = zip(led["source"], led["part"], strict=True)
    spare = old & pd.Series([pair in quoted for pair in pairs], index=led.index, dtype=bool)
    rest = led[~spare].sort_values("price", kind="stable")
    kept = rest.drop_duplicates(list(TABLES["prices"].key)).sort_index()
    gone = ~led.index.isin(kept.index)
    return kept, [
        Note(
            table="prices",
            row=int(row),
            column="part",
            text=f"{number} left out: {source} quotes {now}, which took its place",
        )
        for row, number, source, now in zip(
            led.index[gone],
            written.loc[gone, "part"],
            led.loc[gone, "source"],
            led.loc[gone, "part"],
            strict=True,
        )
    ]


def _join(
    frame: pd.DataFrame, table: str, add: Callable[[list[int]], int], usual: Mapping[str, str]
) -> tuple[pd.DataFrame, list[Note]]:
    """Return the table with one row for each key, where two numbers have become one.

    The first row stays, with the quantities of all and the gravest consequence.
    """
    again = frame.duplicated(list(TABLES[table].key), keep="first")
    if not again.any():
        return frame, []
    joined, notes = frame[~again].copy(), []
    for _, rows in frame.groupby(list(TABLES[table].key)):
        if len(rows) == 1:
            continue
        row = rows.index[0]
        joined.loc[row, "quantity"] = add(rows["quantity"].tolist())
        if "consequence" in rows:
            given = [
                own or usual[part]
                for own, part in zip(rows["consequence"], rows["part"], strict=True)
            ]
            joined.loc[row, "consequence"] = min(given, key=_GRAVEST.index)
        text = (
            f"{rows_in_words(rows.index.tolist())} name one part since its number changed: "
            f"taken together, quantity {joined.loc[row, 'quantity']}"
        )
        notes.append(Note(table=table, row=int(row), column="part", text=text))
    return joined, notes
