"""A look back, for the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from stockopt.lookback.lookback import Lookback
from stockopt.lookback.replay import Replayed
from stockopt.report.lookback_words import (
    SCORING,
    TAKEN,
    aside_words,
    cheapest_words,
    covered_words,
    interval_text,
    known_words,
    met_words,
    missed_text,
    part_text,
    split_words,
    title_words,
    told_rows,
    verdict_words,
)
from stockopt.report.terminal import indented, note_text, plain_table
from stockopt.report.words import brief, share_text

#: Parts and shortages shown.
PARTS, MISSED = 15, 8


def print_lookback(console: Console, look: Lookback) -> None:
    """Print a look back: told and came, money beside rules of thumb, boats, parts, the verdict."""
    console.print(Text(title_words(look), style="bold"))
    console.print(indented(Text(known_words(look)), above=0))
    for note in look.notes:
        console.print(indented(Text(note_text(note)), above=0))
    console.print(indented(_told(look)))
    for words in (met_words(look.plan), *aside_words(look)):
        console.print(indented(Text(words), above=0))
    console.print(indented(_money(look)))
    if look.rules:
        console.print(indented(Text(cheapest_words(look)), above=0))
    console.print(indented(_boats(look)))
    if look.plan.missed:
        console.print(indented(_missed(look)))
        more = len(look.plan.missed) - MISSED
        if more > 0:
            console.print(indented(Text(f"and {more} more: see --json or --report."), above=0))
    console.print(indented(_parts(look)))
    console.print(indented(Text(verdict_words(look.scores), style="bold")))
    if look.scores.parts:
        for words in (split_words(look.scores), covered_words(look.scores), *SCORING):
            console.print(indented(Text(words), above=0))
    console.print(indented(Text("What is taken to have been", style="bold")))
    for words in TAKEN:
        console.print(indented(Text(words), above=0))


def _told(look: Lookback) -> Table:
    table = plain_table("", "Told", "Came", right={"Told", "Came"})
    for what, told, came in told_rows(look):
        table.add_row(what, told, came)
    return table


_MONEY = ("Spend now", "Later", "Worth left", "Together", "Met", "Short", "Left")


def _money(look: Lookback) -> Table:
    table = plain_table(look.currency, *_MONEY, right=set(_MONEY))
    for one in (look.plan, *look.rules):
        table.add_row(Text(one.name), *_row(one))
    return table


def _row(one: Replayed) -> tuple[str, ...]:
    return (
        f"{one.spend_now:,.0f}",
        f"{one.later:,.0f}",
        f"{one.worth_left:,.0f}",
        f"{one.total:,.0f}",
        str(one.covered),
        str(one.short),
        str(one.left),
    )


def _boats(look: Lookback) -> Table:
    numbers = ("Needed", "told", "Short", "told ", "Ready, told", "Paid later")
    table = plain_table("Boat", *numbers, "Stopped", right=set(numbers))
    for boat in look.boats:
        table.add_row(
            Text(boat.boat),
            str(boat.needed),
            brief(boat.told_need),
            str(boat.short),
            brief(boat.told_short),
            share_text(boat.readiness),
            f"{boat.money:,.0f}",
            "yes" if boat.stopped else "no",
        )
    return table


def _missed(look: Lookback) -> Table:
    table = plain_table("Short on", "Boat", "Part", "Why", right=set())
    for one in look.plan.missed[:MISSED]:
        table.add_row(
            one.on.isoformat(),
            Text(one.boat),
            Text(f"{look.names[one.part]} ({one.part})"),
            missed_text(one),
        )
    return table


def _parts(look: Lookback) -> Table:
    numbers = ("Failed", "Told", "90 %", "Last year's", "Scores", "against")
    table = plain_table("Part", *numbers, right=set(numbers))
    for part in look.scores.parts[:PARTS]:
        table.add_row(
            Text(part_text(part)),
            str(part.actual),
            brief(part.forecast.mean, 2),
            interval_text(part.forecast.low, part.forecast.high),
            brief(part.last_year.mean, 2),
            f"{part.forecast.log_score:.2f}",
            f"{part.last_year.log_score:.2f}",
        )
    more = len(look.scores.parts) - PARTS
    if more > 0:
        table.caption = f"and {more} more: see --json or --report"
        table.caption_justify = "left"
    return table
