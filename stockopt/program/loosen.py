"""Choices with more allowed than there is: fewer than the floors, more than the market has.

A number that was asked to be carried (pinned) counts as a floor here.

A way to look after a part with fewer than its floor was never weighed. Where readiness is asked,
a part that stops her is taken to run short for certain then: what is said to mend a clash mends
it. What such choices cost is never looked at, as only limits are.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.errors import Change
from stockopt.program.rows import Limit
from stockopt.sourcing import Offer

#: Later cost of carrying none of what has a floor; less with each piece, so that a choice never
#: beats one that carries more.
_DEAR = 1e12


@dataclass(frozen=True, slots=True, kw_only=True)
class Loosened:
    """Choices that allow more, and by limit how much more."""

    choices: Choices
    original: Choices
    more: dict[Limit, float]


class Lowered(NamedTuple):
    """The floor of a part, and where its choices below the floor begin."""

    floor: int
    first: int


def loosen(choices: Choices) -> Loosened:
    """Add choices below every floor, and packs and stock beyond what is to be had.

    Stock is added only where no source delivers a part in time to some boat: elsewhere it can be
    bought.
    """
    place = {boat: limits.place for boat, limits in choices.boats.items()}
    wanted: Counter[str] = Counter()
    unsold = set()
    for part in choices.parts:
        wanted[part.part] += max(choice.pieces for choice in part.choices)
        if not part.offers:
            unsold.add((place[part.boat], part.part))
    more: dict[Limit, float] = {}
    stock = dict(choices.stock)
    parts = []
    for part in choices.parts:
        there = (place[part.boat], part.part)
        if there in unsold:
            stock[there] = choices.stock.get(there, 0) + wanted[part.part]
            more[Limit(kind="stock", place=there[0], part=there[1])] = wanted[part.part]
        ahead = tuple(
            replace(each, offers=tuple(_sell_more(o, wanted, choices, more) for o in each.offers))
            for each in part.ahead
        )
        offers = tuple(_sell_more(offer, wanted, choices, more) for offer in part.offers)
        parts.append(_lower(replace(part, offers=offers, ahead=ahead), 0))
    return Loosened(
        choices=replace(choices, parts=tuple(parts), stock=stock), original=choices, more=more
    )


def _sell_more(
    offer: Offer, wanted: Mapping[str, int], choices: Choices, more: dict[Limit, float]
) -> Offer:
    """Add packs enough for all that could be wanted, and for any least order."""
    if offer.most is None:
        return offer
    least = max((charges.minimum_order or 0.0 for charges in choices.charges.values()), default=0.0)
    filling = math.ceil(least / (offer.price * offer.pack)) if offer.price > 0.0 else 0
    packs = math.ceil(sum(wanted[part] for part in offer.parts) / offer.pack) + filling
    more[Limit(kind="most", source=offer.source, part=offer.part, pack=offer.pack)] = packs
    return replace(offer, most=offer.most + packs)


def _lower(part: BoatPart, least: int) -> BoatPart:
    """Add choices that carry fewer than the floor, down to `least`."""
    chance = 1.0 if part.stops else 0.0
    floor = find_least_carried(part)
    fewer = tuple(
        Choice(
            carry=carry,
            replace_now=0,
            restock=False,
            later_cost=_DEAR / (1 + carry),
            shortage_chance=chance,
            expected_shortages=0.0,
            expected_need=0.0,
            restock_cost=0.0,
        )
        for carry in range(least, floor)
    )
    return replace(part, choices=(*part.choices, *fewer)) if fewer else part


def find_least_carried(part: BoatPart) -> int:
    """Return the number that must be carried: the pin where there is one, else the floor."""
    return part.floor if part.pin is None else part.pin


def list_lowered(loosened: Loosened) -> dict[tuple[str, str], Lowered]:
    """Return by boat and part, where there is a floor, which choices are below it."""
    return {
        (part.boat, part.part): Lowered(find_least_carried(part), len(part.choices))
        for part in loosened.original.parts
        if find_least_carried(part) > 0
    }


def mend(choices: Choices, changes: Iterable[Change]) -> Choices:
    """Return the choices with each limit changed as told; a day of departure stays."""
    for change in changes:
        choices = _mend_one(choices, change)
    return choices


def _mend_one(choices: Choices, change: Change) -> Choices:
    if change.limit in ("kg", "litres", "boat budget"):
        limits = choices.boats[change.boat]
        if change.limit == "kg":
            limits = replace(limits, kg=change.needed)
        elif change.limit == "litres":
            limits = replace(limits, litres=change.needed)
        else:
            limits = replace(limits, budget=change.needed)
        return replace(choices, boats={**choices.boats, change.boat: limits})
    if change.limit == "fleet budget":
        return replace(choices, budget=change.needed)
    if change.limit == "readiness":
        return replace(choices, readiness=change.needed or None)
    if change.limit == "minimum_order":
        key = (change.source, change.place)
        charges = replace(choices.charges[key], minimum_order=change.needed)
        return replace(choices, charges={**choices.charges, key: charges})
    if change.limit == "stock":
        there = (change.place, change.part)
        pieces = choices.stock.get(there, 0) + round(change.over)
        return replace(choices, stock={**choices.stock, there: pieces})
    return replace(choices, parts=tuple(_mend_part(part, change) for part in choices.parts))


def _mend_part(part: BoatPart, change: Change) -> BoatPart:
    if change.limit == "carry_at_least" and (part.boat, part.part) == (change.boat, change.part):
        lowered = _lower(part, round(change.needed))
        least = round(change.needed)
        pin = None if part.pin is None else least
        return replace(lowered, floor=min(part.floor, least), pin=pin)
    if change.limit == "most" and part.part == change.part:
        offers = tuple(
            replace(offer, most=round(change.needed))
            if (offer.source, offer.pack) == (change.source, change.pack)
            and offer.most == round(change.value)
            else offer
            for offer in part.offers
        )
        return replace(part, offers=offers)
    return part
