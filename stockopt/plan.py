"""The plan: what to carry, change and buy, with every total recomputed without the solver."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockopt.errors import Note


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Money: spent now, expected later, and both."""

    spend_now: float
    expected_later: float
    total: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatLine:
    """One boat: what she carries in all and what she risks.

    `spend_now` is the landed cost of the pieces bought for her, with the charges of orders
    delivered to her alone; a store's order charges are in no boat's.
    `readiness` is the chance of no shortage of any `stops` part.
    """

    boat: str
    departs_on: date
    kg: float
    kg_limit: float | None
    litres: float
    litres_limit: float | None
    spend_now: float
    budget: float | None
    readiness: float
    expected_shortages: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryLine:
    """One part on one boat: what is aboard, what goes aboard, what is changed now."""

    boat: str
    part: str
    name: str
    on_hand: int
    carry: int
    replace_now: int
    restock: bool
    buy: int
    moved: int
    floor: int
    kg: float
    litres: float
    expected_need: float
    shortage_chance: float
    expected_shortages: float
    expected_cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One part of one order. `price` and `landed` are of one piece, in the plan's currency.

    Ordered by `order_by`, it is in hand by `arrives_by`, the first departure that waits for it,
    9 times in 10.
    """

    source: str
    kind: str
    place: str
    part: str
    name: str
    packs: int
    pieces: int
    price: float
    landed: float
    order_by: date
    arrives_by: date


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderCharge:
    """What one order costs beside its lines: freight once and handling once."""

    source: str
    place: str
    freight: float
    handling: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything that was decided.

    Parameters
    ----------
    fleet, planned_on, currency
        What was planned, for which day, in which money.
    status, bound, gap, seconds
        How sure it is, from the solver.
    cost, boats, carry, orders, charges
        The plan. Lines of `carry` are there for every boat and part fitted to her.
    notes
        Every doubtful thing met on the way.
    """

    fleet: str
    planned_on: date
    currency: str
    status: str
    bound: float
    gap: float
    seconds: float
    cost: Cost
    boats: tuple[BoatLine, ...]
    carry: tuple[CarryLine, ...]
    orders: tuple[OrderLine, ...]
    charges: tuple[OrderCharge, ...]
    notes: tuple[Note, ...]
