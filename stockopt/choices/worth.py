"""What a piece is worth that nobody used, and the dearest it can cost: prices alone."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from typing import Any

from stockopt.choices.sets import Sets
from stockopt.demand.demand import Demand
from stockopt.settings import Settings
from stockopt.sourcing import Offers

Row = Mapping[Hashable, Any]


def list_met(demand: Demand, boats: Mapping[str, Row]) -> set[tuple[str, str, str]]:
    """List (home port, port, part): where mail could meet boats of a home port on their way."""
    return {
        (str(boats[boat]["home_port"]), leg.to_port, part)
        for (boat, part), need in demand.parts.items()
        for leg in [leg for stretch in need.stretches for leg in stretch.legs][:-1]
    }


def find_worth(
    offers: Offers, sets: Sets, met: Iterable[tuple[str, str, str]]
) -> dict[tuple[str, str], float]:
    """Return by (home port, part) the least that one piece costs boats from there.

    By itself or in a set at home, or by mail to a port on the way of any of them: else what is
    left at the end could be worth more than it cost, and be bought for that.
    """
    worth = {key: there[0].landed for key, there in offers.offers.items()}
    shares = [(port, part, there[0].find_landed(part)) for (port, part), there in sets.items()]
    mailed = [
        (home, part, offer.landed)
        for home, port, part in met
        for offer in offers.offers.get((port, part), ())
        if offer.kind == "mail"
    ]
    for port, part, landed in (*shares, *mailed):
        worth[port, part] = min(landed, worth.get((port, part), landed))
    return worth


def find_credit(price: float, landed: float | None, settings: Settings) -> float:
    """Return what one unused piece is worth at the end: never more than buying it would cost.

    Offers that come too late count too, and mail to any port on the way of any boat, so that a
    piece is worth the same on every boat of a home port.
    """
    return settings.carry_over * min(price, price if landed is None else landed)


def find_dearest_prices(offers: Offers) -> dict[str, float]:
    """Return, by part, the dearest price known anywhere."""
    dearest = dict(offers.price)
    prices: Iterable[tuple[str, float]] = [
        *((part, offer.landed) for (_, part), there in offers.offers.items() for offer in there),
        *((part, there.price) for (_, part), there in offers.at_port.items()),
    ]
    for part, price in prices:
        dearest[part] = max(price, dearest.get(part, 0.0))
    return dearest
