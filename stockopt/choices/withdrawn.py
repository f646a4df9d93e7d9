"""Offers without some of the sources."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import replace

from stockopt.fleet.fleet import Fleet
from stockopt.sourcing import DEFAULT_WAIT_DAYS, USUAL_PRICE, Offer, Offers, PortPrice


def withdraw_sources(offers: Offers, fleet: Fleet, gone: Collection[str]) -> Offers:
    """Return the offers as if some sources sold nothing, anywhere.

    Parameters
    ----------
    offers
        Of all sources.
    fleet
        Its `ports`, `parts` and `sources` are read.
    gone
        The sources that sell nothing.

    Returns
    -------
    Offers
        What only they sell to a port cannot be bought there: the usual price of the parts table
        does not take their place, as nobody is known to sell at it. On the way a part costs what
        the next local source asks, else the port's factor on the cheapest price left, and never
        less than before; no wait grows shorter. What a spare left over is worth
        (`Offers.price`) stays.
    """
    if not gone:
        return offers
    kept = {
        key: tuple(offer for offer in there if offer.source not in gone)
        for key, there in offers.offers.items()
    }
    return replace(
        offers,
        offers={key: there for key, there in kept.items() if there},
        charges={key: charges for key, charges in offers.charges.items() if key[0] not in gone},
        at_port=dict(_price_on_the_way(offers, kept, fleet)),
        wait_days=_find_waits(offers, fleet, gone),
    )


def _price_on_the_way(
    offers: Offers, kept: dict[tuple[str, str], tuple[Offer, ...]], fleet: Fleet
) -> Iterator[tuple[tuple[str, str], PortPrice]]:
    """Yield what each part still to be had in a port costs there."""
    factors = dict(zip(fleet.ports["port"], fleet.ports["price_factor"], strict=True))
    usual = dict(zip(fleet.parts["part"], fleet.parts["price"], strict=True))
    cheapest: dict[str, float] = {}
    for there in kept.values():
        for offer in there:
            if offer.source != USUAL_PRICE:
                cheapest[offer.part] = min(offer.price, cheapest.get(offer.part, math.inf))
    for (port, part), before in offers.at_port.items():
        local = next((o for o in kept.get((port, part), ()) if o.kind == "local"), None)
        if local is not None:
            quoted, price = local.source != USUAL_PRICE, local.landed
        else:
            quoted = False
            price = factors.get(port, math.nan) * cheapest.get(part, usual.get(part, math.nan))
        if not math.isnan(price):
            yield (port, part), PortPrice(price=max(price, before.price), quoted=quoted)


def _find_waits(offers: Offers, fleet: Fleet, gone: Collection[str]) -> dict[str, float]:
    """Return the days to wait in each port; where nothing else tells, the quickest source left."""
    told = set(fleet.ports["port"])
    sources = fleet.sources
    served = set(sources["delivers_to"])
    left = sources[~sources["source"].isin(list(gone))]
    late_days = left["late_days"].fillna(left["lead_days"])
    quickest = late_days.groupby(left["delivers_to"]).min().to_dict()
    return {
        port: days
        if port in told or port not in served
        else max(days, quickest.get(port, DEFAULT_WAIT_DAYS))
        for port, days in offers.wait_days.items()
    }
