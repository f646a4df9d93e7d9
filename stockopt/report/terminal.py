"""What the commands print: short, 80 columns wide, readable on a terminal that knows only ASCII."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from rich import box
from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from stockopt.ageing.ageing import PartAgeing
from stockopt.errors import Note
from stockopt.fleet.tables import TABLES
from stockopt.report.buy import order_total, orders_of
from stockopt.report.part_lives import part_names, pieces_watched
from stockopt.report.run import Checked, PartLives, Run
from stockopt.report.words import (
    ageing_text,
    brief,
    money_text,
    pieces_text,
    range_text,
    share_text,
    sureness,
    unit_text,
)


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
    console.print(Text(f"{plan.fleet}, planned on {plan.planned_on.isoformat()}", style="bold"))
    console.print(_indented(_cost(run)))
    console.print(_indented(_boats(run)))
    console.print(_indented(_orders(run) if plan.orders else Text("Nothing to buy.")))
    console.print(_indented(_closing(len(plan.notes), written)))


def print_check(console: Console, checked: Checked) -> None:
    """Print that the tables hold no error, how long they are, and what is doubtful in them."""
    sizes = _table("Table", "Rows", right={"Rows"})
    for name in TABLES:
        rows = len(getattr(checked.fleet, name))
        if rows:
            sizes.add_row(name, f"{rows:,}")
    console.print(Text(f"{checked.fleet.name}: no errors", style="bold"))
    console.print(_indented(sizes))
    if not checked.notes:
        console.print(_indented(Text("Nothing doubtful was found.")))
        return
    console.print(_indented(Text(f"{_doubtful(len(checked.notes))}; none of them stops a plan:")))
    notes = Table.grid(padding=(0, 1))
    for note in checked.notes:
        notes.add_row("-", Text(note_text(note)))
    console.print(Padding(notes, (0, 0, 0, 2), expand=False))


def print_lives(console: Console, studied: PartLives) -> None:
    """Print how long each part lasts, two lines a part: what it is, then its numbers."""
    names, watched = part_names(studied), pieces_watched(studied)
    heads = ["", *(_what_it_is(part, names) for part in studied.ageing.parts.values())]
    numbers = [
        ("failed, of, in", "per 1,000 (90 %)", "mean life (90 %)"),
        *(_its_numbers(part, watched) for part in studied.ageing.parts.values()),
    ]
    widths = [max(len(row[column]) for row in numbers) for column in range(3)]
    console.print(Text(f"{studied.fleet.name}: how long parts last", style="bold"))
    for head, row in zip(heads, numbers, strict=True):
        cells = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        console.print(Text(f"{head}\n  {cells.rstrip()}"))
    console.print(
        _indented(
            Text(
                "Failed: failures, of the pieces watched, in the hours (h) or days they ran. "
                "Per 1,000: failures per 1,000 h or days, from the records alone. Mean life weighs "
                "the records with what was expected; 'no records' rests on expectation alone. "
                "(90 %): the range that holds the true value 9 times in 10.\n"
                f"{_doubtful(len(studied.notes))}."
            )
        )
    )


def _what_it_is(part: PartAgeing, names: Mapping[str, str]) -> str:
    records = ", no records" if part.prior_only else ""
    return f"{part.part}  {names.get(part.part, '')}: {ageing_text(part)}{records}"


def _its_numbers(part: PartAgeing, watched: Mapping[str, int]) -> tuple[str, str, str]:
    unit = unit_text(part.clock)
    rate = "unknown"
    if part.rate_per_1000 is not None:
        rate = f"{brief(part.rate_per_1000)} ({range_text(part.rate_low, part.rate_high)})"
    return (
        f"{part.failures} of {watched.get(part.part, 0)} in {part.exposure:,.0f} {unit}",
        rate,
        f"{brief(part.mean_life)} {unit} ({range_text(part.mean_life_low, part.mean_life_high)})",
    )


def note_text(note: Note) -> str:
    """Return a note as one line: where, and what."""
    row = f", row {note.row}" if note.row is not None else ""
    column = f", {note.column}" if note.column else ""
    return f"{note.table}{row}{column}: {note.text}"


def _table(*titles: str, right: set[str]) -> Table:
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


def _indented(what: RenderableType) -> Padding:
    return Padding(what, (1, 0, 0, 2), expand=False)


def _doubtful(count: int) -> str:
    return f"{pieces_text(count, 'doubtful thing')} in the tables" if count else "Nothing doubtful"


def _cost(run: Run) -> Table:
    cost, currency = run.plan.cost, run.plan.currency
    table = Table.grid(padding=(0, 2))
    table.add_column()
    table.add_column(justify="right", no_wrap=True)
    table.add_column()
    table.add_row("Spend now", money_text(cost.spend_now, currency), "goods and order charges")
    table.add_row(
        "Expected later",
        money_text(cost.expected_later, currency),
        "failures, less what is left at the end",
    )
    table.add_row("Together", money_text(cost.total, currency), sureness(run.plan), style="bold")
    return table


def _boats(run: Run) -> Table:
    changes: Counter[str] = Counter()
    for line in run.plan.carry:
        changes[line.boat] += line.replace_now
    numbers = ("Departs", "Spares, kg", "Spend now", "Readiness", "Replace now")
    table = _table("Boat", *numbers, right=set(numbers))
    for boat in run.plan.boats:
        limit = "" if boat.kg_limit is None else f" of {boat.kg_limit:,.0f}"
        table.add_row(
            Text(boat.boat),
            boat.departs_on.isoformat(),
            f"{boat.kg:,.0f}{limit}",
            f"{boat.spend_now:,.0f}",
            share_text(boat.readiness),
            f"{changes[boat.boat]}",
        )
    return table


def _orders(run: Run) -> Table:
    plan = run.plan
    numbers = ("Lines", "Pieces", "Total")
    table = _table("Order from", "For", *numbers, "Order by", right={*numbers, "Order by"})
    for (source, place), lines in orders_of(plan):
        table.add_row(
            Text(source),
            Text(place),
            f"{len(lines)}",
            f"{sum(line.pieces for line in lines)}",
            f"{order_total(plan, source, place):,.0f}",
            lines[0].order_by.isoformat(),
        )
    return table


def _closing(notes: int, written: Sequence[tuple[str, Path]]) -> Group:
    table = Table.grid(padding=(0, 2))
    for what, path in written:
        table.add_row(what, Text(str(path), overflow="fold"))
    where = "; see the sheet 'Data notes'" if notes else ""
    table.add_row("Data", f"{_doubtful(notes)}{where}")
    return Group(table)
