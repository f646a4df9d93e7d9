"""From how many pieces, or how much money of goods, mail order pays."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal

from stockopt.landed.landed import BreakEven, FromSource, MixCost, PartCompared
from stockopt.landed.money import NOTHING, cents
from stockopt.landed.packs import Packs, fill_each
from stockopt.landed.quotes import Market, OrderTerms, Quote

#: Pieces of one part looked at.
MOST_PIECES = 100
#: Points of a curve over growing numbers of pieces.
POINTS = 8


def find_pays_from(market: Market, part: str) -> int | None:
    """Return the pieces of one part alone from which mail order costs less than buying locally.

    Every source's charges are paid in full, as by an order of this part alone, and whole packs are
    bought. From that number on mail order stays cheaper, up to :data:`MOST_PIECES`; None where it
    is not cheaper at that number, or one of the two cannot be had.
    """
    quotes = market.quotes.get(part, ())
    local, mail = (_costs_alone(market, quotes, kind) for kind in ("local", "mail"))
    pays_from = None
    for pieces in range(MOST_PIECES, 0, -1):
        here, away = local[pieces - 1], mail[pieces - 1]
        if here is None or away is None or away >= here:
            break
        pays_from = pieces
    return pays_from


def _costs_alone(market: Market, quotes: Sequence[Quote], kind: str) -> list[Decimal | None]:
    """Return what 1, 2 ... pieces cost at the cheapest source of a kind, ordered alone."""
    costs: list[list[Decimal | None]] = []
    for source in sorted({quote.source for quote in quotes if quote.kind == kind}):
        packs = fill_each([quote for quote in quotes if quote.source == source], MOST_PIECES)
        costs.append([order_alone(market.terms[source], some) for some in packs])
    if not costs:
        return [None] * MOST_PIECES
    return [
        min((cost for cost in one if cost is not None), default=None)
        for one in zip(*costs, strict=True)
    ]


def order_alone(terms: OrderTerms, packs: Packs) -> Decimal | None:
    """Return what an order of some packs costs; None where there are not enough or too few."""
    if packs is None:
        return None
    lines = [quote.line(count) for quote, count in packs]
    goods = sum((line.goods for line in lines), NOTHING)
    if not terms.accepts(goods):
        return None
    return sum((line.landed for line in lines), NOTHING) + terms.charges(goods)


def find_break_even(source: str, market: Market, parts: Sequence[PartCompared]) -> BreakEven | None:
    """Return from how much of a basket's mix an order to one mail source pays.

    Parameters
    ----------
    source
        Who sells by mail.
    market, parts
        What is offered, and the basket.

    Returns
    -------
    BreakEven or None
        None where it sells nothing of the basket that can also be had locally for more.

    Notes
    -----
    The basket's mix is kept and its size changed. A piece of the mix saves s = (local - mail) /
    pieces, so an order pays from the first whole number above charges / s; with the freight
    free from some value of goods on, or with a least value, from the first number that reaches it
    if that comes sooner, or later.
    """
    pairs = list(_dearer_locally(source, parts))
    if not pairs:
        return None
    pieces = sum(compared.wanted.pieces for compared, _, _ in pairs)
    local = sum((here.money.landed for _, here, _ in pairs), NOTHING)
    mail = sum((away.money.landed for _, _, away in pairs), NOTHING)
    goods = sum((away.money.goods for _, _, away in pairs), NOTHING)
    terms = market.terms[source]
    pays_from = _first_paying(terms, (local - mail) / pieces, goods / pieces)
    return BreakEven(
        source=source,
        parts=len(pairs),
        pieces=pieces,
        local=local,
        mail=mail,
        goods=goods,
        pays_from=pays_from,
        pays_from_goods=None if pays_from is None else cents(goods * pays_from / pieces),
        curve=tuple(
            MixCost(
                pieces=number,
                goods=cents(goods * number / pieces),
                local=cents(local * number / pieces),
                mail=cents(mail * number / pieces) + terms.charges(cents(goods * number / pieces)),
            )
            for number in _points(pays_from, pieces)
        ),
    )


def _points(pays_from: int | None, pieces: int) -> list[int]:
    """Return numbers of pieces, evenly spread to twice where the order pays, or to the basket."""
    last = max(pieces if pays_from is None else 2 * pays_from, POINTS)
    return sorted({round(1 + step * (last - 1) / (POINTS - 1)) for step in range(POINTS)})


def _first_paying(terms: OrderTerms, saving: Decimal, goods: Decimal) -> int | None:
    """Return the first number of pieces at which an order saves more than it costs beside."""

    def reach(amount: Decimal | None) -> int:
        if amount is None:
            return 1
        return 10**9 if goods == 0 else max(math.ceil(amount / goods), 1)

    least = reach(terms.minimum_order)
    paid = max(math.floor((terms.per_order + terms.handling) / saving) + 1, least)
    if terms.free_freight_from is None:
        return paid
    free = max(math.floor(terms.handling / saving) + 1, reach(terms.free_freight_from), least)
    return min(paid, free)


def _dearer_locally(
    source: str, parts: Sequence[PartCompared]
) -> Iterator[tuple[PartCompared, FromSource, FromSource]]:
    for compared in parts:
        here = [one for one in compared.sources if one.kind == "local"]
        away = [one for one in compared.sources if one.source == source]
        if here and away:
            cheapest = min(here, key=lambda one: one.money.landed)
            if away[0].money.landed < cheapest.money.landed:
                yield compared, cheapest, away[0]
