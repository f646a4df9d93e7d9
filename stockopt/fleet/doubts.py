"""What is doubtful in the tables, and what is made of it; the run goes on.

What is doubtful about meters, ages and lives is told by the room of lives, and what is doubtful
about prices and ports by those of sourcing and choices: they know what was done about it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import combinations

import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.faults import rows_in_words
from stockopt.fleet.spelling import Tables

#: Two like records within so many days may be one, written down by two people.
TYPED_TWICE_DAYS = 3

#: So many rows of one kind of doubt are noted one by one.
_MOST_EACH = 20


def find_doubts(tables: Tables, planned_on: date) -> Iterator[Note]:
    """Yield a note on everything doubtful across the tables, once numbers are current ones."""
    yield from _note_no_legs(tables, planned_on)
    yield from _note_typed_twice(tables)
    yield from _note_exchanged_readings(tables)
    yield from _note_weightless(tables)
    yield from _note_nothing_fitted(tables)
    yield from _note_free(tables)
    yield from _note_idle_sources(tables)
    yield from _note_no_day_cost(tables)


def _note_no_legs(tables: Tables, planned_on: date) -> Iterator[Note]:
    """Note boats in the fleet that go nowhere, in the words in which choices leaves them out."""
    if tables["legs"].empty:
        return  # told of all boats at once, where there is nothing to plan
    boats = tables["boats"]
    here = ~(boats["left_on"] <= pd.Timestamp(planned_on))
    for boat in boats.loc[here & ~boats["boat"].isin(tables["legs"]["boat"]), "boat"]:
        text = f"{boat} has no legs to come: not planned"
        yield Note(table="legs", column="boat", text=text)


def _note_typed_twice(tables: Tables) -> Iterator[Note]:
    """Note records that are alike within a few days; in different slots they are not alike."""
    frame = tables["replacements"]
    alike = ["boat", "machine", "part", "quantity", "reason", "slot"]
    ordered = frame.reset_index().sort_values([*alike, "on", "row"], kind="stable")
    before = ordered.groupby(alike, dropna=False)[["on", "row"]].shift()
    days = (ordered["on"] - before["on"]).dt.days
    pairs = pd.DataFrame(
        {"row": ordered["row"], "as": before["row"], "part": ordered["part"], "days": days}
    )
    pairs = pairs[days <= TYPED_TWICE_DAYS].sort_values("row")
    for row, earlier, part, apart in pairs.head(_MOST_EACH).itertuples(index=False):
        # Of one day it hangs on the positions whether both count; what is not counted is said
        # where lives are built.
        when = f"within {TYPED_TWICE_DAYS} days: both are counted;" if apart else "on the same day:"
        text = f"{part} as in row {earlier:.0f}, {when} take one out if it was typed twice"
        yield Note(table="replacements", row=int(row), column="on", text=text)
    if len(pairs) > _MOST_EACH:
        text = (
            f"{len(pairs) - _MOST_EACH} rows more are like another within {TYPED_TWICE_DAYS} days"
        )
        yield Note(table="replacements", column="on", text=text)


def _note_exchanged_readings(tables: Tables) -> Iterator[Note]:
    """Note days on which two machines of a boat may have been read one for the other.

    Then one meter seems to run backwards, and exchanging the two mends both.
    """
    readings = tables["readings"]
    plain = readings[readings["new_meter_hours"].isna()]
    for boat, rows in plain.groupby("boat"):
        table = rows.groupby(["read_on", "machine"])["hours"].last().unstack("machine")
        for one, other in combinations(table.columns, 2):
            both = table[[one, other]].dropna()
            mine, yours = both[one], both[other]
            backwards = (mine < mine.shift()) | (yours < yours.shift())
            mended = (mine >= yours.shift()) & (yours >= mine.shift())
            for day in both.index[backwards & mended]:
                text = (
                    f"{boat}: {one} and {other} may have been read one for the other on "
                    f"{day:%Y-%m-%d}"
                )
                row = rows.index[rows["read_on"].eq(day) & rows["machine"].eq(one)][-1]
                yield Note(table="readings", row=int(row), column="hours", text=text)


def _note_weightless(tables: Tables) -> Iterator[Note]:
    """Note how many parts say nothing of their mass, or of their room where that has a limit."""
    parts, boats = tables["parts"], tables["boats"]
    room_counts = boats["spares_litres"].notna().any()
    for column, counts in (("kg", True), ("litres", room_counts)):
        none = parts[column].eq(0.0)
        if counts and none.any():
            text = (
                f"{none.sum()} of {len(parts)} parts have none and count nothing against the "
                f"limit of the boats: {rows_in_words(none.index[none].tolist())}"
            )
            yield Note(table="parts", column=column, text=text)


def _note_nothing_fitted(tables: Tables) -> Iterator[Note]:
    """Note boats without machines, machines without parts, and parts on no machine."""
    boats, machines, fitted = tables["boats"], tables["machines"], tables["fitted"]
    bare = ~boats["boat"].isin(machines["boat"])
    for row, boat in zip(boats.index[bare], boats.loc[bare, "boat"], strict=True):
        yield Note(table="boats", row=int(row), text=f"{boat} has no row in machines: not planned")
    bare = ~machines["model"].isin(fitted["model"])
    for row, model in zip(machines.index[bare], machines.loc[bare, "model"], strict=True):
        text = f"no part is fitted to model {model}: nothing is planned for it"
        yield Note(table="machines", row=int(row), column="model", text=text)
    parts = tables["parts"]
    placed = {*fitted["part"], *tables["used_with"]["part"]}
    loose = ~parts["part"].isin(placed)
    if loose.any():
        rows = rows_in_words(parts.index[loose].tolist())
        text = f"fitted to no model and used with no part, so never needed: {rows}"
        yield Note(table="parts", column="part", text=text)


def _note_free(tables: Tables) -> Iterator[Note]:
    """Note prices of nothing: the plan would take them wherever it can."""
    prices = tables["prices"]
    free = prices["price"].eq(0.0)
    for row, part in zip(prices.index[free], prices.loc[free, "part"], strict=True):
        yield Note(table="prices", row=int(row), column="price", text=f"{part} costs nothing there")


def _note_idle_sources(tables: Tables) -> Iterator[Note]:
    """Note sources without prices, and ports they deliver to where no boat is or goes."""
    sources = tables["sources"]
    silent = ~sources["source"].isin(tables["prices"]["source"])
    for source in sources.loc[silent, "source"].unique():
        yield Note(table="sources", column="source", text=f"{source} has no row in prices")
    visited = {*tables["boats"]["home_port"], *tables["legs"]["to_port"]} - {""}
    away = ~sources["delivers_to"].isin(visited)
    for row, port in zip(sources.index[away], sources.loc[away, "delivers_to"], strict=True):
        if visited:
            text = f"{port} is no boat's home port and on no leg: nothing is ordered to it"
            yield Note(table="sources", row=int(row), column="delivers_to", text=text)


def _note_no_day_cost(tables: Tables) -> Iterator[Note]:
    """Note boats for which a lost day costs nothing."""
    boats = tables["boats"]
    free = boats["day_cost"].eq(0.0)
    if free.any():
        names = ", ".join(boats.loc[free, "boat"])
        text = f"a lost day costs nothing, so only pieces and readiness count: {names}"
        yield Note(table="boats", column="day_cost", text=text)
