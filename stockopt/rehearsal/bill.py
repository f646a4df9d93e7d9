"""What pieces short and pieces made up cost, with a store's shelf behind the boats or without."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockopt.rehearsal.calendar import Bools, Calendar, Floats, Ints
from stockopt.rehearsal.engine import Used
from stockopt.rehearsal.futures import Events
from stockopt.rehearsal.money import Money
from stockopt.rehearsal.shelf import Kept, LeadDays, Shelf, Span, keep_shelf
from stockopt.sourcing import Charges, Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """Money by boat and season; each (B, R)."""

    short: Floats
    restock: Floats
    days_lost: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter:
    """One store and part: its shelf, and what it buys for.

    Parameters
    ----------
    boats
        (B,): whether the store serves each boat.
    shelf, span, lead
        How it is kept.
    offers, charges
        At its port, and what one order from each costs beside its pieces.
    landed
        Of one piece reordered.
    """

    boats: Bools
    shelf: Shelf
    span: Span
    lead: LeadDays
    offers: Sequence[Offer]
    charges: Sequence[Charges]
    landed: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What a store's shelf came to; money (R,).

    `bought` is what the store pays for pieces less what its boats pay it; the charges of its orders
    come on top.
    """

    kept: Kept
    bought: Floats


def write_bill(
    used: Used, money: Money, calendar: Calendar, *, fill_rate: float, counters: Sequence[Counter]
) -> tuple[Bill, list[Served]]:
    """Return what the boats pay for what they lack and make up, and how stores do.

    Parameters
    ----------
    used
        Pieces short and made up.
    money, calendar
        Prices, and when legs end.
    fill_rate
        Share of the pieces asked for that a store without a shelf told has.
    counters
        Shelves; boats of none of them count on the fill rate.
    """
    shape = used.need.shape
    short = used.shortages
    empty = np.where(short.luck < fill_rate, 0.0, money.empty_wait[short.boat])
    served = []
    for counter in counters:
        reached = counter.boats[short.boat] & money.in_reach[short.leg]
        one, waits = _serve(counter, reached, used, money, calendar, shape[1])
        empty[reached] = waits
        served.append(one)
    cost, lost = _cost_short(short, money, calendar, empty)
    made_up = used.made_up
    price = money.restock[made_up.leg] * made_up.pieces
    return (
        Bill(
            short=_add(short.boat, short.season, cost, shape),
            days_lost=_add(short.boat, short.season, lost, shape),
            restock=_add(made_up.boat, made_up.season, price, shape),
        ),
        served,
    )


def _add(boat: Ints, season: Ints, values: Floats, shape: tuple[int, ...]) -> Floats:
    total = np.bincount(boat * shape[1] + season, weights=values, minlength=shape[0] * shape[1])
    return np.asarray(total.reshape(shape))


def _cost_short(
    short: Events, money: Money, calendar: Calendar, empty: Floats
) -> tuple[Floats, Floats]:
    """Return what each piece short costs, and the days lost to it.

    The store brings it in its chase days, later where its shelf is empty. Out of reach it is got
    where the leg ends, by waiting there.
    """
    leg, boat = short.leg, short.boat
    to_port = np.maximum(calendar.departs[leg] + calendar.days[leg] - short.day, 0.0)
    lost = money.wait[leg] + np.where(money.in_reach[leg], empty, to_port)
    return money.short[leg] + money.lost_day[boat] * lost, lost


def _serve(
    counter: Counter,
    reached: Bools,
    used: Used,
    money: Money,
    calendar: Calendar,
    seasons: int,
) -> tuple[Served, Floats]:
    """Return how the shelf did, and the days each piece short waited for in vain: (shortages,)."""
    short, made_up = used.shortages.picked(reached), used.made_up
    mine = counter.boats[made_up.boat] & money.at_store[made_up.leg]
    copies = np.repeat(np.flatnonzero(mine), made_up.pieces[mine])
    season = np.concatenate([short.season, made_up.season[copies]])
    day = np.concatenate([short.day, money.end_day[made_up.leg[copies]]])
    boat = np.concatenate([short.boat, made_up.boat[copies]])
    paid = np.concatenate([money.short[short.leg], money.restock[made_up.leg[copies]]])
    order = np.lexsort((day, season))
    kept = keep_shelf(
        counter.shelf,
        season[order],
        day[order],
        seasons=seasons,
        span=counter.span,
        lead=counter.lead,
    )
    in_vain = np.zeros(len(season), dtype=bool)
    in_vain[order] = ~kept.served
    waiting = np.arange(len(season)) < len(short.season)
    price, days = _get_at_once(counter, money.lost_day[boat], money, boat)
    # A boat waits for a spare that should be made up as well: she sails with what her plan says.
    price = price + np.where(waiting, 0.0, money.lost_day[boat] * days)
    spent = np.where(in_vain, price, 0.0) - paid
    orders = np.bincount(kept.season, minlength=seasons)
    reordered = counter.landed * counter.shelf.order_quantity * orders
    bought = reordered + np.bincount(season, weights=spent, minlength=seasons)
    return Served(kept=kept, bought=np.asarray(bought)), np.where(in_vain, days, 0.0)[
        : len(short.season)
    ]


def _get_at_once(
    counter: Counter, lost_day: Floats, money: Money, boat: Ints
) -> tuple[Floats, Floats]:
    """Return the price and days of a piece that is got at once, as cheaply as days allow."""
    if not counter.offers:
        return np.full(len(boat), money.fallback), money.empty_wait[boat]
    price = np.array(
        [
            offer.landed + charge.per_order + charge.handling
            for offer, charge in zip(counter.offers, counter.charges, strict=True)
        ]
    )
    days = np.array([offer.lead_days for offer in counter.offers])
    best = (price + lost_day[:, None] * days).argmin(axis=1)
    return price[best], days[best]
