"""Sheet "Replace now": fitted pieces to change before departure, and why."""

from __future__ import annotations

from collections import Counter

import pandas as pd

from stockopt.demand.stretches import Voyage, write_out_legs
from stockopt.plan import CarryLine
from stockopt.report.fitted_now import Position, age_words, chance_on_plan, oldest_first
from stockopt.report.run import Run
from stockopt.report.sheet import Column, Row, Sheet, Table
from stockopt.report.words import brief, pieces_text, share_text, unit_text, what_if_mark

COLUMNS = (
    Column(title="Done", width=6, kind="tick"),
    Column(title="Boat", width=13, kind="prose"),
    Column(title="Part", width=12),
    Column(title="Name", width=22, kind="prose"),
    Column(title="Change", width=8, kind="whole"),
    Column(title="Fitted", width=8, kind="whole"),
    Column(title="Where, oldest first (age now)", width=26, kind="prose"),
    Column(title="Why", width=32, kind="prose"),
    Column(title="Also needed", width=20, kind="prose"),
    Column(title="Initials", width=9, kind="blank"),
)


def replace_now_sheet(run: Run) -> Sheet:
    """Return the list of pieces to change before departure, by boat and part."""
    lines = [line for line in run.plan.carry if line.replace_now]
    voyages = write_out_legs(run.fleet)
    rows = tuple(_row(line, run, voyages.get(line.boat)) for line in lines)
    return Sheet(
        name="Replace now",
        title=f"{what_if_mark(run.plan)}Replace before departure",
        lead=(
            "Oldest pieces first; an age marked 'at least' began before the records and counts as "
            "the oldest. The maker's interval holds where it is shorter.",
            "'Also needed' lists pieces that the change itself uses up: have them at hand. They "
            "are counted in the lists to stow and to buy.",
        ),
        tables=(Table(columns=COLUMNS, rows=rows),),
        after=() if lines else ("Nothing: no piece is worth changing before departure.",),
    )


def _row(line: CarryLine, run: Run, voyage: Voyage | None) -> Row:
    places = run.lives.positions
    places = places[(places["boat"] == line.boat) & (places["part"] == line.part)]
    return Row(
        cells=(
            None,
            line.boat,
            line.part,
            line.name,
            line.replace_now,
            len(places),
            _where(places, line.replace_now),
            _why(line, places, run, voyage),
            _also(line, run),
            None,
        )
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
    """Say how old the oldest is, how likely it is to fail, and what changing it saves."""
    ageing = run.ageing.parts.get(line.part)
    words = []
    if ageing is not None and len(places):
        place = oldest_first(places)[0]
        words.append(
            f"The oldest has run {_age(place)} of a mean life of "
            f"{brief(ageing.mean_life)} {unit_text(ageing.clock)}."
        )
        if voyage is not None:
            chance = share_text(chance_on_plan(place, voyage, run.ageing))
            words.append(f"Left as it is, its chance of failing on the plan is {chance}.")
    demand = run.demand.parts.get((line.boat, line.part))
    if demand is not None and line.replace_now < len(demand.failures):
        before, after = demand.failures[0], demand.failures[line.replace_now]
        words.append(
            f"Failures expected under way fall from {brief(float(before), 2)} to "
            f"{brief(float(after), 2)}."
        )
    return " ".join(words)


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
