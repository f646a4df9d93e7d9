"""What the commands print: short, 80 columns wide, readable on a terminal that knows only ASCII."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from rich import box
from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from stockopt.errors import Note
from stockopt.fleet.tables import TABLES
from stockopt.report.run import Checked, Run
from stockopt.report.shown_cost import shown_cost
from stockopt.report.why_words import brief_worth, limit_text, limits_to_tell, step_text
from stockopt.report.words import (
    doubtful_text,
    money_text,
    share_text,
    source_text,
    sureness,
    what_if_lines,
    what_if_mark,
)

#: Most limits told of.
HELD = 4


def print_plan(console: Console, run: Run, written: Sequence[tuple[str, Path]]) -> None:
    """Print the summary of a plan and where its files are.

    Parameters
    ----------
    console
        Where to print.
    run
        The run.
    written
        What each file is, and where.
    """
    plan = run.plan
    head = f"{what_if_mark(plan)}{plan.fleet}, planned on {plan.planned_on.isoformat()}"
    console.print(Text(head, style="bold"))
    for line in what_if_lines(plan):
        console.print(indented(Text(line)))
    console.print(indented(_cost(run)))
    console.print(indented(_boats(run)))
    console.print(indented(_orders(run) if run.orders.orders else Text("Nothing to buy.")))
    if run.why.limits:
        console.print(indented(_held(run)))
    console.print(indented(_closing(len(plan.notes), written)))


def print_check(console: Console, checked: Checked) -> None:
    """Print that the tables hold no error, how long they are, and what is doubtful in them."""
    sizes = plain_table("Table", "Rows", right={"Rows"})
    for name in TABLES:
        rows = len(getattr(checked.fleet, name))
        if rows:
            sizes.add_row(name, f"{rows:,}")
    console.print(Text(f"{checked.fleet.name}: no errors", style="bold"))
    if sizes.rows:
        console.print(indented(sizes))
    if checked.unfilled:
        lead = "Still to be filled in before there is anything to plan:"
        _print_list(console, lead, [str(problem) for problem in checked.unfilled])
    if checked.notes:
        lead = f"{doubtful_text(len(checked.notes))}; none of them stops a plan:"
        _print_list(console, lead, [note_text(note) for note in checked.notes])
    else:
        console.print(indented(Text("Nothing doubtful was found.")))
    if checked.wishes:
        lead = "For a better answer, most valuable first:"
        _print_list(console, lead, [wish.text for wish in checked.wishes])


def _print_list(console: Console, lead: str, lines: Sequence[str]) -> None:
    console.print(indented(Text(lead)))
    listed = Table.grid(padding=(0, 1))
    for line in lines:
        listed.add_row("-", Text(line))
    console.print(Padding(listed, (0, 0, 0, 2), expand=False))


def note_text(note: Note) -> str:
    """Return a note as one line: where, and what."""
    row = f", row {note.row}" if note.row is not None else ""
    column = f", {note.column}" if note.column else ""
    return f"{note.table}{row}{column}: {note.text}"


def plain_table(*titles: str, right: set[str]) -> Table:
    """Return an empty table; names are never read as markup and may fold, numbers may not."""
    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, collapse_padding=True, padding=(0, 1), show_edge=False
    )
    for title in titles:
        number = title in right
        table.add_column(
            title, justify="right" if number else "left", no_wrap=number, overflow="fold"
        )
    return table


def indented(what: RenderableType, *, above: int = 1, left: int = 2) -> Padding:
    """Return something with blank lines above it and blanks at its left."""
    return Padding(what, (above, 0, 0, left), expand=False)


def _cost(run: Run) -> Table:
    cost, currency = shown_cost(run), run.plan.currency
    table = Table.grid(padding=(0, 2))
    table.add_column()
    table.add_column(justify="right", no_wrap=True)
    table.add_column()
    table.add_row("Spend now", money_text(cost.spend_now, currency), "goods and order charges")
    table.add_row(
        "Expected later",
        money_text(cost.expected_later, currency),
        "failures and wear, less what spares stay worth",
    )
    table.add_row("Together", money_text(cost.total, currency), sureness(run.plan), style="bold")
    return table


def _boats(run: Run) -> Table:
    changes: Counter[str] = Counter()
    for line in run.plan.carry:
        changes[line.boat] += line.replace_now
    measures = run.fleet.settings.measures
    spend = f"Spend, {run.plan.currency}"
    numbers = ("Departs", f"Spares, {measures.mass}", spend, "Readiness", "Replace now")
    table = plain_table("Boat", *numbers, right=set(numbers))
    for boat in run.plan.boats:
        limit = "" if boat.kg_limit is None else f" of {measures.of_mass(boat.kg_limit):,.0f}"
        table.add_row(
            Text(boat.boat),
            boat.departs_on.isoformat(),
            f"{measures.of_mass(boat.kg):,.0f}{limit}",
            f"{boat.spend_now:,.0f}",
            share_text(boat.readiness),
            f"{changes[boat.boat]}",
        )
    return table


def _orders(run: Run) -> Table:
    numbers = ("Lines", "Pieces", f"Total, {run.plan.currency}")
    table = plain_table("Order from", "For", *numbers, "Order by", right={*numbers, "Order by"})
    for order in run.orders.orders:
        table.add_row(
            Text(source_text(order.source)),
            Text(order.place),
            f"{len(order.lines)}",
            f"{sum(line.pieces for line in order.lines)}",
            f"{order.total:,.0f}",
            order.order_by.isoformat(),
        )
    return table


def _held(run: Run) -> Table:
    """Return the limits that hold something back, each with what a little more is worth."""
    currency, measures = run.plan.currency, run.fleet.settings.measures
    table = Table.grid(padding=(0, 2))
    limits = limits_to_tell(run.why.limits)
    for number, why in enumerate(limits[:HELD]):
        table.add_row(
            "Held back by" if number == 0 else "",
            Text(limit_text(why, currency, measures)),
            f"{step_text(why, currency, measures)}: {brief_worth(why, currency)}",
        )
    if not limits:
        table.add_row("Held back by", "no limit")
    elif len(limits) > HELD:
        table.add_row("", f"and {len(limits) - HELD} more: see the sheet 'At a glance'")
    return table


def _closing(notes: int, written: Sequence[tuple[str, Path]]) -> Group:
    table = Table.grid(padding=(0, 2))
    for what, path in written:
        table.add_row(what, Text(str(path), overflow="fold"))
    where = "; see the sheet 'Data notes'" if notes else ""
    table.add_row("Data", f"{doubtful_text(notes)}{where}")
    return Group(table)
