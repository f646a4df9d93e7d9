"""What one piece short costs, and what one piece restocked costs, on each stretch of a plan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockopt.choices.excess import Floats
from stockopt.demand.demand import Leg, Stretch
from stockopt.sourcing import DEFAULT_WAIT_DAYS, Offers

#: Share of the pieces asked of a store that it has on the shelf: a documented first guess for
#: as long as the store's own levels are not worked out (common practice, no source).
FIRST_FILL_RATE = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """Where a boat is fitted out: her home port, and whether a store serves her."""

    port: str
    has_store: bool


def find_restock_prices(
    stretches: Sequence[Stretch],
    part: str,
    base: Base,
    offers: Offers,
    store_price: float | None = None,
) -> Floats:
    """Return what one piece costs where each stretch ends; NaN where it is not to be had.

    A store restocks at what a piece costs it all told, `store_price`, or, before that is known, at
    the cheapest landed cost of its home port, as it can order ahead; without a store, and in every
    other port, a piece costs what it costs there on the spot.

    Returns
    -------
    Floats
        (S,), in the plan's currency.
    """
    at_store = find_store_price(part, base, offers, store_price)

    def price_at(port: str) -> float:
        if port == base.port and at_store is not None:
            return at_store
        there = offers.at_port.get((port, part))
        return math.nan if there is None else there.price

    return np.array([price_at(stretch.legs[-1].to_port) for stretch in stretches])


def find_reached(stretches: Sequence[Stretch]) -> Floats:
    """Return the share of each stretch's running on which the store can reach her: (S,)."""
    return np.array(
        [
            sum(
                share
                for leg, share in zip(stretch.legs, stretch.leg_shares, strict=True)
                if leg.chase_days is not None
            )
            for stretch in stretches
        ]
    )


def find_store_price(
    part: str, base: Base, offers: Offers, store_price: float | None
) -> float | None:
    """Return what a boat pays her store for a piece; None without a store, or where it has none.

    What a piece costs the store all told, `store_price`, or, before that is known, the cheapest
    landed cost of its port; what a shop asks there where no source delivers the part.
    """
    if not base.has_store:
        return None
    if at_base := offers.offers.get((base.port, part), ()):
        return at_base[0].landed if store_price is None else store_price
    there = offers.at_port.get((base.port, part))
    return None if there is None else there.price


def find_short_prices(
    stretches: Sequence[Stretch], at_end: Floats, *, dearest: float, store_price: float | None
) -> Floats:
    """Return what one piece short costs on each stretch, without the days lost: (S,).

    Where the store reaches her the piece comes from there; else she gets it where the stretch ends.

    Parameters
    ----------
    stretches
        S of them.
    at_end
        (S,): price where each ends, as shops and sources quote it; NaN where it is not to be had.
    dearest
        Its dearest price known anywhere, taken there.
    store_price
        See :func:`find_store_price`; None to get it where the stretch ends all the same.
    """
    bought = np.where(np.isnan(at_end), dearest, at_end)
    if store_price is None:
        return bought
    reached = find_reached(stretches)
    return np.asarray(reached * store_price + (1.0 - reached) * bought)


def find_days_lost(
    stretches: Sequence[Stretch],
    part: str,
    base: Base,
    offers: Offers,
    fill_rate: float = FIRST_FILL_RATE,
) -> Floats:
    """Return the days lost to one piece short on each stretch, averaged over its running.

    Where the store reaches her, its chase days, and, for the pieces that it has not on the shelf,
    the quickest source's late days on top. Out of reach, half the leg (the failure falls anywhere
    in it) and the wait in the port where it ends; the wait alone for what ages by the calendar and
    fails in that port.

    Returns
    -------
    Floats
        (S,), days.
    """
    quickest = min(
        (offer.late_days for offer in offers.offers.get((base.port, part), ())),
        default=offers.wait_days.get(base.port, DEFAULT_WAIT_DAYS),
    )
    wait_for_source = (1.0 - fill_rate) * quickest

    def days_on(leg: Leg, at_sea: float) -> float:
        if leg.chase_days is not None:
            return leg.chase_days + wait_for_source
        return at_sea * leg.days / 2.0 + offers.wait_days.get(leg.to_port, DEFAULT_WAIT_DAYS)

    return np.array(
        [
            sum(
                share * days_on(leg, at_sea)
                for leg, share, at_sea in zip(
                    s.legs, s.leg_shares, s.sea_shares or (1.0,) * len(s.legs), strict=True
                )
            )
            for s in stretches
        ]
    )


def find_shortage_costs(piece_prices: Floats, days_lost: Floats, *, lost_day: float) -> Floats:
    """Return what one piece short costs on each stretch.

    Parameters
    ----------
    piece_prices
        (S,): see :func:`find_short_prices`.
    days_lost
        (S,): until it is there.
    lost_day
        Cost of one day without the part: day cost x share of its consequence.

    Returns
    -------
    Floats
        (S,), in the plan's currency.

    Examples
    --------
    >>> find_shortage_costs(np.array([80.0, 90.0]), np.array([9.0, 25.0]), lost_day=300.0).tolist()
    [2780.0, 7590.0]
    """
    return piece_prices + lost_day * days_lost
