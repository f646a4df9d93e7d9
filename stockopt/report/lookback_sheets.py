"""Sheets "Looked back", "Counts" and "Short": what was told, what came, and what it cost."""

from __future__ import annotations

from stockopt.lookback.lookback import Lookback
from stockopt.lookback.score import CLASSES
from stockopt.report.lookback_words import (
    SCORING,
    TAKEN,
    aside_words,
    cheapest_words,
    covered_words,
    known_words,
    met_words,
    missed_text,
    split_words,
    title_words,
    told_rows,
    verdict_words,
)
from stockopt.report.sheet import Cell, Chart, Column, Sheet, Table, columns_alike, plain_rows
from stockopt.report.terminal import note_text

#: Parts drawn in the chart, those of which most failed.
DRAWN = 15


def lookback_sheets(look: Lookback) -> list[Sheet]:
    """Return the sheets."""
    first = Sheet(
        name="Looked back",
        title=title_words(look),
        lead=(known_words(look), met_words(look.plan), *aside_words(look)),
        tables=(_told(look), _money(look), _boats(look), _places(look)),
        after=(*TAKEN, *(note_text(note) for note in look.notes)),
    )
    counts = Sheet(
        name="Counts",
        title="How many failed of each part, and how many were foretold",
        lead=(verdict_words(look.scores), split_words(look.scores), covered_words(look.scores)),
        tables=(_parts(look),),
        after=SCORING,
    )
    return [first, counts, *([_short(look)] if look.plan.missed else [])]


def _told(look: Lookback) -> Table:
    return Table(
        heading="Told by the plan, and what came",
        columns=(
            Column(title="What", width=30),
            *columns_alike("text", 14, "Told", "Came"),
        ),
        rows=plain_rows(told_rows(look)),
    )


def _money(look: Lookback) -> Table:
    titles = (
        "Spend now",
        "Changes before departure",
        "Failures",
        "Shortages",
        "Restocking",
        "Stores",
        "Worth left",
        "Together",
    )
    rows: list[tuple[Cell, ...]] = [
        (
            one.name,
            one.spend_now,
            one.fitting,
            one.failing,
            one.shortages,
            one.restocking,
            one.stores,
            -one.worth_left,
            one.total,
            one.covered,
            one.short,
            one.left,
        )
        for one in (look.plan, *look.rules)
    ]
    pieces = ("Met by a spare", "Short", "Unused")
    return Table(
        heading=f"Money, {look.currency}, of the plan and of rules of thumb on the same history",
        lead=(cheapest_words(look),) if look.rules else (),
        columns=(
            Column(title="", width=30),
            *columns_alike("money", 14, *titles),
            *columns_alike("whole", 12, *pieces),
        ),
        rows=plain_rows(rows),
        chart=Chart(
            title="What it came to together",
            across="",
            up=look.currency,
            kind="columns",
            labels=1,
            values=(9,),
        ),
    )


def _boats(look: Lookback) -> Table:
    return Table(
        heading="Boats",
        new_page=True,
        columns=(
            Column(title="Boat", width=30),
            Column(title="Season until", width=14, kind="date"),
            Column(title="Needed, told", width=14, kind="number"),
            Column(title="Needed", width=14, kind="whole"),
            Column(title="Short, told", width=14, kind="number"),
            Column(title="Short", width=14, kind="whole"),
            Column(title="Readiness, told", width=14, kind="share"),
            Column(title="Stopped?", width=14),
            Column(title=f"Paid later, {look.currency}", width=14, kind="money"),
        ),
        rows=plain_rows(
            (
                boat.boat,
                boat.ends_on,
                boat.told_need,
                boat.needed,
                boat.told_short,
                boat.short,
                boat.readiness,
                "stopped" if boat.stopped else "no",
                boat.money,
            )
            for boat in look.boats
        ),
    )


def _parts(look: Lookback) -> Table:
    return Table(
        heading="Parts",
        columns=(
            Column(title="Part", width=14),
            Column(title="Name", width=34, kind="prose"),
            *columns_alike("whole", 12, "Failed"),
            *columns_alike("number", 12, "Told", "Last year's rate"),
            *columns_alike("whole", 12, "90 % from", "to"),
            Column(title="Inside?", width=12),
            *columns_alike("whole", 12, "Failed last year"),
            *columns_alike("number", 12, "Log score", "Last year's", "Better by"),
        ),
        rows=plain_rows(
            (
                part.part,
                part.name,
                part.actual,
                part.forecast.mean,
                part.last_year.mean,
                part.forecast.low,
                part.forecast.high,
                "yes" if part.forecast.inside else "no",
                part.failed_last_year,
                part.forecast.log_score,
                part.last_year.log_score,
                part.better,
            )
            for part in look.scores.parts
        ),
        chart=Chart(
            title="Failures: what came, what was told, last year's rate",
            across="part",
            up="failures over the fleet",
            kind="columns",
            labels=1,
            values=(3, 4, 5),
            rows=min(DRAWN, len(look.scores.parts)),
        ),
    )


def _places(look: Lookback) -> Table:
    step = 100 // CLASSES
    return Table(
        heading="Where the counts fell in what was held possible",
        lead=(
            "A forecast that is right has about a fifth of the counts in each fifth. Many in the "
            "last: more fails than is told; many in both ends: it is surer than it should be.",
        ),
        columns=(
            Column(title="Chance told of fewer, %", width=30),
            Column(title="Share of parts", width=12, kind="share"),
        ),
        rows=plain_rows(
            (f"{place * step} to {(place + 1) * step}", share)
            for place, share in enumerate(look.scores.places)
        ),
    )


def _short(look: Lookback) -> Sheet:
    missed = Table(
        columns=(
            Column(title="Day", width=14, kind="date"),
            Column(title="Boat", width=20),
            Column(title="Machine", width=24),
            Column(title="Part", width=14),
            Column(title="Name", width=36, kind="prose"),
            Column(title="Why", width=14),
        ),
        rows=plain_rows(
            (one.on, one.boat, one.machine, one.part, look.names[one.part], missed_text(one))
            for one in look.plan.missed
        ),
    )
    return Sheet(
        name="Short",
        title="Pieces that were needed and not aboard under the plan",
        tables=(missed,),
        sortable=True,
    )
