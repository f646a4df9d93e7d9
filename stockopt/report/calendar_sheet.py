"""Sheet "Calendar": what to order by when, over the season."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from stockopt.orders.orders import PurchaseOrder, Reorder
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Row, Sheet, Table
from stockopt.report.words import pieces_text, source_text, what_if_mark

NOW = "to place now"
WHEN_NEEDED = (
    "no date: none is kept or the store keeps what it has without reordering, so bought when "
    "needed; or the boat is away from home by then"
)


def calendar_sheet(run: Run) -> Sheet:
    """Return the orders to place now, and those to be expected, month by month."""
    entries: list[tuple[date, tuple[Cell, ...]]] = [
        (order.order_by, _order_cells(order)) for order in run.orders.orders
    ]
    entries += [(one.order_by, _reorder_cells(one)) for one in run.orders.reorders if one.order_by]
    undated = [_reorder_cells(one) for one in run.orders.reorders if one.order_by is None]
    rows = _by_month(entries)
    if undated:
        rows.append(Row(cells=(f"With {WHEN_NEEDED}",), look="group"))
        rows += [Row(cells=cells) for cells in undated]
    return Sheet(
        name="Calendar",
        title=f"{what_if_mark(run.plan)}Order-by dates over the season",
        lead=(
            "Orders of this plan have a certain date. The others are forecasts for the time after "
            "it is carried out: the day on which a store's shelf comes down to its reorder point "
            "(or a place without one, with all that lies aboard its boats, has used its last "
            "piece), with the interval in which that falls 8 times in 10. Empty: after the season.",
            "Order by: that day, taken early, less the days on the way where no reorder point sees "
            "to them. What is less likely than 1 in 10 is not listed. Count the shelf before you "
            "order, and plan again: a forecast is no count.",
        ),
        tables=(
            Table(
                columns=(
                    Column(title="Done", width=6, kind="tick"),
                    Column(title="Order by", width=12, kind="date"),
                    Column(title="From", width=24, kind="prose"),
                    Column(title="For", width=20, kind="prose"),
                    Column(title="Part", width=14),
                    Column(title="What", width=38, kind="prose"),
                    Column(title="In hand", width=8, kind="whole"),
                    Column(title="Reorder at", width=9, kind="whole"),
                    Column(title="Order", width=7, kind="whole"),
                    Column(title="Chance this season", width=10, kind="share"),
                    Column(title="Comes to it: 1 in 10 by", width=12, kind="date"),
                    Column(title="5 in 10 by", width=12, kind="date"),
                    Column(title="9 in 10 by", width=12, kind="date"),
                ),
                rows=tuple(rows),
            ),
        ),
        after=() if rows else ("Nothing to order.",),
    )


def _by_month(entries: Iterable[tuple[date, tuple[Cell, ...]]]) -> list[Row]:
    rows: list[Row] = []
    month = ""
    for day, cells in sorted(entries, key=lambda entry: entry[0]):
        if f"{day:%Y-%m}" != month:
            month = f"{day:%Y-%m}"
            rows.append(Row(cells=(month,), look="group"))
        rows.append(Row(cells=cells))
    return rows


def _order_cells(order: PurchaseOrder) -> tuple[Cell, ...]:
    what = f"This plan's order, {pieces_text(len(order.lines), 'line')}, {NOW}"
    place = (None, order.order_by, source_text(order.source), order.place, "", what)
    return (*place, None, None, sum(line.pieces for line in order.lines), *(None,) * 4)


def _reorder_cells(one: Reorder) -> tuple[Cell, ...]:
    return (
        None,
        one.order_by,
        source_text(one.source),
        one.place,
        one.part,
        one.name,
        one.in_hand,
        one.reorder_at,
        one.quantity or None,
        one.chance,
        one.early,
        one.middle,
        one.late,
    )
