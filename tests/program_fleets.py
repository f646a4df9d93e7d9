"""Choices of whole fleets: stores of several boats and boats delivered to alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from program_market import make_market

from stockopt.choices.choices import Choices
from stockopt.sourcing import Offer


def join_choices(
    parts_of: Sequence[Choices], *, budget: float | None, own_sources: bool = False
) -> Choices:
    """Join fleets to one; boats and places get the number of their fleet in front.

    So do sources where they are each fleet's own. Else two of one price, though by chance, have so
    many packs for both in all, and keep the places together.
    """
    boats, charges, stock, parts = {}, {}, {}, []
    for number, choices in enumerate(parts_of):
        name = f"{number:03d} ".__add__
        seller = name if own_sources else str
        for boat, limits in choices.boats.items():
            boats[name(boat)] = replace(limits, boat=name(boat), place=name(limits.place))
        charges |= {(seller(source), name(at)): c for (source, at), c in choices.charges.items()}
        stock |= {(name(at), part): pieces for (at, part), pieces in choices.stock.items()}
        for part in choices.parts:
            offers = tuple(replace(o, source=seller(o.source)) for o in part.offers)
            parts.append(replace(part, boat=name(part.boat), offers=offers))
    return Choices(
        boats=boats,
        parts=tuple(parts),
        charges=charges,
        stock=stock,
        budget=budget,
        readiness=parts_of[0].readiness,
        notes=(),
    )


def make_fleet_market(
    boats: int, parts: int, *, a_place: int = 1, budget: float = 0.9, seed: int = 0
) -> Choices:
    """Return `boats` boats, `a_place` of them at each place, every place with prices of its own.

    `budget` is a share of the price of one of each part for every boat. With 200 parts, and what
    is scarce, not every boat can be as ready as the smaller ones are asked to be.
    """
    readiness = 0.5 ** (parts / (60.0 if parts < 200 else 40.0))
    fleets = [
        make_market(
            min(a_place, boats - start),
            parts,
            seed=seed + start,
            shared=a_place > 1,
            readiness=readiness,
            budget=budget,
        )
        for start in range(0, boats, a_place)
    ]
    joined = join_choices(
        fleets, budget=sum(fleet.budget or 0.0 for fleet in fleets), own_sources=True
    )
    return joined if a_place < 10 else _make_more(joined, a_place)


def _make_more(choices: Choices, boats: int) -> Choices:
    """Let what is scarce grow with the boats of a place that share it."""
    more: dict[Offer, Offer] = {}
    for part in choices.parts:
        for offer in part.offers:
            if offer not in more:
                most = None if offer.most is None else offer.most * boats // 4
                more[offer] = replace(offer, most=most)
    parts = (
        replace(part, offers=tuple(more[offer] for offer in part.offers)) for part in choices.parts
    )
    stock = {key: pieces * boats // 10 for key, pieces in choices.stock.items()}
    return replace(choices, parts=tuple(parts), stock=stock)
