"""Sheet "At a glance": what it costs, what each boat risks, what to order by when."""

from __future__ import annotations

from collections import Counter

from stockopt.plan import BoatLine
from stockopt.report.bare import find_bare_readiness
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Row, Sheet, Table, plain_rows
from stockopt.report.shown_cost import shown_cost
from stockopt.report.why_sheets import limits_table, slack_lines
from stockopt.report.words import (
    money_text,
    pieces_text,
    source_text,
    sureness,
    what_if_lines,
    what_if_mark,
)
from stockopt.units import Measures

#: How many of the lines that still cost most are shown.
DEAREST = 8
#: So many lines to replace are shown here.
MOST_CHANGES = 8
#: Parts with fewer failures than this are weakly known.
FEW_FAILURES = 3


def glance_sheet(run: Run) -> Sheet:
    """Return the manager's page."""
    plan, limits = run.plan, limits_table(run)
    return Sheet(
        name="At a glance",
        title=f"{what_if_mark(plan)}Spares plan for {plan.fleet}, planned on "
        f"{plan.planned_on.isoformat()}",
        lead=(
            *what_if_lines(plan),
            "A planning aid, not a statement of seaworthiness: the skipper, the manager and the "
            "surveyor decide. See the sheet 'How it was worked out'.",
            f"How sure: {sureness(plan)}.",
            _weak_data(run),
            _notes_line(len(plan.notes)),
            *(() if limits.rows else _nothing_holds(run)),
        ),
        tables=tuple(
            table
            for table in (
                _cost(run),
                _replace_now(run),
                _boats(run),
                limits,
                _orders(run),
                _dearest(run),
            )
            if table.rows
        ),
        portrait=True,
    )


def _weak_data(run: Run) -> str:
    parts = run.ageing.parts.values()
    prior = sum(part.prior_only for part in parts)
    few = sum(part.failures < FEW_FAILURES for part in parts)
    return (
        f"Of {pieces_text(len(run.ageing.parts), 'part')}, {few} have fewer than {FEW_FAILURES} "
        f"failures on record and {prior} rest on expectation alone: for these read the interval, "
        "not only the middle value."
    )


def _notes_line(count: int) -> str:
    if not count:
        return "Nothing doubtful was found in the tables."
    return f"{pieces_text(count, 'doubtful thing')} in the tables: see the sheet 'Data notes'."


def _nothing_holds(run: Run) -> tuple[str, ...]:
    """Say that no limit holds the plan back, as far as that is known."""
    if run.why.limits:
        return slack_lines(run.why.limits, run.plan.currency)
    limited = any(
        limit is not None
        for boat in run.plan.boats
        for limit in (boat.budget, boat.kg_limit, boat.litres_limit)
    )
    settings = run.fleet.settings
    if limited or settings.budget is not None or settings.readiness is not None:
        return ()
    return ("No limit of money, mass, room or readiness is set: it takes what pays.",)


def _cost(run: Run) -> Table:
    cost, currency = shown_cost(run), run.plan.currency
    budget = run.fleet.settings.budget
    of = "" if budget is None else f"; the budget over all is {money_text(budget, currency)}"
    meaning = (
        f"goods, duty, tax, freight and handling of every order{of}",
        "failures, shortages, restocking, fitting, and the worth of the spares and lives used up; "
        "less what the spares bought now stay worth, so it can fall below zero",
    )
    return Table(
        heading="What it costs",
        columns=(
            Column(title="Money", width=24),
            Column(title=f"Amount, {currency}", width=16, kind="money"),
            Column(title="What is in it", width=90, kind="prose", span=7),
        ),
        rows=(
            Row(cells=("Spend now", cost.spend_now, meaning[0])),
            Row(cells=("Expected later", cost.expected_later, meaning[1])),
            Row(
                cells=("Together", cost.total, "what the plan makes as small as it can"),
                look="total",
            ),
        ),
    )


def _replace_now(run: Run) -> Table:
    """Return the pieces to change before departure, as far as there is room for them."""
    lines = [line for line in run.plan.carry if line.replace_now]
    rows = [
        Row(cells=(line.boat, line.replace_now, f"{line.name} ({line.part})"))
        for line in lines[:MOST_CHANGES]
    ]
    if len(lines) > MOST_CHANGES:
        more = f"and {pieces_text(len(lines) - MOST_CHANGES, 'line')} more: sheet 'Replace now'"
        rows.append(Row(cells=("", None, more)))
    return Table(
        heading="Replace before departure",
        columns=(
            Column(title="Boat", width=24, kind="prose"),
            Column(title="Change", width=16, kind="whole"),
            Column(title="Part", width=90, kind="prose", span=7),
        ),
        rows=tuple(rows),
    )


def _boats(run: Run) -> Table:
    changes: Counter[str] = Counter()
    for line in run.plan.carry:
        changes[line.boat] += line.replace_now
    measures = run.fleet.settings.measures
    bare = find_bare_readiness(run.demand)
    budgets = any(boat.budget is not None for boat in run.plan.boats)
    carried: Counter[str] = Counter()
    for line in run.plan.carry:
        carried[line.boat] += line.carry
    currency = run.plan.currency
    third = (
        Column(title=f"Budget, {currency}", width=14, kind="money")
        if budgets
        else Column(title="Pieces carried", width=14, kind="whole")
    )
    rows = [
        _boat_row(
            boat,
            boat.budget if budgets else carried[boat.boat],
            bare.get(boat.boat, 1.0),
            changes[boat.boat],
            measures,
        )
        for boat in run.plan.boats
    ]
    return Table(
        heading="Boats",
        lead=(
            "Chance stopped: of any shortage of a part that stops her on her whole plan; first "
            "with nothing aboard and nothing changed, then with this plan. What the plan leaves to "
            "100 % is her readiness.",
        ),
        columns=(
            Column(title="Boat", width=24, kind="prose"),
            Column(title=f"Spend now, {currency}", width=16, kind="money"),
            third,
            Column(title="Departs", width=12, kind="date"),
            Column(title=f"Spares, {measures.mass}", width=11, kind="number"),
            Column(title=f"Limit, {measures.mass}", width=11, kind="number"),
            Column(title="Chance stopped, no spares", width=12, kind="share"),
            Column(title="Chance stopped, this plan", width=12, kind="share"),
            Column(title="Replace now", width=10, kind="whole"),
        ),
        rows=plain_rows(rows),
    )


def _boat_row(
    boat: BoatLine, third: Cell, bare: float, changes: int, measures: Measures
) -> tuple[Cell, ...]:
    return (
        boat.boat,
        boat.spend_now,
        third,
        boat.departs_on,
        measures.of_mass(boat.kg),
        None if boat.kg_limit is None else measures.of_mass(boat.kg_limit),
        1.0 - bare,
        1.0 - boat.readiness,
        changes,
    )


def _orders(run: Run) -> Table:
    plan = run.plan
    rows = [
        Row(
            cells=(
                source_text(order.source),
                float(order.total),
                len(order.lines),
                order.order_by,
                sum(line.pieces for line in order.lines),
                order.place,
            )
        )
        for order in run.orders.orders
    ]
    total = Row(cells=("All orders", float(run.orders.total), *(None,) * 4), look="total")
    return Table(
        heading="Orders, the most urgent first",
        columns=(
            Column(title="Source", width=24, kind="prose"),
            Column(title=f"Total, {plan.currency}", width=16, kind="money"),
            Column(title="Lines", width=14, kind="whole"),
            Column(title="Order by", width=12, kind="date"),
            Column(title="Pieces", width=11, kind="whole"),
            Column(title="For", width=45, kind="prose", span=4),
        ),
        rows=(*rows, total) if rows else (),
    )


def _dearest(run: Run) -> Table:
    lines = sorted(run.plan.carry, key=lambda line: (-line.expected_cost, line.boat, line.part))
    rows = [
        (
            line.boat,
            line.expected_cost,
            line.carry,
            line.replace_now,
            line.expected_need,
            line.shortage_chance,
            f"{line.name} ({line.part})",
        )
        for line in lines[:DEAREST]
        if line.expected_cost > 0
    ]
    return Table(
        heading=f"The {len(rows)} lines that are expected to cost most later",
        columns=(
            Column(title="Boat", width=24, kind="prose"),
            Column(title=f"Expected cost, {run.plan.currency}", width=16, kind="money"),
            Column(title="Carry", width=14, kind="whole"),
            Column(title="Replace now", width=12, kind="whole"),
            Column(title="Pieces needed", width=11, kind="number"),
            Column(title="Chance of shortage", width=11, kind="share"),
            Column(title="Part", width=34, kind="prose", span=3),
        ),
        rows=plain_rows(rows),
    )
