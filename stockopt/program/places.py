"""The fleet taken apart: places that share no order, no stock and no scarce offer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from stockopt.choices.choices import BoatLimits, BoatPart, Choices
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
        sells no more than so many packs of a part in all stay together.
    """
    group = _group_places(choices)
    boats: dict[str, dict[str, BoatLimits]] = defaultdict(dict)
    for boat, limits in choices.boats.items():
        boats[group.get(limits.place, "")][boat] = limits
    parts: dict[str, list[BoatPart]] = defaultdict(list)
    for part in choices.parts:
        parts[group[choices.boats[part.boat].place]].append(part)
    charges: dict[str, dict[tuple[str, str], Charges]] = defaultdict(dict)
    for order, charge in choices.charges.items():
        charges[group.get(order[1], "")][order] = charge
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

    seller: dict[tuple[str, str, int, float], str] = {}
    for part in choices.parts:
        for offer in part.offers:
            if offer.most is None:
                continue
            place = find(choices.boats[part.boat].place)
            key = (offer.source, offer.part, offer.pack, offer.price)
            other = find(seller.setdefault(key, place))
            group[max(place, other)] = min(place, other)
    return {place: find(place) for place in group}
