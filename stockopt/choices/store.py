"""One part in one store: what each number on the shelf costs, with its best reorder point."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray
from scipy.special import pdtr

from stockopt.choices.frontier import find_last_useful
from stockopt.choices.lead_time import LeadTime, spread_lead_time
from stockopt.choices.store_cycle import find_cycle
from stockopt.choices.store_part import StoreChoice
from stockopt.choices.store_season import Counted, Rules, expect_season
from stockopt.choices.store_spell import run_down
from stockopt.sourcing import Offer

Floats = NDArray[np.float64]
_Array = TypeVar("_Array", Floats, NDArray[np.int64])

#: The season may ask for more than this share of the time: nothing beyond is looked at.
_SEASON_TAIL, _LEAD_TAIL = 1e-3, 1e-3
#: Of so many ways to reorder from one source all are played through; of more, those that are best
#: in the long run, and fewer of them for parts asked for often, as these come near to it.
_MOST_WAYS, _FEWEST_WAYS = 8, 3
#: From so many pieces a season a part is asked for often; then only so much of a season's need is
#: looked at as is exceeded 1 time in 10.
_OFTEN, _OFTEN_TAIL = 60.0, 0.1
#: Quantities looked at grow by this factor.
_GROWTH = 1.4
#: Every level up to this is handed on, above it one in 2, 3 ...: no cost is that sharp.
_EVERY_LEVEL = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreTerms:
    """What the choices of one part in one store are weighed with. Money in the plan's currency.

    Parameters
    ----------
    days
        Length of the season.
    pieces, weight
        (G,): pieces asked for over the season where lives are short or long, and the chance of
        it. Given one of them pieces are asked for at random, one by one.
    offers
        At the store's port, whenever they arrive.
    order_charges
        By source: what one order of this part adds to the charges, see
        :func:`~stockopt.choices.weigh_stores.weigh_stores`.
    least_values
        By source: least value of an order of this part; absent for none.
    short_cost
        Of one piece asked for in vain: got at once, with the days lost until then.
    credit
        Worth at the end of one piece left.
    capital_rate
        Yearly cost of money tied up, as a share.
    paid
        What the boats' choices pay already for what they draw from the store.
    before
        Sources that can bring the part before the season begins. A shelf reordered from one of
        them begins above its reorder point: an order that would go out on the first day could as
        well be placed now, and is money now, within the budget.
    """

    days: float
    pieces: Floats
    weight: Floats
    offers: tuple[Offer, ...]
    order_charges: Mapping[str, float]
    least_values: Mapping[str, float]
    short_cost: float
    credit: float
    capital_rate: float
    paid: float
    before: frozenset[str] = frozenset()

    @property
    def rate(self) -> Floats:
        """(G,): pieces asked for a day."""
        return np.maximum(self.pieces, 1e-9) / self.days

    @property
    def asked(self) -> float:
        """Pieces asked for over the season."""
        return float(self.weight @ self.pieces)

    @property
    def is_often(self) -> bool:
        """Whether it is asked for so often that the season is like the long run."""
        return self.asked > _OFTEN

    def find_most(self) -> int:
        """Return the most pieces of a season's need that are looked at."""
        tail = _OFTEN_TAIL if self.is_often else _SEASON_TAIL
        return _find_most(self.pieces, self.weight, tail)


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to reorder."""

    offer: Offer
    lead: LeadTime
    point: int
    quantity: int

    def cost_order(self, terms: StoreTerms) -> float:
        """Return what one order costs, pieces and all."""
        return terms.order_charges[self.offer.source] + self.quantity * self.offer.landed


def list_store_choices(terms: StoreTerms) -> tuple[StoreChoice, ...]:
    """List the numbers of pieces worth having on the shelf, each with its best way to reorder.

    Parameters
    ----------
    terms
        Costs, and the pieces asked for.

    Returns
    -------
    tuple of StoreChoice
        By level, from 0; levels stop where one more piece brings nothing.

    Notes
    -----
    Every way is played through exactly, see :mod:`stockopt.choices.store_season`, given each class
    of lives, and mixed over the classes. Nothing is ordered in the last usual lead time of the
    season, as it would not arrive.
    """
    choices = _list_unpaid(
        terms.days,
        tuple(terms.pieces.tolist()),
        tuple(terms.weight.tolist()),
        terms.offers,
        tuple(sorted(terms.order_charges.items())),
        tuple(sorted(terms.least_values.items())),
        (terms.short_cost, terms.credit, terms.capital_rate),
        terms.before,
    )
    return tuple(replace(c, later_cost=c.later_cost - terms.paid) for c in choices)


@lru_cache(maxsize=4096)
def _list_unpaid(
    days: float,
    pieces: tuple[float, ...],
    weight: tuple[float, ...],
    offers: tuple[Offer, ...],
    order_charges: tuple[tuple[str, float], ...],
    least_values: tuple[tuple[str, float], ...],
    costs: tuple[float, float, float],
    before: frozenset[str],
) -> tuple[StoreChoice, ...]:
    """Return the choices if boats paid nothing; kept, as rounds ask for many of them again."""
    short_cost, credit, capital_rate = costs
    terms = StoreTerms(
        days=days,
        pieces=np.array(pieces),
        weight=np.array(weight),
        offers=offers,
        order_charges=dict(order_charges),
        least_values=dict(least_values),
        short_cost=short_cost,
        credit=credit,
        capital_rate=capital_rate,
        paid=0.0,
        before=before,
    )
    levels = terms.find_most()
    ways = [way for offer in terms.offers for way in _list_ways(offer, terms)]
    held = terms.capital_rate / 365.0 * min((o.landed for o in terms.offers), default=0.0)
    cost = _cost_never(terms, levels, held)[None]
    if ways:
        order = np.array([way.cost_order(terms) for way in ways])
        alike = np.ones(len(ways))
        prices = Counted(
            order=order,
            lost=terms.short_cost * alike,
            left=-terms.credit * alike,
            piece_day=held * alike,
        )
        played = _play(ways, terms, levels, prices)
        played[_order_at_once(ways, terms, levels)] = np.inf
        cost = np.concatenate([cost, played])
    best = cost.argmin(axis=0)
    net_cost = cost[best, np.arange(levels + 1)] + terms.credit * np.arange(levels + 1)
    last = int(find_last_useful(net_cost, None))
    choices = _write([None, *ways], terms, best[: last + 1].tolist(), held)
    return tuple(choices[level] for level in _thin_out(last))


def _order_at_once(ways: Sequence[_Way], terms: StoreTerms, levels: int) -> NDArray[np.bool_]:
    """Return (ways, levels): which order on the first day what could be bought before it."""
    points = [way.point if way.offer.source in terms.before else -1 for way in ways]
    return np.arange(levels + 1) <= np.array(points)[:, None]


def _thin_out(last: int) -> list[int]:
    """Return the levels handed on: every one while they are few, then by steps that grow."""
    levels, level = [], 0
    while level < last:
        levels.append(level)
        level += max(1, level // _EVERY_LEVEL)
    return [*levels, last]


def _keep_to_shelf(terms: StoreTerms, levels: int) -> tuple[Floats, Floats, Floats]:
    """Return pieces lost, left, and on the shelf times days, if nothing is reordered: (levels,)."""
    lost, left, area = run_down(terms.rate, np.full_like(terms.rate, terms.days), levels + 1)
    return terms.weight @ lost, terms.weight @ left, terms.weight @ area


def _cost_never(terms: StoreTerms, levels: int, held: float) -> Floats:
    lost, left, area = _keep_to_shelf(terms, levels)
    return terms.short_cost * lost - terms.credit * left + held * area


def _write(
    ways: Sequence[_Way | None], terms: StoreTerms, best: list[int], held: float
) -> tuple[StoreChoice, ...]:
    """Tell what is to be expected of the best way from each level; way None reorders nothing."""
    levels = len(best) - 1
    lost, left, area = _keep_to_shelf(terms, levels)
    told: dict[int, Floats] = {0: np.stack([np.zeros_like(lost), lost, left, area])}
    chosen = [(number, way) for number in sorted(set(best)) if (way := ways[number]) is not None]
    if chosen:
        each = np.repeat(np.eye(4), len(chosen), axis=1)
        counted = Counted(order=each[0], lost=each[1], left=each[2], piece_day=each[3])
        found = _play([way for _, way in chosen] * 4, terms, levels, counted)
        by_way = found.reshape(4, len(chosen), levels + 1)
        told |= {number: by_way[:, row] for row, (number, _) in enumerate(chosen)}
    return tuple(
        _write_choice(level, ways[number], told[number][:, level].tolist(), terms, held)
        for level, number in enumerate(best)
    )


def _write_choice(
    level: int, way: _Way | None, told: list[float], terms: StoreTerms, held: float
) -> StoreChoice:
    orders, lost, left, area = told
    order_cost = way.cost_order(terms) if way else 0.0
    season_cost = order_cost * orders + terms.short_cost * lost + held * area
    return StoreChoice(
        level=level,
        source=way.offer.source if way else None,
        reorder_point=way.point if way else 0,
        order_quantity=way.quantity if way else 0,
        later_cost=season_cost - terms.credit * left - terms.paid,
        season_cost=season_cost,
        fill_rate=max(0.0, 1.0 - lost / terms.asked) if terms.asked > 1e-6 else 1.0,
        orders=orders,
        reordered=way.quantity * orders if way else 0.0,
        short=lost,
        left=left,
        average_stock=area / terms.days,
        lead_days=way.offer.lead_days if way else 0.0,
    )


def _play(ways: Sequence[_Way], terms: StoreTerms, levels: int, prices: Counted) -> Floats:
    """Return what every way counts for from every level, mixed over the classes: (ways, levels).

    `prices` are by way.
    """
    groups = len(terms.rate)
    width = max(len(way.lead.days) for way in ways)
    lead_days = np.array([np.resize(way.lead.days, width) for way in ways])
    lead_weight = np.zeros_like(lead_days)
    for row, way in enumerate(ways):
        lead_weight[row, : len(way.lead.days)] = way.lead.weight

    def spread(values: _Array) -> _Array:
        return cast("_Array", np.repeat(values, groups, axis=0))

    rules = Rules(
        rate=np.tile(terms.rate, len(ways)),
        reorder_point=spread(np.array([way.point for way in ways])),
        quantity=spread(np.array([way.quantity for way in ways])),
        lead_days=spread(lead_days),
        lead_weight=spread(lead_weight),
        last_order=spread(np.array([way.offer.lead_days for way in ways])),
    )
    counted = Counted(
        order=spread(prices.order),
        lost=spread(prices.lost),
        left=spread(prices.left),
        piece_day=spread(prices.piece_day),
    )
    found = expect_season(rules, counted, terms.days, levels)
    by_way = found.reshape(len(ways), groups, levels + 1)
    return np.asarray(np.einsum("g,wgl->wl", terms.weight, by_way))


def _list_ways(offer: Offer, terms: StoreTerms) -> list[_Way]:
    """List the ways to reorder from one offer that could be best."""
    if terms.asked < 1e-6 or offer.lead_days >= terms.days or offer.landed >= terms.short_cost:
        return []
    lead = spread_lead_time(offer.lead_days, offer.late_days)
    most = _find_most(
        terms.rate * lead.days[:, None], lead.weight[:, None] * terms.weight, _LEAD_TAIL
    )
    packs = _list_packs(offer, terms)
    ways = [_Way(offer, lead, point, n * offer.pack) for point in range(most + 1) for n in packs]
    count = _FEWEST_WAYS if terms.is_often else _MOST_WAYS
    if len(ways) <= count:
        return ways
    quantities = np.array(packs) * offer.pack
    cycle = find_cycle(terms.rate, lead, most, quantities)
    charge = terms.order_charges[offer.source] + quantities * offer.landed
    # A piece left at the end of the season is worth less than it cost.
    held = terms.capital_rate / 365.0 * offer.landed + (offer.landed - terms.credit) / terms.days
    daily = charge * cycle.orders + terms.short_cost * cycle.lost + held * cycle.stock
    cost = np.einsum("g,grq->rq", terms.weight, daily)
    cost[quantities <= np.arange(most + 1)[:, None]] = np.inf  # there the long run is an estimate
    order = np.argsort(cost.ravel(), kind="stable")
    return [ways[place] for place in sorted(order[:count].tolist())]


def _list_packs(offer: Offer, terms: StoreTerms) -> list[int]:
    """List the packs an order could have: from the least an order may be worth to a season's."""
    most = terms.find_most()
    if offer.most is not None:
        most = min(most, offer.most * offer.pack)
    least = 1
    if offer.price > 0.0:
        worth = terms.least_values.get(offer.source, 0.0)
        least = max(1, math.ceil(worth / (offer.price * offer.pack) - 1e-9))
    packs: list[int] = []
    number = float(least)
    while not packs or number * offer.pack <= most:
        packs.append(round(number))
        number = max(packs[-1] + 1.0, number * _GROWTH)
    return packs if offer.most is None else [n for n in packs if n <= offer.most]


def _find_most(mean: Floats, weight: Floats, tail: float) -> int:
    """Return the fewest pieces that a mixture of Poisson needs exceeds no oftener than `tail`."""
    most = 0
    while float((weight * (1.0 - pdtr(most, mean))).sum()) > tail:
        most += 1
    return most
