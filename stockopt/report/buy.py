"""Sheets "Buy": every order with its lines, charges and totals; then each order by itself."""

from __future__ import annotations

from decimal import Decimal
from itertools import groupby

from stockopt.landed.money import LineMoney
from stockopt.orders.orders import PurchaseLine, PurchaseOrder
from stockopt.report.late_words import late_lead, late_row
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Look, Row, Sheet, Table
from stockopt.report.words import pieces_text, source_text, what_if_mark
from stockopt.units import Measures

ROUNDING = (
    "Each column of a line is rounded half up to the cent and worked out from the printed ones "
    "before it; sums are sums of printed figures."
)


def buy_sheets(run: Run) -> list[Sheet]:
    """Return the sheet of all orders, and one for each source."""
    orders = sorted(run.orders.orders, key=lambda order: order.source)
    return [
        buy_sheet(run),
        *(
            _source_sheet(run, source, list(some))
            for source, some in groupby(orders, key=lambda order: order.source)
        ),
    ]


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
    rows: list[Row] = []
    for order in run.orders.orders:
        rows += _order_rows(order)
    rows.append(_sum_row("Everything to spend now", run.orders.total, "total"))
    return Sheet(
        name="Buy",
        title=f"{what_if_mark(run.plan)}Buy",
        lead=(
            "Line total = price, duty, tax and freight by mass; price and landed each are that of "
            "one piece. The charges of an order (freight once, handling once) are lines of their "
            f"own. {ROUNDING}",
            "Ordered by the first date, it is in hand by the second 9 times in 10. Each source has "
            "a sheet of its own, with what happens if its order is late.",
        ),
        tables=(Table(columns=_columns(run.plan.currency), rows=tuple(rows)),),
        after=() if run.orders.orders else ("Nothing to buy.",),
    )


def _order_rows(order: PurchaseOrder) -> list[Row]:
    source = source_text(order.source)
    heading = f"{source} ({_kind(order)}), for {order.place}: order by {order.order_by}"
    rows = [Row(cells=(heading,), look="group")]
    for line in order.lines:
        prices = (line.money.goods / line.pieces, line.money.landed / line.pieces)
        cells: tuple[Cell, ...] = (None, line.part, line.name, line.packs, line.pieces)
        money = (*map(float, prices), float(line.money.landed))
        rows.append(Row(cells=(*cells, *money, order.order_by, order.arrives_by)))
    for name, cost in (("Freight, once", order.freight), ("Handling, once", order.handling)):
        if cost:
            rows.append(Row(cells=("", "", name, *(None,) * 4, float(cost), None, None)))
    text = f"{source}, {pieces_text(len(order.lines), 'line')}"
    return [*rows, _sum_row(text, order.total, "subtotal")]


def _kind(order: PurchaseOrder) -> str:
    return "mail order" if order.kind == "mail" else "local"


def _sum_row(text: str, total: Decimal, look: Look) -> Row:
    return Row(cells=(None, None, text, *(None,) * 4, float(total), None, None), look=look)


def _source_sheet(run: Run, source: str, orders: list[PurchaseOrder]) -> Sheet:
    """Return the orders to one source, one for each place, each on a page of its own."""
    tables: list[Table] = []
    for number, order in enumerate(orders):
        tables.append(_purchase_table(run, order, new_page=number > 0))
        if order.late:
            tables.append(_late_table(order, run.plan.currency))
    return Sheet(
        name=f"Buy, {source}",
        title=f"{what_if_mark(run.plan)}Order to {source_text(source)}",
        lead=(ROUNDING,),
        tables=tuple(tables),
    )


def _purchase_table(run: Run, order: PurchaseOrder, *, new_page: bool) -> Table:
    measures, currency = run.fleet.settings.measures, run.plan.currency
    asked = " and ".join(sorted({line.currency for line in order.lines}))
    at = f" to {order.port}" if order.port else ""
    return Table(
        heading=f"For {order.place}, delivered{at}",
        lead=(
            f"Order by {order.order_by}: in hand by {order.arrives_by} 9 times in 10 (usually "
            f"{order.lead_days:g} days, 1 order in 10 takes over {order.late_days:g}).",
            f"Charges of the order, shared out by value: freight once {order.freight:,.2f}, "
            f"handling once {order.handling:,.2f} {currency}.",
        ),
        columns=(
            Column(title="Done", width=6, kind="tick"),
            Column(title="Part", width=15),
            Column(title="Name", width=36, kind="prose"),
            Column(title="Packs", width=7, kind="whole"),
            Column(title="Pieces", width=8, kind="whole"),
            Column(title=f"Mass, {measures.mass}", width=9, kind="number"),
            Column(title=f"Price of a pack, {asked}", width=11, kind="money"),
            Column(title=f"Goods, {currency}", width=15, kind="money"),
            Column(title="Freight by mass", width=13, kind="money"),
            Column(title="Duty", width=13, kind="money"),
            Column(title="Tax", width=13, kind="money"),
            Column(title="Share of charges", width=13, kind="money"),
            Column(title=f"Landed, {currency}", width=15, kind="money"),
        ),
        rows=(
            *(_purchase_row(line, measures) for line in order.lines),
            _purchase_sum(order, measures),
        ),
        new_page=new_page,
    )


def _purchase_row(line: PurchaseLine, measures: Measures) -> Row:
    what: tuple[Cell, ...] = (None, line.part, line.name, line.packs, line.pieces)
    mass = measures.of_mass(float(line.kg))
    money = (*_columns_of(line.money), line.charges, line.landed)
    return Row(cells=(*what, mass, float(line.asked), *map(float, money)))


def _purchase_sum(order: PurchaseOrder, measures: Measures) -> Row:
    pieces = sum(line.pieces for line in order.lines)
    what: tuple[Cell, ...] = (None, None, pieces_text(len(order.lines), "line"), None, pieces)
    mass = measures.of_mass(float(order.kg))
    money = (*_columns_of(order.money), order.freight + order.handling, order.total)
    return Row(cells=(*what, mass, None, *map(float, money)), look="total")


def _columns_of(money: LineMoney) -> tuple[Decimal, ...]:
    return money.goods, money.freight, money.duty, money.tax


def _late_table(order: PurchaseOrder, currency: str) -> Table:
    total = Row(
        cells=("All boats", None, None, None, None, order.cost_if_late),
        look="total",
    )
    return Table(
        heading="If it is late",
        lead=(late_lead(order, currency),),
        columns=(
            Column(title="Boat", width=21, span=2),
            Column(title="Leaves without", width=60, kind="prose", span=4),
            Column(title="Buys in port instead", width=39, kind="prose", span=3),
            Column(title="Waits for", width=26, kind="prose", span=2),
            Column(title="Needs it on", width=13, kind="date"),
            Column(title=f"Costs, {currency}", width=15, kind="money"),
        ),
        rows=(*(Row(cells=late_row(boat)) for boat in order.late), total),
    )
