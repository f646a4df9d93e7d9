"""Where mail orders placed now can meet a boat on her way."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from stockopt.choices.choices import Ahead, BoatPart, name_ahead
from stockopt.demand.demand import PartDemand
from stockopt.sourcing import Charges, Offer, Offers

#: Most ports weighed for one part: the cheapest ones.
MOST_PORTS = 2


def find_meetings(
    need: PartDemand, offers: Offers, at_home: Sequence[Offer], planned_on: date
) -> tuple[Ahead, ...]:
    """Find the ports where an order for a part can meet her, and pay.

    Parameters
    ----------
    need
        Of one part on one boat.
    offers
        Those of every port.
    at_home
        Offers that reach her before she departs, cheapest first.
    planned_on
        The day the order would be placed.

    Returns
    -------
    tuple of Ahead
        Each port once, at the first arrival that some mail order makes 9 times in 10; not the last
        arrival of her plan, where no need comes after. Only ports where a piece costs less than
        any that reaches her at home: else she would rather take it along; and at most
        `MOST_PORTS`, the cheapest.
    """
    found: dict[str, Ahead] = {}
    for leg in [leg for stretch in need.stretches for leg in stretch.legs][:-1]:
        arrives_on = leg.departs_on + timedelta(days=math.ceil(leg.days))
        there = tuple(
            offer
            for offer in offers.offers.get((leg.to_port, need.part), ())
            if offer.kind == "mail"
            and offer.most != 0
            and planned_on + timedelta(days=math.ceil(offer.late_days)) <= arrives_on
        )
        if there and leg.to_port not in found:
            found[leg.to_port] = Ahead(port=leg.to_port, arrives_on=arrives_on, offers=there)
    dearest = at_home[0].find_landed(need.part) if at_home else math.inf
    paying = [ahead for ahead in found.values() if ahead.offers[0].landed < dearest]
    paying.sort(key=lambda ahead: (ahead.offers[0].landed, ahead.arrives_on, ahead.port))
    return tuple(paying[:MOST_PORTS])


def list_met_charges(parts: Iterable[BoatPart], offers: Offers) -> dict[tuple[str, str], Charges]:
    """Return what an order that meets a boat costs, by source and place: as any to that port."""
    return {
        (offer.source, name_ahead(part.boat, ahead.port)): offers.charges[offer.source, ahead.port]
        for part in parts
        for ahead in part.ahead
        for offer in ahead.offers
    }
