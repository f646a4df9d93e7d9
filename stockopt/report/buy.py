"""Sheet "Buy": one order per source and place, with order-by dates, charges and totals."""

from __future__ import annotations

from itertools import groupby

from stockopt.plan import OrderCharge, OrderLine, Plan
from stockopt.report.run import Run
from stockopt.report.sheet import Column, Look, Row, Sheet, Table
from stockopt.report.words import pieces_text, what_if_mark


def _columns(currency: str) -> tuple[Column, ...]:
    return (
        Column(title="Done", width=6, kind="tick"),
        Column(title="Part", width=16),
        Column(title="Name", width=40, kind="prose"),
        Column(title="Packs", width=8, kind="whole"),
        Column(title="Pieces", width=8, kind="whole"),
        Column(title=f"Price each, {currency}", width=13, kind="money"),
        Column(title=f"Landed each, {currency}", width=13, kind="money"),
        Column(title=f"Line total, {currency}", width=15, kind="money"),
        Column(title="Order by", width=12, kind="date"),
        Column(title="In hand by", width=12, kind="date"),
    )


def buy_sheet(run: Run) -> Sheet:
    """Return every order with its lines, its charges and its sum, and the sum of all."""
    plan = run.plan
    rows: list[Row] = []
    for (source, place), lines in orders_of(plan):
        rows += _order_rows(source, place, lines, _charges_of(plan, source, place))
    rows.append(_sum_row("Everything to spend now", plan.cost.spend_now, "total"))
    return Sheet(
        name="Buy",
        title=f"{what_if_mark(plan)}Buy",
        lead=(
            "Landed each = price, duty, tax and freight by mass of one piece. The charges of an "
            "order (freight once, handling once) are lines of their own.",
            "Ordered by the first date, it is in hand by the second 9 times in 10.",
        ),
        tables=(Table(columns=_columns(plan.currency), rows=tuple(rows)),),
        after=() if plan.orders else ("Nothing to buy.",),
    )


def orders_of(plan: Plan) -> list[tuple[tuple[str, str], list[OrderLine]]]:
    """Return the order lines by (source, place): the earliest order-by date first."""
    lines = sorted(plan.orders, key=lambda line: (line.source, line.place))
    orders = [
        (key, sorted(group, key=lambda line: (line.order_by, line.part)))
        for key, group in groupby(lines, key=lambda line: (line.source, line.place))
    ]
    return sorted(orders, key=lambda order: (order[1][0].order_by, order[0]))


def order_total(plan: Plan, source: str, place: str) -> float:
    """Return what one order costs in all, its charges included."""
    goods = sum(
        line.landed * line.pieces
        for line in plan.orders
        if (line.source, line.place) == (source, place)
    )
    return goods + sum(
        charge.freight + charge.handling for charge in _charges_of(plan, source, place)
    )


def _charges_of(plan: Plan, source: str, place: str) -> list[OrderCharge]:
    return [c for c in plan.charges if (c.source, c.place) == (source, place)]


def _order_rows(
    source: str, place: str, lines: list[OrderLine], charges: list[OrderCharge]
) -> list[Row]:
    kind = "mail order" if lines[0].kind == "mail" else "local"
    rows = [
        Row(cells=(f"{source} ({kind}), for {place}: order by {lines[0].order_by}",), look="group")
    ]
    total = 0.0
    for line in lines:
        cost = line.landed * line.pieces
        total += cost
        prices = (line.price, line.landed, cost)
        dates = (line.order_by, line.arrives_by)
        rows.append(
            Row(cells=(None, line.part, line.name, line.packs, line.pieces, *prices, *dates))
        )
    for charge in charges:
        for name, cost in (("Freight, once", charge.freight), ("Handling, once", charge.handling)):
            if cost:
                total += cost
                rows.append(Row(cells=("", "", name, *(None,) * 4, cost, None, None)))
    return [*rows, _sum_row(f"{source}, {pieces_text(len(lines), 'line')}", total, "subtotal")]


def _sum_row(text: str, total: float, look: Look) -> Row:
    return Row(cells=(None, None, text, *(None,) * 4, total, None, None), look=look)
