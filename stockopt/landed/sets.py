"""Sets sold under one number, beside their parts bought one by one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal

from stockopt.landed.landed import PartCompared, SetCompared, SetWay, Way
from stockopt.landed.money import cents
from stockopt.landed.quotes import Market, Quote


def compare_sets(
    market: Market, parts: Sequence[PartCompared], split: Way | None
) -> tuple[SetCompared, ...]:
    """Compare every set that holds parts of a basket with those parts bought one by one.

    Parameters
    ----------
    market
        What is offered.
    parts
        The basket.
    split
        The cheapest way to buy it; None where there is none.
    """
    wanted = {one.part: one.wanted.pieces for one in parts}
    each = {one.part: _cheapest_piece(one) for one in parts}
    taken: dict[Quote, int] = {}
    for order in split.orders if split else ():
        taken |= {line.quote: line.packs for line in order.lines}
    sets = {quote: None for part in wanted for quote in market.sets.get(part, ())}
    return tuple(
        SetCompared(
            quote=quote,
            one=_way(quote, 1, wanted, each),
            ways=tuple(
                (part, _way(quote, _count_packs(quote, part, wanted[part]), wanted, each))
                for part in quote.brings
                if part in wanted
            ),
            in_split=taken.get(quote, 0),
        )
        for quote in sorted(sets, key=lambda one: (one.part, one.source, one.pack))
    )


def _cheapest_piece(one: PartCompared) -> Decimal | None:
    """Return the least that one piece costs landed, unrounded, as the basket gets the part."""
    return min((source.money.landed / source.pieces for source in one.sources), default=None)


def _count_packs(quote: Quote, part: str, wanted: int) -> int:
    packs = math.ceil(wanted / quote.brings[part])
    return packs if quote.most is None else min(packs, quote.most)


def _way(
    quote: Quote, packs: int, wanted: Mapping[str, int], each: Mapping[str, Decimal | None]
) -> SetWay:
    brings = {part: packs * pieces for part, pieces in quote.brings.items()}
    useful = {part: min(pieces, wanted.get(part, 0)) for part, pieces in brings.items()}
    costs = [
        None if (cost := each.get(part)) is None else cost * useful[part]
        for part in useful
        if useful[part]
    ]
    known = [cost for cost in costs if cost is not None]
    return SetWay(
        packs=packs,
        money=quote.line(packs),
        useful=tuple((part, pieces) for part, pieces in useful.items() if pieces),
        left=tuple(
            (part, pieces - useful[part])
            for part, pieces in brings.items()
            if pieces > useful[part]
        ),
        one_by_one=cents(sum(known, Decimal(0))) if len(known) == len(costs) else None,
    )
