"""Sheet "Replace now": fitted pieces to change before departure, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pandas as pd

from stockopt.demand.stretches import Voyage, write_out_legs
from stockopt.plan import CarryLine
from stockopt.report.fitted_now import Position, age_words, chance_on_plan, oldest_first
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Row, Sheet, Table
from stockopt.report.words import brief, pieces_text, share_text, unit_text, what_if_mark

_ALSO = "Also needed"
COLUMNS: tuple[Column, ...] = (
    Column(title="Done", width=6, kind="tick"),
    Column(title="Boat", width=13, kind="prose"),
    Column(title="Part", width=12),
    Column(title="Name", width=22, kind="prose"),
    Column(title="Change", width=8, kind="whole"),
    Column(title="Fitted", width=8, kind="whole"),
    Column(title="Where, oldest first (age now)", width=22, kind="prose"),
    Column(title="Why", width=44, kind="prose"),
    Column(title=_ALSO, width=18, kind="prose"),
    Column(title="Initials", width=9, kind="blank"),
)
#: What 'Also needed' leaves to 'Why' where no change needs anything else.
_WIDER_WHY = 56


def replace_now_sheet(run: Run) -> Sheet:
    """Return the list of pieces to change before departure, by boat and part."""
    lines = [line for line in run.plan.carry if line.replace_now]
    voyages = write_out_legs(run.fleet)
    also = [_also(line, run) for line in lines]
    lead = (_LEAD, _LEAD_ALSO) if any(also) else (_LEAD,)
    columns = COLUMNS if any(also) else _without_also()
    rows = tuple(
        Row(
            cells=(
                *_cells(line, run, voyages.get(line.boat)),
                *([needs] if any(also) else []),
                None,
            )
        )
        for line, needs in zip(lines, also, strict=True)
    )
    return Sheet(
        name="Replace now",
        title=f"{what_if_mark(run.plan)}Replace before departure",
        lead=lead,
        tables=(Table(columns=columns, rows=rows),),
        after=() if lines else ("Nothing: no piece is worth changing before departure.",),
    )


_LEAD = (
    "Oldest pieces first; an age marked 'at least' began before the records and counts as the "
    "oldest. The maker's interval holds where it is shorter."
)
_LEAD_ALSO = (
    f"'{_ALSO}' lists pieces that the change itself uses up: have them at hand. They are counted "
    "in the lists to stow and to buy."
)


def _without_also() -> tuple[Column, ...]:
    return tuple(
        replace(column, width=_WIDER_WHY) if column.title == "Why" else column
        for column in COLUMNS
        if column.title != _ALSO
    )


def _cells(line: CarryLine, run: Run, voyage: Voyage | None) -> tuple[Cell, ...]:
    """Return what is known of one change, up to why."""
    places = run.lives.positions
    places = places[(places["boat"] == line.boat) & (places["part"] == line.part)]
    return (
        None,
        line.boat,
        line.part,
        line.name,
        line.replace_now,
        len(places),
        _where(places, line.replace_now),
        _why(line, places, run, voyage),
    )


def _where(places: pd.DataFrame, count: int) -> str:
    pieces_of = Counter(places["machine"])
    named = []
    for place in oldest_first(places)[:count]:
        slot = f" no. {place['slot']}" if pieces_of[place["machine"]] > 1 else ""
        named.append(f"{place['machine']}{slot} ({_age(place)})")
    return "; ".join(named)


def _age(place: Position) -> str:
    known = not pd.isna(place["age"])
    return age_words(float(place["age_at_least"]), place["clock"], known=known)


def _why(line: CarryLine, places: pd.DataFrame, run: Run, voyage: Voyage | None) -> str:
    """Say how old the oldest is, whether it is due, how likely to fail, what a change saves."""
    ageing = run.ageing.parts.get(line.part)
    words = []
    if ageing is not None and len(places):
        place = oldest_first(places)[0]
        words.append(
            f"The oldest has run {_age(place)} of a mean life of "
            f"{brief(ageing.mean_life)} {unit_text(ageing.clock)}."
        )
        words += _due(line, place, run)
        if voyage is not None:
            chance = share_text(chance_on_plan(place, voyage, run.ageing))
            words.append(f"Left as it is, its chance of failing on the plan is {chance}.")
    demand = run.demand.parts.get((line.boat, line.part))
    if demand is not None and line.replace_now < len(demand.failures):
        before, after = (
            brief(float(demand.failures[pieces]), 2) for pieces in (0, line.replace_now)
        )
        if before != after:
            words.append(f"Failures expected under way fall from {before} to {after}.")
    return " ".join(words)


def _due(line: CarryLine, oldest: Position, run: Run) -> Iterator[str]:
    """Say by what age the part is changed whatever its state, and whether that is passed."""
    parts = run.fleet.parts
    for every in parts.loc[parts["part"].eq(line.part), "replace_every"].dropna():
        passed = ": overdue" if float(oldest["age_at_least"]) >= every else ""
        yield f"It is to be changed every {brief(every)} {unit_text(oldest['clock'])}{passed}."


def _also(line: CarryLine, run: Run) -> str:
    """List the pieces used up by this change, such as a gasket with each impeller."""
    table = run.fleet.used_with
    names = dict(zip(run.fleet.parts["part"], run.fleet.parts["name"], strict=True))
    needs = [
        f"{pieces_text(row['quantity'] * line.replace_now)} of {row['part']} "
        f"{names.get(row['part'], '')}".strip()
        for row in table[table["with_part"] == line.part].to_dict("records")
    ]
    return "; ".join(needs)
