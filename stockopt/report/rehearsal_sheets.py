"""Sheet "Rehearsal": told and seen, the seasons as a chart, rules, worse circumstances."""

from __future__ import annotations

from stockopt.rehearsal.rehearsal import Rehearsal, Side
from stockopt.report.rehearsal_words import (
    STRESS_MEANING,
    fate_words,
    line_text,
    rules_words,
    seasons_words,
    total_texts,
    totals_words,
)
from stockopt.report.sheet import Cell, Chart, Column, Row, Sheet, Table, columns_alike, plain_rows

#: Of most columns.
WIDTH = 14
#: Parts shown that make seasons bad.
WORST = 15


def rehearsal_sheets(rehearsal: Rehearsal) -> list[Sheet]:
    """Return the sheets: one of what was seen and, where asked, one of lines that would change."""
    title = (
        f"Rehearsal of {rehearsal.fleet}, planned on {rehearsal.planned_on.isoformat()}: "
        f"{rehearsal.seasons:,} seasons"
    )
    tables = [_totals(rehearsal), _seasons(rehearsal), _boats(rehearsal), _parts(rehearsal)]
    if rehearsal.rules:
        tables.append(_rules(rehearsal))
    if rehearsal.stresses:
        tables.append(_stresses(rehearsal))
    sheets = [
        Sheet(
            name="Rehearsal",
            title=title,
            lead=totals_words(rehearsal),
            tables=tuple(tables),
        )
    ]
    if any(stress.changes for stress in rehearsal.stresses):
        sheets.append(_changes(rehearsal))
    return sheets


def _totals(rehearsal: Rehearsal) -> Table:
    return Table(
        heading="Told by the plan, seen in the seasons",
        columns=(
            Column(title="What", width=30),
            *columns_alike("text", WIDTH, "Told", "Seen"),
            Column(title="95 % interval", width=WIDTH, span=2),
            Column(title="Within chance?", width=WIDTH),
        ),
        rows=plain_rows(
            (*texts, "yes" if agrees else "differs") for *texts, agrees in total_texts(rehearsal)
        ),
    )


def _seasons(rehearsal: Rehearsal) -> Table:
    spread = rehearsal.spread
    rows = [
        (f"{edge:,.0f} up", count, count / rehearsal.seasons)
        for edge, count in zip(spread.edges, spread.seasons, strict=False)
    ]
    return Table(
        heading="How seasons differ",
        lead=(seasons_words(rehearsal),),
        columns=(
            Column(title=f"Money out, {rehearsal.currency}", width=30),
            Column(title="Seasons", width=WIDTH, kind="whole"),
            Column(title="Share of seasons", width=WIDTH, kind="share"),
        ),
        rows=plain_rows(rows),
        chart=Chart(
            title="Seasons by the money that goes out",
            across=f"money out, {rehearsal.currency}",
            up="seasons",
            kind="columns",
            labels=1,
            values=(2,),
            beside=4,
        ),
    )


def _boats(rehearsal: Rehearsal) -> Table:
    return Table(
        heading="Boats",
        new_page=True,
        columns=(
            Column(title="Boat", width=30),
            *columns_alike("share", WIDTH, "Readiness, told", "Seen", "From", "To"),
            *columns_alike("money", WIDTH, f"Pays later, {rehearsal.currency}", "In bad seasons"),
        ),
        rows=plain_rows(
            (
                boat.boat,
                boat.readiness.told,
                boat.readiness.seen.mean,
                boat.readiness.seen.low,
                boat.readiness.seen.high,
                boat.money,
                boat.bad_money,
            )
            for boat in rehearsal.boats
        ),
    )


def _parts(rehearsal: Rehearsal) -> Table:
    rows = [
        (
            f"{part.name} ({part.part})",
            part.money,
            part.bad_money,
            part.need.told,
            part.need.seen.mean,
            None if part.fill_rate is None else part.fill_rate.told,
            None if part.fill_rate is None else part.fill_rate.seen.mean,
        )
        for part in rehearsal.parts[:WORST]
    ]
    return Table(
        heading="Parts behind bad seasons",
        columns=(
            Column(title="Part", width=30, kind="prose"),
            *columns_alike("money", WIDTH, f"On average, {rehearsal.currency}", "In bad seasons"),
            *columns_alike("number", WIDTH, "Pieces needed, told", "Seen"),
            *columns_alike("share", WIDTH, "Met by a spare, told", "Seen"),
        ),
        rows=plain_rows(rows),
    )


def _side_columns(first: str, currency: str) -> tuple[Column, ...]:
    return (
        Column(title=first, width=30, kind="prose"),
        *columns_alike("money", WIDTH, f"Spend now, {currency}", "Together"),
        *columns_alike("money", WIDTH, "1 season in 10 takes more than"),
        *columns_alike("share", WIDTH, "All boats ready", "Least ready boat"),
        Column(title="Pieces short", width=WIDTH, kind="number"),
        Column(title="Limits broken", width=40, kind="prose"),
    )


def _side(side: Side, name: str) -> tuple[Cell, ...]:
    return (
        name,
        side.spend_now,
        side.total.mean,
        side.bad_out,
        side.readiness.mean,
        side.least_ready,
        side.shortages.mean,
        "; ".join(side.broken),
    )


def _rules(rehearsal: Rehearsal) -> Table:
    rows = [_side(rehearsal.plan, rehearsal.plan.name)]
    for one in rehearsal.rules:
        rows.append(_side(one.rule, one.rule.name))
        if one.same_money is not None:
            rows.append(_side(one.same_money, f"with the money of: {one.rule.name}"))
    return Table(
        heading="Rules of thumb on the same seasons",
        lead=rules_words(rehearsal),
        new_page=True,
        columns=_side_columns("Plan or rule", rehearsal.currency),
        rows=plain_rows(rows),
    )


def _stresses(rehearsal: Rehearsal) -> Table:
    rows = [Row(cells=_side(rehearsal.plan, rehearsal.plan.name))]
    for stress in rehearsal.stresses:
        rows.append(Row(cells=(stress.what,), look="group"))
        rows.append(Row(cells=_side(stress.plan, "as it stands")))
        if stress.replanned is not None:
            rows.append(Row(cells=_side(stress.replanned, "made for it")))
    return Table(
        heading="Worse circumstances",
        lead=(*STRESS_MEANING, *filter(None, map(fate_words, rehearsal.stresses))),
        new_page=True,
        columns=_side_columns("Circumstances", rehearsal.currency),
        rows=tuple(rows),
    )


def _changes(rehearsal: Rehearsal) -> Sheet:
    rows: list[Row] = []
    for stress in rehearsal.stresses:
        if stress.changes:
            rows.append(Row(cells=(stress.what,), look="group"))
        rows += plain_rows(
            (
                change.boat,
                f"{change.name} ({change.part})",
                line_text(change.before),
                line_text(change.after),
            )
            for change in stress.changes
        )
    return Sheet(
        name="What would change",
        title="Lines that a plan made for worse circumstances would have otherwise",
        tables=(
            Table(
                columns=(
                    Column(title="Boat", width=18),
                    Column(title="Part", width=40, kind="prose"),
                    Column(title="In the plan", width=40, kind="prose"),
                    Column(title="Made for it", width=40, kind="prose"),
                ),
                rows=tuple(rows),
            ),
        ),
    )
