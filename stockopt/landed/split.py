"""The cheapest way to buy a basket: which parts from which source, order charges counted."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_array

from stockopt.landed.landed import Bought, Order, Way
from stockopt.landed.money import exact, share_out
from stockopt.landed.quotes import Market, Quote

Floats = NDArray[np.float64]

#: Longest time for one basket, s.
_SECONDS = 20.0
#: A cost that no order has: scipy's solver takes so much for infinite.
_NEVER = 1e20


def find_way(
    name: str, market: Market, pieces: Mapping[str, int], allowed: Callable[[Quote], bool]
) -> Way | None:
    """Return the cheapest way to buy a basket from the sources allowed.

    Parameters
    ----------
    name
        What the way is called.
    market
        What is offered; sets that hold parts of the basket among it.
    pieces
        By part: wanted, at least 1; parts nobody sells are passed over.
    allowed
        Whether a quote may be used; parts for which none may be are taken from any source.

    Returns
    -------
    Way or None
        None where no source has enough of some part, or nothing is wanted.

    Notes
    -----
    An integer program, solved exactly: whole packs cover the pieces; an order's charges are paid
    once, its freight not from `free_freight_from` on; an order reaches the minimum, if need be by
    buying more. It weighs unrounded money; what was chosen is then priced to the cent.
    """
    quotes: dict[tuple[str, str, int], Quote] = {}
    elsewhere = []
    for part in sorted(pieces):
        offered = market.selling(part)
        chosen = [quote for quote in offered if allowed(quote)]
        if offered and not chosen:
            elsewhere.append(part)
        quotes |= {(one.part, one.source, one.pack): one for one in chosen or offered}
    if not quotes:
        return None
    model = _Model(market=market, quotes=tuple(quotes.values()), pieces=pieces)
    packs, proven = model.solve()
    if packs is None:
        return None
    bought = [(quote, count) for quote, count in zip(model.quotes, packs, strict=True) if count]
    return Way(
        name=name,
        orders=make_orders(market, bought),
        elsewhere=tuple(elsewhere),
        proven=proven,
    )


def make_orders(market: Market, bought: list[tuple[Quote, int]]) -> tuple[Order, ...]:
    """Return one order for each source, its lines priced and its charges shared out by value."""
    orders = []
    for source in sorted({quote.source for quote, _ in bought}):
        lines = [
            Bought(quote=quote, packs=packs, money=quote.line(packs))
            for quote, packs in bought
            if quote.source == source
        ]
        terms = market.terms[source]
        goods = sum((line.money.goods for line in lines), exact(0))
        freight = terms.freight(goods)
        shares = share_out(freight + terms.handling, [line.money.goods for line in lines])
        orders.append(
            Order(
                source=source,
                lines=tuple(
                    Bought(quote=line.quote, packs=line.packs, money=line.money, charges=share)
                    for line, share in zip(lines, shares, strict=True)
                ),
                freight=freight,
                handling=terms.handling,
            )
        )
    return tuple(orders)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Model:
    """The integer program of one way.

    Variables: packs of each quote that make up the pieces; packs beyond them, only to reach a
    threshold; for each source whether it is used, and whether its freight is free. Apart, the packs
    are bound tightly to the use of their source, which makes it quick to solve.
    """

    market: Market
    quotes: tuple[Quote, ...]
    pieces: Mapping[str, int]

    def solve(self) -> tuple[list[int] | None, bool]:
        """Return the packs of each quote, None where there is no way; and whether it is proven."""
        sources = sorted({quote.source for quote in self.quotes})
        needed = np.array([self._needed(quote) for quote in self.quotes], dtype=float)
        beyond = np.array([self._beyond(quote) for quote in self.quotes], dtype=float)
        upper = np.concatenate([needed, beyond, np.ones(2 * len(sources))])
        found = milp(
            c=self._costs(sources),
            integrality=np.ones(len(upper), dtype=np.int64),
            bounds=Bounds(np.zeros(len(upper)), upper),
            constraints=self._rules(sources, needed, beyond),
            options={"mip_rel_gap": 0.0, "time_limit": _SECONDS},
        )
        if found.x is None:
            return None, False
        count = len(self.quotes)
        packs = np.rint(found.x[:count] + found.x[count : 2 * count]).astype(int)
        return packs.tolist(), found.status == 0

    def _needed(self, quote: Quote) -> int:
        """Return the most packs that can be of use for the pieces."""
        brings = {part: pieces for part, pieces in quote.brings.items() if part in self.pieces}
        needed = max(math.ceil(self.pieces[part] / pieces) for part, pieces in brings.items())
        return needed if quote.most is None else min(needed, quote.most)

    def _beyond(self, quote: Quote) -> int:
        """Return the most packs that can be of use to reach a threshold of the source."""
        terms = self.market.terms[quote.source]
        thresholds = [t for t in (terms.minimum_order, terms.free_freight_from) if t is not None]
        if not thresholds or quote.price <= 0:
            return 0
        wanted = math.ceil(max(thresholds) / quote.price)
        return wanted if quote.most is None else min(wanted, quote.most)

    def _costs(self, sources: list[str]) -> Floats:
        terms = [self.market.terms[source] for source in sources]
        landed = [_landed(quote) for quote in self.quotes]
        used = [float(one.per_order + one.handling) for one in terms]
        return np.array([*landed, *landed, *used, *(-float(one.per_order) for one in terms)])

    def _rules(self, sources: list[str], needed: Floats, beyond: Floats) -> LinearConstraint:
        """Return the rules, each as a . x >= b."""
        rows: list[tuple[dict[int, float], float]] = []
        count = len(self.quotes)
        brings = [quote.brings for quote in self.quotes]
        for part in sorted({part for one in brings for part in one if part in self.pieces}):
            of_part = {i: float(one[part]) for i, one in enumerate(brings) if part in one}
            rows.append((of_part, float(self.pieces[part])))
        for i, quote in enumerate(self.quotes):
            used = 2 * count + sources.index(quote.source)
            rows.append(({i: -1.0, used: needed[i]}, 0.0))
            rows.append(({count + i: -1.0, used: beyond[i]}, 0.0))
            if quote.most is not None:
                rows.append(({i: -1.0, count + i: -1.0}, -float(quote.most)))
        for s, source in enumerate(sources):
            used, free = 2 * count + s, 2 * count + len(sources) + s
            terms = self.market.terms[source]
            goods = {
                i + part: float(quote.price)
                for i, quote in enumerate(self.quotes)
                if quote.source == source
                for part in (0, count)
            }
            rows.append(({used: 1.0, free: -1.0}, 0.0))
            if terms.minimum_order is not None:
                rows.append(({**goods, used: -float(terms.minimum_order)}, 0.0))
            if terms.free_freight_from is None:
                rows.append(({free: -1.0}, 0.0))
            else:
                rows.append(({**goods, free: -float(terms.free_freight_from)}, 0.0))
        return _bound_below(rows, 2 * count + 2 * len(sources))


def _bound_below(rows: list[tuple[dict[int, float], float]], width: int) -> LinearConstraint:
    matrix = lil_array((len(rows), width))
    for number, (row, _) in enumerate(rows):
        for column, value in row.items():
            matrix[number, column] = value
    least = np.array([bound for _, bound in rows])
    return LinearConstraint(matrix.tocsr(), least, np.full(len(rows), np.inf))


def _landed(quote: Quote) -> float:
    """Return what one pack costs in the hand, unrounded."""
    goods, freight = float(quote.price), float(quote.freight)
    duty, tax = float(quote.duty), float(quote.tax)
    dues = duty * (goods if quote.duty_on_price else goods + freight)
    return min((goods + freight + dues) * (1.0 + tax), _NEVER)
