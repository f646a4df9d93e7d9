"""What each part costs in your hand, from whom, and whether it can arrive in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet

#: The implicit source of a part nobody quotes: the usual price of the parts table, in any port
#: the boat is fitted out in, at once.
USUAL_PRICE = "usual price"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One part, from one source, delivered to one port. Money in the plan's currency.

    Parameters
    ----------
    source, kind, port, part
        Which.
    price
        Of one piece (pack price / pack), before freight, duty and tax.
    landed
        Of one piece in hand, before the order's own fixed charges.
    pack
        Pieces in a pack.
    most
        Packs to be had; None for any number.
    lead_days, late_days
        Usual days from order to hand, and the days that 1 order in 10 exceeds.
    """

    source: str
    kind: str
    port: str
    part: str
    price: float
    landed: float
    pack: int
    most: int | None
    lead_days: float
    late_days: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Charges:
    """What one order costs whatever is in it. Money in the plan's currency.

    Parameters
    ----------
    per_order
        Freight once per order, dropped from `free_freight_from` on.
    handling
        Agent or broker, once per order, never dropped.
    free_freight_from, minimum_order
        Goods value (price x pieces) from which freight is free, and the least value accepted;
        None for neither.
    """

    per_order: float
    handling: float
    free_freight_from: float | None
    minimum_order: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PortPrice:
    """What one piece costs in a port on the way, bought on the spot.

    Parameters
    ----------
    price
        Of one piece, in the plan's currency.
    quoted
        True where a local source quotes it there; False where the port's price_factor was used.
    """

    price: float
    quoted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """All offers.

    Parameters
    ----------
    offers
        By (port, part): every offer delivered there, cheapest landed first.
    charges
        By (source, port).
    at_port
        By (port, part): what it costs on the spot; absent where it is not to be had.
    wait_days
        By port: days to wait there for a part.
    price
        By part: the usual price (parts table), else the cheapest quoted price of one piece; 0
        with a note where neither is known. What an unused spare's worth is counted from.
    notes
        What had to be assumed.
    """

    offers: Mapping[tuple[str, str], tuple[Offer, ...]]
    charges: Mapping[tuple[str, str], Charges]
    at_port: Mapping[tuple[str, str], PortPrice]
    wait_days: Mapping[str, float]
    price: Mapping[str, float]
    notes: tuple[Note, ...]


def price_offers(fleet: Fleet) -> Offers:
    """Work out every offer's landed cost."""
    raise NotImplementedError
