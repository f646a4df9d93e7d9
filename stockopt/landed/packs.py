"""Whole packs that make up a number of pieces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal

from stockopt.landed.quotes import Quote

#: Packs of each quote used; None where the source has not enough.
Packs = list[tuple[Quote, int]] | None

#: Cost before the order's charges, and packs of each quote; None where there are not enough.
_Best = tuple[Decimal, tuple[int, ...]] | None


def fill(quotes: Sequence[Quote], pieces: int) -> Packs:
    """Return the cheapest whole packs of one source's quotes that hold at least so many pieces.

    Parameters
    ----------
    quotes
        Of one part from one source; they differ in their packs.
    pieces
        Wanted, at least 1.
    """
    return fill_each(quotes, pieces)[-1]


def fill_each(quotes: Sequence[Quote], most: int) -> list[Packs]:
    """Return the cheapest packs for every number of pieces from 1 to `most`; see :func:`fill`."""
    if len(quotes) == 1:
        (quote,) = quotes
        needed = [math.ceil(pieces / quote.pack) for pieces in range(1, most + 1)]
        return [None if _too_many(quote, packs) else [(quote, packs)] for packs in needed]
    best: list[_Best] = [(Decimal(0), ()), *[None] * most]
    for quote in quotes:
        costs = [quote.line(packs).landed for packs in range(math.ceil(most / quote.pack) + 1)]
        best = [_with_quote(best, quote, costs, pieces) for pieces in range(most + 1)]
    return [
        None
        if found is None
        else [(quote, packs) for quote, packs in zip(quotes, found[1], strict=True) if packs]
        for found in best[1:]
    ]


def _too_many(quote: Quote, packs: int) -> bool:
    return quote.most is not None and packs > quote.most


def _with_quote(
    before: Sequence[_Best], quote: Quote, costs: Sequence[Decimal], pieces: int
) -> _Best:
    """Return the best with one quote more; what it adds is packs of that quote."""
    ways = [
        (rest[0] + costs[packs], (*rest[1], packs))
        for packs in range(math.ceil(pieces / quote.pack) + 1)
        if not _too_many(quote, packs)
        and (rest := before[max(pieces - packs * quote.pack, 0)]) is not None
    ]
    return min(ways, default=None)
