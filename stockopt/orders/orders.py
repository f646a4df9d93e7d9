"""What to order, from whom, by when, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from stockopt.landed.money import NO_MONEY, NOTHING, LineMoney

#: Of orders placed on the last day, the share that comes late: what `late_days` of a source says.
LATE_CHANCE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseLine:
    """One line of a purchase order. Money in the plan's currency, in whole cents.

    Parameters
    ----------
    part, name
        Which; of a set its own number, and what it holds.
    packs, pack
        Packs, and pieces in each.
    money
        The line: goods, freight by mass, duty, tax.
    charges
        Its share of the order's charges, by value of the goods.
    kg
        Of the line.
    asked, currency
        The price of one pack as the source asks it, and in which money.
    """

    part: str
    name: str
    packs: int
    pack: int
    money: LineMoney
    charges: Decimal
    kg: Decimal
    asked: Decimal
    currency: str

    @property
    def pieces(self) -> int:
        """Pieces in all packs."""
        return self.packs * self.pack

    @property
    def landed(self) -> Decimal:
        """The line in hand, with its share of the charges."""
        return self.money.landed + self.charges


@dataclass(frozen=True, slots=True, kw_only=True)
class LateBoat:
    """What one boat does where an order comes late: whatever costs least, part by part.

    Parameters
    ----------
    boat, needs_on
        Which, and when she leaves, or is where the order meets her.
    without
        (part, pieces) that she leaves without.
    bought_here
        (part, pieces) bought in the port at once instead.
    waits_for
        (part, pieces) that she may not leave without, as fewer than `carry_at_least` would be
        aboard, and that nobody sells there.
    cost
        Expected, in the plan's currency.
    """

    boat: str
    needs_on: date
    without: tuple[tuple[str, int], ...]
    bought_here: tuple[tuple[str, int], ...]
    waits_for: tuple[tuple[str, int], ...]
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseOrder:
    """One order to one source for one place.

    Parameters
    ----------
    source, kind, place, port
        Who is asked (local or mail), for whom, and the port it goes to.
    lines
        By part.
    freight, handling
        Once for the order.
    order_by, arrives_by
        Ordered by the first it is in hand by the second 9 times in 10.
    lead_days, late_days
        Usual days, and those that 1 order in 10 exceeds.
    late_by
        Days by which a late order is taken to be late.
    late
        Boats that do not get their pieces in time then; none where the shop has them at once.
    """

    source: str
    kind: str
    place: str
    port: str
    lines: tuple[PurchaseLine, ...]
    freight: Decimal
    handling: Decimal
    order_by: date
    arrives_by: date
    lead_days: float
    late_days: float
    late_by: int
    late: tuple[LateBoat, ...]

    @property
    def money(self) -> LineMoney:
        """The lines, column by column."""
        return sum((line.money for line in self.lines), NO_MONEY)

    @property
    def total(self) -> Decimal:
        """Everything to pay for the order."""
        return self.money.landed + self.freight + self.handling

    @property
    def kg(self) -> Decimal:
        """Mass of everything in it."""
        return sum((line.kg for line in self.lines), Decimal(0))

    @property
    def cost_if_late(self) -> float:
        """What it costs when the order is late."""
        return sum(boat.cost for boat in self.late)

    @property
    def expected_late_cost(self) -> float:
        """The same times the chance that it is late, ordered on the last day."""
        return LATE_CHANCE * self.cost_if_late


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """How a store keeps up one part over the season.

    Parameters
    ----------
    on_shelf
        Pieces on its shelf when its boats have taken theirs and the first of them departs.
    reorder_at, quantity, source
        Pieces left at which it reorders, how many, and from whom; "" where it reorders nothing.
    asked
        Pieces that its boats are expected to draw over the season.
    last_order_on
        Day after which it reorders nothing, as it would come too late; None where it never does.
    """

    on_shelf: int
    reorder_at: int
    quantity: int
    source: str
    asked: float
    last_order_on: date | None


#: By store and part. A place without one is reordered for before its last piece is gone.
Levels = Mapping[tuple[str, str], Level]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reorder:
    """When one place is expected to reorder one part.

    Parameters
    ----------
    place, part, name
        Which.
    in_hand
        Pieces at the place and aboard its boats once the plan is carried out; of a store with a
        level, on its shelf.
    reorder_at, quantity
        Pieces left at which it is reordered, and how many then; 0 where the place has no level of
        its own, or reorders nothing.
    chance
        That it comes to that before the last of its boats' legs ends.
    early, middle, late
        Days by which it has come to that 1, 5 and 9 times in 10; None for after the season.
    source, late_days
        From whom (the cheapest landed, or the level's), and the days that 1 order in 10 exceeds;
        "" where nobody sells it.
    order_by
        To have it in hand 9 times in 10 before it is short 9 times in 10: `early` less the late
        days, or `early` itself where the level sees to the days on the way; never before the plan.
        None where none is kept or the store does not reorder it, so that it is bought when needed,
        or where the boat is away from home by then.
    """

    place: str
    part: str
    name: str
    in_hand: int
    reorder_at: int
    quantity: int
    chance: float
    early: date
    middle: date | None
    late: date | None
    source: str
    late_days: float
    order_by: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders:
    """All orders.

    Parameters
    ----------
    orders
        To be placed now: the earliest order-by date first.
    reorders
        To be expected later, by `order_by`.
    """

    orders: tuple[PurchaseOrder, ...]
    reorders: tuple[Reorder, ...]

    @property
    def total(self) -> Decimal:
        """Everything to pay for the orders to be placed now."""
        return sum((order.total for order in self.orders), NOTHING)


#: Nothing to order.
NO_ORDERS = Orders(orders=(), reorders=())
