"""Sheet "Store levels": what each store's shelf begins the season with, and when to reorder."""

from __future__ import annotations

from itertools import groupby

from stockopt.choices.dead_line import DeadStock
from stockopt.plan import Plan
from stockopt.program.store_lines import StoreLine
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Row, Sheet, Table, plain_rows
from stockopt.report.words import pieces_text, what_if_mark

_LEAD = (
    "Level: pieces on the shelf once the boats have taken theirs and the first departs. When "
    "'reorder at' pieces are left, order 'quantity' from the source, one order at a time; after "
    "the last day an order would come too late.",
    "On the shelf: the share of the pieces asked for that the store has. Where a shop sells a part "
    "at once at a fair price, nothing need be kept: 'buy when needed'.",
    "Cost of the season: order charges (shared with what else is ordered from the source that "
    "week), reordered pieces, money tied up, and pieces the store has not got. Lead times: half "
    "the orders take longer than the usual days, 1 in 10 longer than the late days.",
)


def store_sheets(run: Run) -> list[Sheet]:
    """Return the sheet, none where no boat has a store and no stock is dead."""
    if not run.plan.stores:
        dead = _list_dead(run)
        title = f"{what_if_mark(run.plan)}Dead stock"
        return [Sheet(name="Dead stock", title=title, tables=dead)] if dead else []
    tables = [
        _store_table(run, store, list(lines))
        for store, lines in groupby(run.plan.stores, key=lambda line: line.store)
    ]
    return [
        Sheet(
            name="Store levels",
            title=f"{what_if_mark(run.plan)}Store levels",
            lead=(*_LEAD, *_tell_first_day(run.plan.stores), tell_rounds(run.plan)),
            tables=(*tables, *_list_dead(run)),
        )
    ]


def _list_dead(run: Run) -> tuple[Table, ...]:
    """Return the table of stock that nothing is likely to need, if there is any."""
    lines = run.plan.dead_stock
    if not lines:
        return ()
    rows = plain_rows(
        (line.part, line.name, line.pieces, line.place, line.why, line.money) for line in lines
    )
    total = Row(
        cells=("", "All of it", sum(line.pieces for line in lines), "", "", _add_money(lines)),
        look="total",
    )
    return (
        Table(
            heading="Dead stock",
            lead=(
                "Pieces out of date, of no use to any machine in the fleet, or beyond what must be "
                "carried and what all needs of this plan and a year after it exceed 1 time in 100. "
                "The money in them is at the usual price. Sell them, give them back, or fit them "
                "first.",
            ),
            columns=(
                Column(title="Part", width=14),
                Column(title="Name", width=36, kind="prose"),
                Column(title="Pieces", width=8, kind="whole"),
                Column(title="Where", width=24, span=3),
                Column(title="Why", width=48, kind="prose", span=4),
                Column(title=f"Money in it, {run.plan.currency}", width=13, kind="money"),
            ),
            rows=(*rows, total),
        ),
    )


def _add_money(lines: tuple[DeadStock, ...]) -> float:
    return sum(line.money for line in lines)


def _tell_first_day(lines: tuple[StoreLine, ...]) -> tuple[str, ...]:
    """Say what is ordered as the season begins: its money is in no budget."""
    found = [
        f"{line.order_quantity} x {line.part} from {line.source} for {line.store}"
        for line in lines
        if line.source and line.level <= line.reorder_point
    ]
    if not found:
        return ()
    return (
        f"Order on the first day, as its source brings none before: {', '.join(found)}. The money "
        "for it is among what is expected later, beyond any budget for now.",
    )


def tell_rounds(plan: Plan) -> str:
    """Say how many rounds boats and stores took, and what differs still."""
    rounds = plan.rounds
    word = "round" if rounds.number == 1 else "rounds"
    state = "agree" if rounds.agreed else "do not fully agree"
    held = (
        f" {pieces_text(rounds.held, 'line')} stand as they were settled so; the rest is proven "
        "with them as they are."
        if rounds.held
        else ""
    )
    return (
        f"Boats and stores were planned in turn and {state} after {rounds.number} {word}: what "
        f"boats wait for a store differs by at most {rounds.days:.1f} days from what they count "
        f"on, and a fill rate by at most {100 * rounds.fill_rate:.0f} %.{held}"
    )


def _store_table(run: Run, store: str, lines: list[StoreLine]) -> Table:
    currency = run.plan.currency
    total = Row(
        cells=(
            "",
            f"All parts of {store}",
            *(sum(getattr(line, name) for line in lines) for name in _COUNTED),
            "",
            None,
            None,
            None,
            None,
            None,
            sum(line.expected_orders for line in lines),
            sum(line.expected_cost for line in lines),
            sum(line.capital for line in lines),
        ),
        look="total",
    )
    return Table(
        heading=store,
        columns=(
            Column(title="Part", width=14),
            Column(title="Name", width=36, kind="prose"),
            Column(title="In stock", width=8, kind="whole"),
            Column(title="To boats", width=8, kind="whole"),
            Column(title="From others", width=8, kind="whole"),
            Column(title="Buy for it", width=8, kind="whole"),
            Column(title="Level", width=8, kind="whole"),
            Column(title="Source", width=22),
            Column(title="Reorder at", width=9, kind="whole"),
            Column(title="Quantity", width=9, kind="whole"),
            Column(title="Last order", width=12, kind="date"),
            Column(title="Asked for", width=9, kind="number"),
            Column(title="On the shelf", width=9, kind="share"),
            Column(title="Orders", width=8, kind="number"),
            Column(title=f"Cost of the season, {currency}", width=13, kind="money"),
            Column(title=f"Money tied up, {currency}", width=13, kind="money"),
        ),
        rows=(*_rows(lines), total),
    )


def _rows(lines: list[StoreLine]) -> tuple[Row, ...]:
    """Return what is kept first: those are the rows that a person counts and orders by."""
    kept = [line for line in lines if line.level or line.source]
    bare = [line for line in lines if not (line.level or line.source)]
    if not kept or not bare:
        return plain_rows(_row(line) for line in lines)
    return (
        Row(cells=("Kept on the shelf",), look="group"),
        *plain_rows(_row(line) for line in kept),
        Row(cells=("Nothing kept: bought when needed",), look="group"),
        *plain_rows(_row(line) for line in bare),
    )


_COUNTED = ("on_hand", "moved_out", "moved_in", "buy", "level")


def _row(line: StoreLine) -> tuple[Cell, ...]:
    orders = bool(line.source)
    empty = "buy when needed" if line.level == 0 else "no reordering"
    origins = (f"{pieces} from {place}" for place, pieces in line.moved_from)
    return (
        line.part,
        "; ".join((line.name, *origins)),
        *(getattr(line, name) or None for name in _COUNTED[:-1]),
        line.level if line.level or orders else None,
        line.source if orders else empty,
        line.reorder_point if orders else None,
        line.order_quantity if orders else None,
        line.last_order_on,
        line.expected_asked,
        line.fill_rate if line.level or orders else None,
        line.expected_orders or None,
        line.expected_cost,
        line.capital or None,
    )
