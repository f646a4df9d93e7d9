"""Sheet "Why", and what holds the plan back: what each piece saves, and what stops one more."""

from __future__ import annotations

from stockopt.report.run import Run
from stockopt.report.sheet import Column, Sheet, Table, plain_rows
from stockopt.report.why_words import (
    UNNOTICED,
    amount_text,
    is_nearly_worth_it,
    limit_text,
    limits_to_tell,
    step_text,
    stops_text,
    worth_text,
)
from stockopt.report.words import money_text, pieces_text
from stockopt.units import Measures
from stockopt.why.why import LimitWhy, LineWhy

#: Most limits told of on the first page.
MOST_LIMITS = 8
#: Most changes told of beside each.
MOST_TOLD = 2


def limits_table(run: Run) -> Table:
    """Return what holds the plan back and what a little more of it is worth; no rows for none."""
    currency, measures = run.plan.currency, run.fleet.settings.measures
    held = limits_to_tell(run.why.limits)
    rows = [
        (
            limit_text(why, currency, measures),
            amount_text(why, why.used, currency, measures),
            step_text(why, currency, measures),
            worth_text(why, currency),
            _changes_text(why.changes),
        )
        for why in held[:MOST_LIMITS]
    ]
    return Table(
        heading="What holds the plan back, and what a little more is worth",
        lead=_limits_lead(run, len(held)),
        columns=(
            Column(title="Limit", width=24, kind="prose"),
            Column(title="Used", width=16),
            Column(title="Changed by", width=14, kind="prose"),
            Column(title="What that is worth", width=35, kind="prose", span=3),
            Column(title="What the plan would then do", width=46, kind="prose", span=3),
        ),
        rows=plain_rows(rows),
    )


def _changes_text(changes: tuple[str, ...]) -> str:
    """Tell the first few changes: enough to judge by on the first page."""
    rest = ("and others",) if len(changes) > MOST_TOLD else ()
    return "; ".join((*changes[:MOST_TOLD], *rest))


def _limits_lead(run: Run, held: int) -> tuple[str, ...]:
    asked = run.why.asked
    lines = [
        "Solved again with the change, not guessed: the saving of the best plan lies between the "
        "two amounts."
        if asked
        else "Not solved again: 'stockopt plan --explain' says what a little more is worth."
    ]
    if held > MOST_LIMITS:
        lines.append(f"The {MOST_LIMITS} first of {held}; the others are in the JSON.")
    return (*lines, *slack_lines(run.why.limits, run.plan.currency))


def slack_lines(limits: tuple[LimitWhy, ...], currency: str) -> tuple[str, ...]:
    """Say how many limits hold nothing back, and the most that any of them could be worth."""
    slack = [why for why in limits if why.state == "slack"]
    if not slack:
        return ()
    most = max((why.saves_high for why in slack if why.saves_high is not None), default=None)
    proven = ""
    if most is not None:
        saved = "nothing" if most < UNNOTICED else f"at most {money_text(most, currency)}"
        proven = f": loosening them all saves {saved}"
    hold = "holds" if len(slack) == 1 else "hold"
    return (f"{pieces_text(len(slack), 'limit')} {hold} nothing back{proven}.",)


def why_sheets(run: Run) -> list[Sheet]:
    """Return the sheet of the lines, where they were explained."""
    return [_why_sheet(run)] if run.why.lines else []


def _why_sheet(run: Run) -> Sheet:
    """Return what each piece carried saves and what stops one more, to filter and sort."""
    known = {(line.boat, line.part): (line.name, line.carry) for line in run.plan.carry}
    known |= {(line.store, line.part): (line.name, line.level) for line in run.plan.stores}
    rows = [
        _line_row(*known[why.boat, why.part], why, run.fleet.settings.measures)
        for why in (*run.why.lines, *run.why.shelves)
        if (why.boat, why.part) in known
        and (known[why.boat, why.part][1] or is_nearly_worth_it(why))
    ]
    return Sheet(
        name="Why",
        title="Why so many, and not one more",
        lead=(
            "What the last piece carried takes off the expected cost later ('floor': it is carried "
            "whatever it saves), what one more would take off, what it would cost now, and what "
            "stops it, with everything else of the plan left as it is. A piece's worth when left "
            "over is counted in what it saves. Parts not carried are listed where one would nearly "
            "pay, or is kept ashore by a limit. Stores stand last, with the level of their shelf.",
            "'Costs': landed, in whole packs less what is left of them, with the charges of an "
            "order not placed so far; a piece from a store costs what it would be worth unused.",
        ),
        tables=(Table(columns=_line_columns(run), rows=plain_rows(rows)),),
        sortable=True,
        fixed_columns=3,
    )


def _line_columns(run: Run) -> tuple[Column, ...]:
    currency, mass = run.plan.currency, run.fleet.settings.measures.mass
    return (
        Column(title="Boat or store", width=13, kind="prose"),
        Column(title="Part", width=12),
        Column(title="Name", width=34, kind="prose"),
        Column(title="Carry", width=7, kind="whole"),
        Column(title=f"The last saves, {currency}", width=11, kind="money"),
        Column(title=f"One more saves, {currency}", width=11, kind="money"),
        Column(title=f"It costs, {currency}", width=11, kind="money"),
        Column(title=f"It weighs, {mass}", width=9, kind="number"),
        Column(title="From", width=25, kind="prose"),
        Column(title="What stops it", width=36, kind="prose"),
    )


def _line_row(
    name: str, carry: int, why: LineWhy, measures: Measures
) -> tuple[str | int | float | None, ...]:
    words = stops_text(why, measures)
    if why.more_pieces > 1:
        words = f"{why.more_pieces} more: {words}"
    if why.last_pieces > 1:
        words = f"{words} (the last {why.last_pieces} together)"
    return (
        why.boat,
        why.part,
        name,
        carry,
        "floor" if why.at_floor and why.last_saves is None else why.last_saves,
        why.more_saves,
        why.more_cost,
        measures.of_mass(why.more_kg) or None,
        why.more_from,
        words,
    )
