"""The fleet taken apart: places that share no order, no stock and no scarce offer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from itertools import chain

from stockopt.choices.choices import BoatLimits, BoatPart, Choices, name_ahead
from stockopt.sourcing import Charges


def split_by_place(choices: Choices) -> tuple[Choices, ...]:
    """Split the choices by the place that orders are delivered to, sorted by place.

    Parameters
    ----------
    choices
        Of the whole fleet.

    Returns
    -------
    tuple of Choices
        One for each place that a boat with parts belongs to, with every limit of its boats but
        without the fleet's budget, which is all that joins them. Places to which the same source
        sells no more than so many packs of a part in all stay together, and those of a harbour
        where one has pieces that another could use.
    """
    group = _group_places(choices)
    boats: dict[str, dict[str, BoatLimits]] = defaultdict(dict)
    for boat, limits in choices.boats.items():
        boats[group.get(limits.place, "")][boat] = limits
    parts: dict[str, list[BoatPart]] = defaultdict(list)
    for part in choices.parts:
        parts[group[choices.boats[part.boat].place]].append(part)
    charges: dict[str, dict[tuple[str, str], Charges]] = defaultdict(dict)
    met = {
        name_ahead(part.boat, ahead.port): choices.boats[part.boat].place
        for part in choices.parts
        for ahead in part.ahead
    }
    for order, charge in choices.charges.items():
        charges[group.get(met.get(order[1], order[1]), "")][order] = charge
    stock: dict[str, dict[tuple[str, str], int]] = defaultdict(dict)
    for kept, pieces in choices.stock.items():
        stock[group.get(kept[0], "")][kept] = pieces
    return tuple(
        replace(
            choices,
            boats=boats[first],
            parts=tuple(parts[first]),
            charges=charges[first],
            stock=stock[first],
            budget=None,
            notes=(),
        )
        for first in sorted(parts)
    )


def _group_places(choices: Choices) -> Mapping[str, str]:
    """Return by place the first, in alphabet, of those that it stays together with."""
    places = {choices.boats[part.boat].place for part in choices.parts}
    group = {place: place for place in places}

    def find(place: str) -> str:
        while group[place] != place:
            group[place] = group[group[place]]
            place = group[place]
        return place

    def join(place: str, other: str) -> None:
        first, second = sorted((find(place), find(other)))
        group[second] = first

    seller: dict[tuple[str, str, int, float], str] = {}
    for part in choices.parts:
        place = choices.boats[part.boat].place
        offers = chain(part.offers, *(ahead.offers for ahead in part.ahead))
        for offer in offers:
            if offer.most is not None:
                key = (offer.source, offer.part, offer.pack, offer.price)
                join(place, seller.setdefault(key, place))
    for sharing in _list_sharing(choices):
        for place in sharing[1:]:
            join(sharing[0], place)
    return {place: find(place) for place in group}


def _list_sharing(choices: Choices) -> list[tuple[str, ...]]:
    """List the places that want one part, where a store or boat of their harbour has pieces."""
    wanting: dict[tuple[str, str], set[str]] = defaultdict(set)
    having: set[tuple[str, str]] = set()
    harbours: dict[str, str] = {}
    for part in choices.parts:
        limits = choices.boats[part.boat]
        harbours[limits.place] = limits.harbour
        if limits.harbour:
            wanting[limits.harbour, part.part].add(limits.place)
            if part.movable:
                having.add((limits.harbour, part.part))
    for (store, name), pieces in choices.stock.items():
        if pieces > 0:
            having.add((harbours.get(store, ""), name))
    return [tuple(sorted(wanting[key])) for key in sorted(having & wanting.keys())]
