"""What happens if an order comes late, in words."""

from __future__ import annotations

from stockopt.orders.orders import LATE_CHANCE, LateBoat, PurchaseOrder
from stockopt.report.sheet import Cell
from stockopt.report.words import money_text, pieces_text


def late_lead(order: PurchaseOrder, currency: str) -> str:
    """Say how often an order is late, what is taken, and what is expected of it."""
    return (
        f"Ordered on the last day it is late 1 time in {1 / LATE_CHANCE:.0f}; it is then taken to "
        f"be late by {pieces_text(order.late_by, 'day')}. Each boat does what costs least, part by "
        "part: she leaves without and makes do, until she is next at home; or it is bought in the "
        "port at once and the late one is left over; what carry_at_least forbids her to leave "
        f"without she waits for. That costs {money_text(order.cost_if_late, currency)} when it "
        f"happens, {money_text(order.expected_late_cost, currency)} on average."
    )


def late_row(boat: LateBoat) -> tuple[Cell, ...]:
    """Return the cells of one boat: what she leaves without, buys instead, waits for, and cost."""
    return (
        boat.boat,
        some_text(boat.without),
        some_text(boat.bought_here),
        some_text(boat.waits_for),
        boat.needs_on,
        boat.cost,
    )


def some_text(pieces: tuple[tuple[str, int], ...]) -> str:
    """Return pieces of parts as a list.

    Examples
    --------
    >>> some_text((("SEAL-7", 2), ("BELT-1", 1)))
    '2 x SEAL-7, 1 x BELT-1'
    """
    return ", ".join(f"{count} x {part}" for part, count in pieces)
