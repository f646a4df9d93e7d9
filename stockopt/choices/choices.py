"""The choices, as one value: from here on there are costs, chances and limits, no probability."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from stockopt.errors import Note
from stockopt.sourcing import Charges, Offer


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
    """

    carry: int
    replace_now: int
    restock: bool
    later_cost: float
    shortage_chance: float
    expected_shortages: float
    expected_need: float
    restock_cost: float

    @property
    def pieces(self) -> int:
        """Pieces needed before departure, n + f."""
        return self.carry + self.replace_now


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
    stops
        True where its shortage stops the boat: counts for readiness.
    leftover
        Worth at the end of one unused piece; what a piece drawn from the store's stock costs,
        and what a surplus piece of a pack is credited. Below every landed cost.
    choices
        At least one; none is worse than another in everything.
    offers
        Offers that arrive before she departs, cheapest first.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatLimits:
    """What one boat can take; None for no limit.

    `place` is where orders for her are delivered: her store, which shares the order with the
    store's other boats, or the boat herself.
    """

    boat: str
    place: str
    departs_on: date
    kg: float | None
    litres: float | None
    budget: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """Everything the program needs.

    Parameters
    ----------
    boats
        By boat.
    parts
        Sorted by boat, part.
    charges
        By (source, place).
    stock
        By (store, part): pieces in the store's stock that boats can draw on, in hand or due
        before the first of them departs.
    budget, readiness
        For the whole fleet, and for each boat; None for no limit.
    notes
        What had to be assumed.
    """

    boats: Mapping[str, BoatLimits]
    parts: tuple[BoatPart, ...]
    charges: Mapping[tuple[str, str], Charges]
    stock: Mapping[tuple[str, str], int]
    budget: float | None
    readiness: float | None
    notes: tuple[Note, ...]
