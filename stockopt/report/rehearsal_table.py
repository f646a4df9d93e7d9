"""A rehearsal, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from stockopt.rehearsal.rehearsal import Rehearsal, Side, StressRehearsed
from stockopt.report.chart import marks_for
from stockopt.report.rehearsal_words import (
    STRESS_MEANING,
    fate_words,
    figure_text,
    line_text,
    rules_words,
    seasons_words,
    told_seen_texts,
    total_texts,
    totals_words,
)
from stockopt.report.terminal import indented, plain_table
from stockopt.report.words import share_text

#: Rows of the histogram, and its longest bar.
BARS, LONGEST = 12, 40
#: Parts shown that make seasons bad.
WORST = 6
#: Lines shown that would change.
CHANGES = 8


def print_rehearsal(console: Console, rehearsal: Rehearsal) -> None:
    """Print a rehearsal: told and seen, seasons, boats, parts, rules, worse circumstances."""
    title = (
        f"{rehearsal.fleet}, planned on {rehearsal.planned_on.isoformat()}: rehearsed through "
        f"{rehearsal.seasons:,} seasons"
    )
    console.print(Text(title, style="bold"))
    console.print(indented(_totals(rehearsal)))
    for number, text in enumerate(totals_words(rehearsal)):
        console.print(indented(Text(text), above=0 if number else 1))
    console.print(indented(Text(seasons_words(rehearsal), style="bold")))
    for line in draw_histogram(rehearsal, console.encoding):
        console.print(indented(Text(line), above=0))
    console.print(indented(_boats(rehearsal)))
    console.print(indented(_parts(rehearsal)))
    if rehearsal.rules:
        console.print(indented(Text("Rules of thumb on the same seasons", style="bold")))
        console.print(indented(_rules(rehearsal)))
        for text in rules_words(rehearsal):
            console.print(indented(Text(text), above=0))
    if rehearsal.stresses:
        console.print(indented(Text("Worse circumstances", style="bold")))
        console.print(indented(_stresses(rehearsal)))
        for text in STRESS_MEANING:
            console.print(indented(Text(text), above=0))
        for stress in rehearsal.stresses:
            for shown in _changes(stress):
                console.print(shown)


def draw_histogram(rehearsal: Rehearsal, encoding: str) -> list[str]:
    """Return the lines of a histogram of the money that goes out in a season."""
    mark = marks_for(encoding).lives
    edges, counts = _merge(rehearsal.spread.edges, rehearsal.spread.seasons)
    most = max(counts)
    width = max(len(f"{edge:,.0f}") for edge in edges)
    lines = []
    for number, count in enumerate(counts):
        last = number == len(counts) - 1
        to = "or more".ljust(width + 3) if last else f"to {edges[number + 1]:>{width},.0f}"
        share = share_text(count / rehearsal.seasons)
        bar = mark * round(LONGEST * count / most)
        lines.append(f"{edges[number]:>{width},.0f} {to} {share:>11} {bar}".rstrip())
    return lines


def _merge(edges: Sequence[float], counts: Sequence[int]) -> tuple[list[float], list[int]]:
    """Return a histogram of fewer classes."""
    step = max(len(counts) // BARS, 1)
    places = range(0, len(counts), step)
    return (
        [*(edges[place] for place in places), edges[-1]],
        [sum(counts[place : place + step]) for place in places],
    )


def _totals(rehearsal: Rehearsal) -> Table:
    numbers = ("Told", "Seen", "95 % interval")
    table = plain_table("", *numbers, "", right=set(numbers))
    for what, *texts, agrees in total_texts(rehearsal):
        table.add_row(Text(what), *texts, "" if agrees else "differs")
    return table


def _boats(rehearsal: Rehearsal) -> Table:
    numbers = ("Ready, told", "seen", "95 % interval", "Pays later", "bad seasons")
    table = plain_table("Boat", *numbers, right=set(numbers))
    for boat in rehearsal.boats:
        table.add_row(
            Text(boat.boat),
            *told_seen_texts(boat.readiness),
            f"{boat.money:,.0f}",
            f"{boat.bad_money:,.0f}",
        )
    return table


def _parts(rehearsal: Rehearsal) -> Table:
    numbers = ("On average", "In bad ones", "Fill rate, told", "seen")
    table = plain_table("Parts behind bad seasons", *numbers, right=set(numbers))
    for part in rehearsal.parts[:WORST]:
        fill = part.fill_rate
        table.add_row(
            Text(f"{part.name} ({part.part})"),
            f"{part.money:,.0f}",
            f"{part.bad_money:,.0f}",
            "-" if fill is None else figure_text(fill.told, fill.kind),
            "-" if fill is None else figure_text(fill.seen.mean, fill.kind),
        )
    return table


_SIDE = ("Spend now", "Together", "1 in 10 bad", "Ready", "Short")


def _side(side: Side) -> tuple[str, ...]:
    return (
        f"{side.spend_now:,.0f}",
        f"{side.total.mean:,.0f}",
        f"{side.bad_out:,.0f}",
        share_text(side.readiness.mean),
        figure_text(side.shortages.mean, "number"),
    )


def _rules(rehearsal: Rehearsal) -> Table:
    table = plain_table("", *_SIDE, right=set(_SIDE))
    table.add_row(Text(rehearsal.plan.name, style="bold"), *_side(rehearsal.plan))
    for one in rehearsal.rules:
        mark = "*" if one.rule.broken else ""
        table.add_row(Text(one.rule.name + mark), *_side(one.rule))
        if one.same_money is not None:
            table.add_row(Text("  with its money"), *_side(one.same_money))
    if any(one.rule.broken for one in rehearsal.rules):
        table.caption = "* breaks limits of weight, room or money"
        table.caption_justify = "left"
    return table


def _stresses(rehearsal: Rehearsal) -> Table:
    table = plain_table("", *_SIDE, right=set(_SIDE))
    table.add_row(Text(rehearsal.plan.name, style="bold"), *_side(rehearsal.plan))
    for stress in rehearsal.stresses:
        table.add_row(Text(stress.what), *("",) * len(_SIDE))
        table.add_row(Text("  as it stands"), *_side(stress.plan))
        if stress.replanned is not None:
            table.add_row(Text("  made for it"), *_side(stress.replanned))
    return table


def _changes(stress: StressRehearsed) -> Iterator[object]:
    """Yield what would change under one of the circumstances."""
    if fate := fate_words(stress):
        yield indented(Text(fate))
    pieces = [change for change in stress.changes if not change.only_source]
    if not pieces:
        return
    table = plain_table("Boat", "Part", "Now", "Then", right=set())
    for change in pieces[:CHANGES]:
        table.add_row(
            Text(change.boat),
            Text(change.part),
            Text(line_text(change.before)),
            Text(line_text(change.after)),
        )
    yield indented(table, above=0, left=4)
    if len(stress.changes) > CHANGES:
        yield indented(Text("All of them: see --json or --report."), above=0)
