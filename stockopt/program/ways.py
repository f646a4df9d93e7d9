"""The ways to bring the pieces that one boat wants of one part, whole packs and all."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from stockopt.program.needs import Need, Supply
from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to bring `wanted` pieces.

    Parameters
    ----------
    wanted
        Pieces brought and used.
    drawn
        (supply, pieces) of the supplies it uses.
    cost
        Packs at their landed cost less the worth of surplus pieces, and the worth of pieces drawn
        from stock.
    spending
        The part of it that is spent now.
    goods
        By source: price of the packs bought, before freight.
    """

    wanted: int
    drawn: tuple[tuple[Supply, int], ...]
    cost: float
    spending: float
    goods: Mapping[str, float]


def list_ways(need: Need, stock: int, fillable: Set[str]) -> list[Way]:
    """List the ways that could be best, for each number of pieces that an option wants.

    Parameters
    ----------
    need
        Of a boat that shares packs and stock with no other.
    stock
        Pieces of the part in the stock of her place.
    fillable
        Sources where a greater order can pay by itself: those with a minimum or free freight.

    Returns
    -------
    list of Way
        A way is left out where another costs no more, is paid with no more money now, orders from
        no other sources and from each of `fillable` for no less.
    """
    ways = []
    for wanted in sorted({option.wanted for option in need.options} - {0}):
        there = sorted(
            (_make_way(need, wanted, split) for split in _split(wanted, need.supplies, stock)),
            key=lambda way: (way.cost, way.spending, len(way.goods)),
        )
        kept: list[Way] = []
        for way in there:
            if not any(_is_as_good(better, way, fillable) for better in kept):
                kept.append(way)
        ways += kept
    return ways


def _split(wanted: int, supplies: Sequence[Supply], stock: int) -> Iterator[tuple[int, ...]]:
    """Split a number of pieces over the supplies in every way that they can bring."""
    if not supplies:
        if wanted == 0:
            yield ()
        return
    first = supplies[0]
    if first is None:
        most: float = stock
    else:
        most = math.inf if first.most is None else first.most * first.pack
    least = wanted if len(supplies) == 1 else 0
    for pieces in range(least, int(min(wanted, most)) + 1):
        for others in _split(wanted - pieces, supplies[1:], stock):
            yield (pieces, *others)


def _make_way(need: Need, wanted: int, split: tuple[int, ...]) -> Way:
    cost = spending = 0.0
    goods: dict[str, float] = {}
    for supply, pieces in zip(need.supplies, split, strict=True):
        if supply is None:
            cost += pieces * need.part.leftover
        elif pieces:
            bought = count_packs(supply, pieces) * supply.pack
            spending += bought * supply.landed
            cost += bought * supply.landed - (bought - pieces) * need.part.leftover
            goods[supply.source] = goods.get(supply.source, 0.0) + bought * supply.price
    drawn = tuple((s, n) for s, n in zip(need.supplies, split, strict=True) if n)
    return Way(wanted=wanted, drawn=drawn, cost=cost, spending=spending, goods=goods)


def count_packs(offer: Offer, pieces: int) -> int:
    """Return the packs that hold this many pieces."""
    return math.ceil(pieces / offer.pack)


def _is_as_good(better: Way, way: Way, fillable: Set[str]) -> bool:
    return (
        better.cost <= way.cost
        and better.spending <= way.spending
        and better.goods.keys() <= way.goods.keys()
        and all(
            better.goods.get(source, 0.0) >= value
            for source, value in way.goods.items()
            if source in fillable
        )
    )
