"""Every store and part with its choices: what is asked of it, at what price, from which sources."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from stockopt.choices.choices import BoatLimits, BoatPart
from stockopt.choices.settled import Settled
from stockopt.choices.shortage import FIRST_FILL_RATE
from stockopt.choices.store import StoreTerms, list_store_choices
from stockopt.choices.store_draws import Draws, find_draws
from stockopt.choices.store_part import StoreChoice, StorePart
from stockopt.demand.demand import LIFE_CLASSES, Demand, PartDemand
from stockopt.settings import Settings
from stockopt.sourcing import DEFAULT_WAIT_DAYS, Charges, Offer, Offers

Row = Mapping[Hashable, Any]

#: Days within which what a store reorders from one source goes in one order (common practice, no
#: source: a charter base orders once a week, after its turnaround).
ORDERED_TOGETHER_DAYS = 7.0
#: Pieces an order is first taken to have of a part.
_FIRST_QUANTITY = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreDesk:
    """What is looked up for each store.

    Parameters
    ----------
    boats
        Rows of the boats table, by boat.
    limits
        Of the boats that sail.
    parts
        What each boat can choose.
    charges
        By (source, place).
    stock
        By (store, part).
    dearest
        By part, its dearest price known anywhere.
    settled
        What the plan before told.
    """

    demand: Demand
    offers: Offers
    settings: Settings
    boats: Mapping[str, Row]
    limits: Mapping[str, BoatLimits]
    parts: Sequence[BoatPart]
    charges: Mapping[tuple[str, str], Charges]
    stock: Mapping[tuple[str, str], int]
    dearest: Mapping[str, float]
    settled: Settled


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the boats of one store ask for of one part."""

    boats: tuple[BoatPart, ...]
    draws: tuple[Draws, ...]

    @property
    def pieces(self) -> float:
        """Pieces, on average."""
        return sum(draws.pieces for draws in self.draws)


def weigh_stores(desk: StoreDesk) -> tuple[StorePart, ...]:
    """Weigh the levels of every part that the boats of every store need, by store and part.

    Notes
    -----
    The boats' own choices pay for every piece they draw what it was last found to cost the store,
    all told, and their wait for the pieces it has not got; so that nothing is counted twice this is
    taken off again (`paid`). Of the charges of an order each part bears its share: with m other
    parts a week reordered from the source on average, the mean of 1 / (1 + their number), which is
    (1 - exp(-m)) / m.
    """
    by_store: dict[str, dict[str, list[BoatPart]]] = defaultdict(lambda: defaultdict(list))
    for part in sorted(desk.parts, key=lambda part: (part.boat, part.part)):
        store = desk.limits[part.boat].place
        if store != part.boat:
            by_store[store][part.part].append(part)
    return tuple(
        store_part
        for store in sorted(by_store)
        for store_part in _weigh_store(store, by_store[store], desk)
    )


def _weigh_store(
    store: str, parts: Mapping[str, list[BoatPart]], desk: StoreDesk
) -> list[StorePart]:
    boats = [boat for boat, limits in desk.limits.items() if limits.place == store]
    port = min(str(desk.boats[boat]["home_port"]) for boat in boats)
    begins = min(desk.limits[boat].departs_on for boat in boats)
    ends = max(_find_end(need) for (boat, _), need in desk.demand.parts.items() if boat in boats)
    days = max(1.0, float((ends - begins).days))
    asked = {
        part: _Asked(
            tuple(boat_parts),
            tuple(
                find_draws(
                    desk.demand.parts[each.boat, part],
                    str(desk.boats[each.boat]["home_port"]),
                    desk.settled.taken.get((each.boat, part)),
                )
                for each in boat_parts
            ),
        )
        for part, boat_parts in sorted(parts.items())
    }
    together = _count_together(store, port, asked, days, desk)
    return [
        _weigh_part(store, port, part, each, _Season(begins, days), together[part], desk)
        for part, each in asked.items()
    ]


@dataclass(frozen=True, slots=True)
class _Season:
    begins: date
    days: float


def _find_end(need: PartDemand) -> date:
    leg = need.stretches[-1].legs[-1]
    return leg.departs_on + timedelta(days=math.ceil(leg.days))


def _count_together(
    store: str, port: str, asked: Mapping[str, _Asked], days: float, desk: StoreDesk
) -> dict[str, dict[str, float]]:
    """Count by part, then source, the other parts' orders within the days that go together.

    In fifths: no guess of this kind is sharper.
    """
    orders: dict[str, dict[str, float]] = {part: {} for part in asked}
    for part, each in asked.items():
        if desk.settled.orders:
            source, expected = desk.settled.orders.get((store, part), ("", 0.0))
            orders[part][source] = expected
        else:
            for offer in desk.offers.offers.get((port, part), ()):
                orders[part][offer.source] = each.pieces / _FIRST_QUANTITY
    total: dict[str, float] = defaultdict(float)
    for by_source in orders.values():
        for source, expected in by_source.items():
            total[source] += expected
    share = ORDERED_TOGETHER_DAYS / days
    return {
        part: {
            source: round(5.0 * max(0.0, (all_orders - by_source.get(source, 0.0)) * share)) / 5.0
            for source, all_orders in total.items()
        }
        for part, by_source in orders.items()
    }


@dataclass(frozen=True, slots=True)
class _Market:
    """Where a store gets one part: `at_hand` a piece, and days in which one not there comes."""

    offers: tuple[Offer, ...]
    charges: Mapping[str, Charges]
    at_hand: float
    quickest: float


def _find_market(store: str, port: str, part: str, desk: StoreDesk) -> _Market:
    offers = desk.offers.offers.get((port, part), ())
    quickest = min(
        (offer.late_days for offer in offers),
        default=desk.offers.wait_days.get(port, DEFAULT_WAIT_DAYS),
    )
    charges = {offer.source: desk.charges[offer.source, store] for offer in offers}
    return _Market(offers, charges, _find_price(port, part, offers, desk), quickest)


def _weigh_part(
    store: str,
    port: str,
    part: str,
    asked: _Asked,
    season: _Season,
    together: Mapping[str, float],
    desk: StoreDesk,
) -> StorePart:
    first, market = asked.boats[0], _find_market(store, port, part, desk)
    days_left = (season.begins - desk.settings.planned_on).days
    to_buy = {offer: None for each in asked.boats for offer in each.offers}
    offers = tuple(offer for offer in to_buy if offer.late_days <= days_left)
    terms = replace(
        _make_terms((store, part), asked, season, market, together, desk),
        before=frozenset(offer.source for offer in offers),
    )
    choices = list_store_choices(terms)
    return StorePart(
        store=store,
        part=part,
        name=first.name,
        on_hand=desk.stock.get((store, part), 0),
        asked=asked.pieces,
        begins_on=season.begins,
        season_days=season.days,
        quickest_days=market.quickest,
        leftover=first.leftover,
        choices=choices,
        offers=offers,
        price=market.at_hand,
        piece_cost=_find_piece_cost(choices, market.at_hand, terms),
        paid=terms.paid,
    )


def _make_terms(
    key: tuple[str, str],
    asked: _Asked,
    season: _Season,
    market: _Market,
    together: Mapping[str, float],
    desk: StoreDesk,
) -> StoreTerms:
    """Gather what the levels of one part in one store are weighed with."""
    waits = [_find_lost_day(each, desk) for each in asked.boats]
    lost_day = (
        sum(draws.pieces * cost for draws, cost in zip(asked.draws, waits, strict=True))
        / asked.pieces
        if asked.pieces > 0.0
        else sum(waits) / len(waits)
    )
    price = desk.settled.prices.get(key, market.at_hand) if market.offers else market.at_hand
    empty = 1.0 - desk.settled.fill_rates.get(key, FIRST_FILL_RATE)
    waited = sum(d.waiting * cost for d, cost in zip(asked.draws, waits, strict=True))
    return StoreTerms(
        days=season.days,
        pieces=np.sum([draws.by_class for draws in asked.draws], axis=0),
        weight=np.array(LIFE_CLASSES),
        offers=tuple(offer for offer in market.offers if offer.most != 0),
        order_charges={
            source: _share_charge(charge.per_order + charge.handling, together.get(source, 0.0))
            for source, charge in market.charges.items()
        },
        least_values={
            source: charge.minimum_order / (1.0 + together.get(source, 0.0))
            for source, charge in market.charges.items()
            if charge.minimum_order
        },
        short_cost=_find_short_cost(market, lost_day),
        credit=asked.boats[0].leftover,
        capital_rate=desk.settings.capital_rate,
        paid=price * asked.pieces + empty * market.quickest * waited,
    )


def _find_piece_cost(choices: Sequence[StoreChoice], at_hand: float, terms: StoreTerms) -> float:
    """Return what one piece drawn costs the store, all told, at its best level."""
    if terms.asked < 1e-6:
        return terms.short_cost
    least = min(choice.later_cost + at_hand * choice.level for choice in choices)
    return max(0.0, least + terms.paid) / terms.asked


def _find_lost_day(part: BoatPart, desk: StoreDesk) -> float:
    """Return what one day without the part costs one boat."""
    need = desk.demand.parts[part.boat, part.part]
    return float(desk.boats[part.boat]["day_cost"]) * desk.settings.share(need.consequence)


def _find_price(port: str, part: str, offers: Sequence[Offer], desk: StoreDesk) -> float:
    """Return what the boats' choices pay for a piece at home."""
    if offers:
        return offers[0].landed
    there = desk.offers.at_port.get((port, part))
    return desk.dearest[part] if there is None else there.price


def _find_short_cost(market: _Market, lost_day: float) -> float:
    """Return the least that one piece got at once costs, with the days lost until it is there."""
    return min(
        (
            offer.landed
            + market.charges[offer.source].per_order
            + market.charges[offer.source].handling
            + offer.lead_days * lost_day
            for offer in market.offers
        ),
        default=market.at_hand + market.quickest * lost_day,
    )


def _share_charge(charge: float, together: float) -> float:
    """Return a part's share of an order's charge, with so many others in it on average."""
    return charge if together < 1e-9 else charge * -math.expm1(-together) / together
