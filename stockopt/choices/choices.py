"""The choices, as one value: from here on there are costs, chances and limits, no probability."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from stockopt.choices.dead_line import DeadStock
from stockopt.choices.store_part import StorePart
from stockopt.errors import Note
from stockopt.sourcing import Charges, Offer
from stockopt.units import Measures


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One way to look after one part on one boat.

    Parameters
    ----------
    carry
        Pieces aboard at departure as spares (n).
    replace_now
        Oldest fitted pieces changed before departure (f).
    restock
        True where spares used are made up at every chance on the way.
    later_cost
        Expected cost after today: failures under way, shortages, pieces restocked, fitting the
        `replace_now` pieces, and the worth of what is used up: unspent life of the fitted pieces
        and her own spares today, less both at the end (spares left ashore among them).
    shortage_chance
        Chance of any shortage on the whole plan.
    expected_shortages, expected_need
        Expected pieces short, and expected pieces needed, on the whole plan.
    restock_cost
        The part of `later_cost` that pays for pieces restocked on the way.
    used_up_cost
        The part of `later_cost` that parts used up with this one bear: what they would cost more
        later than with the number replaced now that they are weighed with. 0 at that number.
    own_left
        Her own pieces that expire under way, left ashore although they could go: none, or all.
    ahead, ahead_at
        Pieces ordered now that meet her at a port on her way, and that port; 0 and "" for none.
    """

    carry: int
    replace_now: int
    restock: bool
    later_cost: float
    shortage_chance: float
    expected_shortages: float
    expected_need: float
    restock_cost: float
    used_up_cost: float = 0.0
    own_left: int = 0
    ahead: int = 0
    ahead_at: str = ""

    @property
    def pieces(self) -> int:
        """Pieces needed before departure, n + f."""
        return self.carry + self.replace_now

    @property
    def aboard(self) -> int:
        """Most spares aboard at a time: those carried and those that meet her, none used yet."""
        return self.carry + self.ahead


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A port on a boat's way where mail orders can meet her: when she is there, and the offers."""

    port: str
    arrives_on: date
    offers: tuple[Offer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """A port where spares can be made up on the way.

    Parameters
    ----------
    port, price
        Where, and what one piece costs there.
    quoted
        True where a source quotes it there; False where its price is the port's factor times the
        cheapest quote, or the usual price.
    premium
        Share by which it is dearer than the cheapest at home.
    """

    port: str
    price: float
    quoted: bool
    premium: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatPart:
    """One part on one boat: what can be chosen, and where pieces can come from.

    Parameters
    ----------
    boat, part, name
        Which.
    on_hand
        Her own pieces, aboard or due before she departs, that are in date then; free, and they
        need not go along.
    floor
        carry_at_least: every choice carries at least this.
    pin
        Every choice carries exactly this, as asked; None where it is to be chosen.
    kg, litres
        Of one spare.
    leftover
        Worth at the end of one unused piece; what a piece drawn from the store's stock costs,
        and what a surplus piece of a pack is credited. Below every landed cost.
    choices
        At least one; none is worse than another in everything.
    offers
        Offers that arrive before she departs, cheapest first; sets that hold the part among them.
    expiring
        Pieces of `on_hand` that expire before the end of her plan.
    movable
        Pieces of `on_hand` that other boats of her harbour can have where she does not need
        them: in hand, and in date to the end of every plan there.
    uses
        (other part, pieces of it used up) with each piece replaced now.
    ahead
        Ports on her way where mail orders can meet her, as named by choices with pieces ahead.
    stops
        True where its shortage stops the boat: counts for readiness.
    restock_at
        Where its spares would be made up, in the order of her legs.
    too_late
        Day by which the first offer that comes too late is in hand; None where there is none.
    weighed
        All the choices weighed, where only some of them are left in `choices`.
    """

    boat: str
    part: str
    name: str
    on_hand: int
    floor: int
    pin: int | None = None
    kg: float
    litres: float
    stops: bool
    leftover: float
    choices: tuple[Choice, ...]
    offers: tuple[Offer, ...]
    expiring: int = 0
    movable: int = 0
    uses: tuple[tuple[str, int], ...] = ()
    ahead: tuple[Ahead, ...] = ()
    restock_at: tuple[Stop, ...] = ()
    too_late: date | None = None
    weighed: tuple[Choice, ...] = ()

    def count_wanted(self, choice: Choice) -> int:
        """Return the pieces that a choice wants beyond her own, before departure."""
        return max(0, choice.pieces - (self.on_hand - choice.own_left))

    def count_spare(self, choice: Choice) -> int:
        """Return her own lasting pieces that a choice leaves ashore, of use for something else.

        What is replaced now takes pieces that expire under way first, as it is fitted at once.
        """
        fitted = max(0, choice.replace_now - (self.expiring - choice.own_left))
        return max(0, self.on_hand - self.expiring - fitted - choice.carry)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatLimits:
    """What one boat can take; None for no limit.

    `place` is where orders for her are delivered: her store, which shares the order with the
    store's other boats, or the boat herself. Boats of one `harbour` share the stock of its stores
    and what each has too much of; "" for one that shares with her store alone. `shelf_of` names the
    store whose shelf this is, "" for a boat, see :mod:`stockopt.choices.shelves`.
    """

    boat: str
    place: str
    departs_on: date
    kg: float | None
    litres: float | None
    budget: float | None
    harbour: str = ""
    shelf_of: str = ""


def name_ahead(boat: str, port: str) -> str:
    """Return the place to which an order is delivered that meets a boat in a port on her way."""
    return f"{boat} in {port}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Everything the program needs.

    Parameters
    ----------
    boats
        By boat; the shelves of stores among them.
    parts
        Sorted by boat, part; the shelves' among them.
    charges
        By (source, place), the places where orders meet boats (:func:`name_ahead`) among them.
    stock
        By (store, part): pieces in the store's stock that boats can draw on, in hand or due
        before the first of them departs.
    budget, readiness
        For the whole fleet, and for each boat; None for no limit.
    notes
        What had to be assumed.
    currency
        Of all money, to name it.
    measures
        The units in which people read masses and room; all numbers here are kg and litres.
    stores
        By store, part: what stands behind the choices of the shelves.
    dead_stock
        Pieces in hand that nothing is likely to need.
    """

    boats: Mapping[str, BoatLimits]
    parts: tuple[BoatPart, ...]
    charges: Mapping[tuple[str, str], Charges]
    stock: Mapping[tuple[str, str], int]
    budget: float | None
    readiness: float | None
    notes: tuple[Note, ...]
    currency: str = ""
    measures: Measures = field(default_factory=Measures)
    stores: tuple[StorePart, ...] = ()
    dead_stock: tuple[DeadStock, ...] = ()

    @property
    def size(self) -> int:
        """Return how much there is to choose from: choices and offers, over every boat's parts."""
        return sum(len(part.choices) + len(part.offers) for part in self.parts)

    def is_shelf(self, boat: str) -> bool:
        """Return whether what stands among the boats is a store's shelf."""
        return self.boats[boat].shelf_of != ""

    @property
    def afloat(self) -> tuple[str, ...]:
        """The boats alone, without shelves, sorted."""
        return tuple(sorted(boat for boat in self.boats if not self.is_shelf(boat)))
