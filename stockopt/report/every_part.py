"""Sheet "Every part": what was decided for each part on each boat, also where that is nothing."""

from __future__ import annotations

from stockopt.report.run import Run
from stockopt.report.sheet import Column, Sheet, Table, plain_rows


def every_part_sheet(run: Run) -> Sheet:
    """Return every boat and part fitted to her, to filter and sort."""
    rows = [
        (
            line.boat,
            line.part,
            line.name,
            line.on_hand,
            line.carry,
            line.replace_now,
            line.buy,
            line.moved,
            "yes" if line.restock else "no",
            line.floor or None,
            line.expected_need,
            line.expected_shortages,
            line.shortage_chance,
            line.expected_cost,
        )
        for line in run.plan.carry
    ]
    return Sheet(
        name="Every part",
        title="Every part on every boat",
        lead=(
            "Where no spare is carried, a shortage is expected to cost less than the spare, or the "
            "limits leave no room for it. 'Restock': spares used are made up in port on the way.",
        ),
        tables=(Table(columns=_columns(run.plan.currency), rows=plain_rows(rows)),),
        sortable=True,
        fixed_columns=3,
    )


def _columns(currency: str) -> tuple[Column, ...]:
    return (
        Column(title="Boat", width=13, kind="prose"),
        Column(title="Part", width=12),
        Column(title="Name", width=36, kind="prose"),
        Column(title="On hand", width=8, kind="whole"),
        Column(title="Carry", width=7, kind="whole"),
        Column(title="Replace now", width=9, kind="whole"),
        Column(title="Buy", width=6, kind="whole"),
        Column(title="From store", width=8, kind="whole"),
        Column(title="Restock", width=9),
        Column(title="Never fewer than", width=8, kind="whole"),
        Column(title="Pieces needed, expected", width=10, kind="number"),
        Column(title="Pieces short, expected", width=10, kind="number"),
        Column(title="Chance of shortage", width=10, kind="share"),
        Column(title=f"Expected cost later, {currency}", width=12, kind="money"),
    )
