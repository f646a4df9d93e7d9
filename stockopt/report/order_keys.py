"""Purchase orders and the calendar as keys and plain values; money of orders in whole cents."""

from __future__ import annotations

from datetime import date

from stockopt.orders.orders import (
    LATE_CHANCE,
    LateBoat,
    Orders,
    PurchaseLine,
    PurchaseOrder,
    Reorder,
)
from stockopt.plan import OrderLine
from stockopt.report.landed_keys import money_keys
from stockopt.report.plain_numbers import Keys, money, number


def purchase_keys(order: PurchaseOrder) -> Keys:
    """Return one purchase order."""
    return {
        "source": order.source,
        "kind": order.kind,
        "place": order.place,
        "port": order.port,
        "order_by": order.order_by.isoformat(),
        "arrives_by": order.arrives_by.isoformat(),
        "lead_days": number(order.lead_days),
        "late_days": number(order.late_days),
        "lines": [_line(line) for line in order.lines],
        **money_keys(order.money),
        "order_freight": float(order.freight),
        "handling": float(order.handling),
        "total": float(order.total),
        "kg": float(order.kg),
        "if_late": {
            "chance": LATE_CHANCE if order.late else 0.0,
            "days": order.late_by,
            "cost": money(order.cost_if_late),
            "expected_cost": money(order.expected_late_cost),
            "boats": [_late(boat) for boat in order.late],
        },
    }


def cents_of(line: OrderLine, orders: Orders) -> Keys:
    """Return what the purchase orders say of one line of the plan: its money in cents, its mass."""
    return next(
        (
            {
                **money_keys(found.money),
                "charges": float(found.charges),
                "line_total": float(found.landed),
                "kg": float(found.kg),
            }
            for order in orders.orders
            if (order.source, order.place) == (line.source, line.place)
            for found in order.lines
            if (found.part, found.packs, found.pieces) == (line.part, line.packs, line.pieces)
        ),
        {},
    )


def _line(line: PurchaseLine) -> Keys:
    return {
        "part": line.part,
        "name": line.name,
        "packs": line.packs,
        "pack": line.pack,
        "pieces": line.pieces,
        "pack_price": float(line.asked),
        "currency": line.currency,
        **money_keys(line.money),
        "charges": float(line.charges),
        "landed": float(line.landed),
        "kg": float(line.kg),
    }


def _late(boat: LateBoat) -> Keys:
    return {
        "boat": boat.boat,
        "needs_on": boat.needs_on.isoformat(),
        "without": _pieces(boat.without),
        "bought_here": _pieces(boat.bought_here),
        "waits_for": _pieces(boat.waits_for),
        "cost": money(boat.cost),
    }


def _pieces(pieces: tuple[tuple[str, int], ...]) -> list[Keys]:
    return [{"part": part, "pieces": count} for part, count in pieces]


def reorder_keys(one: Reorder) -> Keys:
    """Return one reorder to be expected."""
    return {
        "place": one.place,
        "part": one.part,
        "name": one.name,
        "in_hand": one.in_hand,
        "reorder_at": one.reorder_at,
        "quantity": one.quantity,
        "chance": number(one.chance),
        "early": one.early.isoformat(),
        "middle": _day(one.middle),
        "late": _day(one.late),
        "source": one.source,
        "late_days": number(one.late_days),
        "order_by": _day(one.order_by),
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
