"""Parts of which a boat must have more than can be had: seen without the solver."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from stockopt.choices.choices import BoatPart, Choices
from stockopt.errors import Change, Clash
from stockopt.program.clash_words import write_change
from stockopt.program.loosen import find_least_carried
from stockopt.program.rows import Limit
from stockopt.program.slack import Moved
from stockopt.sourcing import Offer


def find_missing_pieces(choices: Choices) -> Iterator[Clash]:
    """Find parts of which the fewest pieces allowed cannot be had before a boat departs."""
    stock = _add_up_stock(choices)
    movable = _add_up_movable(choices)
    for part in sorted(choices.parts, key=lambda part: (part.boat, part.part)):
        limits = choices.boats[part.boat]
        fewest = min(choice.pieces for choice in part.choices)
        near = limits.harbour or limits.place
        there = part.on_hand + stock[near, part.part] + _count_packs(part)
        if limits.harbour:
            there += sum(n for boat, n in movable[near, part.part].items() if boat != part.boat)
        if fewest > there:
            yield _tell(part, fewest, int(there), choices)


def _add_up_stock(choices: Choices) -> Counter[tuple[str, str]]:
    """Count the pieces in stock, by the place or harbour that can draw on them, and part."""
    near = {limits.place: limits.harbour or limits.place for limits in choices.boats.values()}
    stock: Counter[tuple[str, str]] = Counter()
    for (place, part), pieces in choices.stock.items():
        stock[near.get(place, place), part] += pieces
    return stock


def _add_up_movable(choices: Choices) -> dict[tuple[str, str], dict[str, int]]:
    movable: dict[tuple[str, str], dict[str, int]] = defaultdict(dict)
    for part in choices.parts:
        harbour = choices.boats[part.boat].harbour
        if harbour:
            movable[harbour, part.part][part.boat] = part.movable
    return movable


def _count_packs(part: BoatPart) -> float:
    """Count the pieces that offers can bring; infinite without a limit."""
    return sum(
        math.inf if offer.most is None else offer.most * offer.pack * offer.parts[part.part]
        for offer in part.offers
    )


def _tell(part: BoatPart, fewest: int, there: int, choices: Choices) -> Clash:
    limits = choices.boats[part.boat]
    floor = find_least_carried(part)
    if part.pin is not None:
        asked = f"exactly {part.pin} were asked to be carried"
    else:
        asked = f"at least {floor} must be carried" if floor else "no choice is less"
    text = (
        f"{part.boat} needs {fewest} of {part.part} ({asked}), and only {there} can be aboard "
        f"when she departs on {limits.departs_on}: {_say_why(part, choices)}"
    )
    return Clash(text=text, remedies=tuple(_list_remedies(part, fewest, there, choices)))


def _say_why(part: BoatPart, choices: Choices) -> str:
    if part.offers:
        sold = ", ".join(
            f"{offer.source} has {offer.most} pack{'s' if offer.most != 1 else ''} of {offer.pack}"
            for offer in part.offers
        )
        return f"{sold}, and no source delivers more in time"
    if part.too_late is not None:
        return f"the first offer that could bring more is in hand by {part.too_late}"
    return "nobody quotes a price for it"


def _list_remedies(
    part: BoatPart, fewest: int, there: int, choices: Choices
) -> Iterator[tuple[Change, ...]]:
    """List what mends it: pieces from elsewhere, a later departure, and last a lower floor."""
    departs_on = choices.boats[part.boat].departs_on
    missing = fewest - there
    place = choices.boats[part.boat].place
    yield (
        Change(
            limit="stock",
            boat=part.boat,
            place=place,
            part=part.part,
            unit="pieces",
            value=float(there),
            needed=float(fewest),
            text=f"get {missing} more of {part.part} for {part.boat} before {departs_on} "
            "and write it into the table stock, or find a price for it",
        ),
    )
    if part.too_late is not None:
        days = (part.too_late - departs_on).days
        yield (write_departure(part.boat, part.part, days, part.too_late),)
    floor = find_least_carried(part)
    lowered = floor - missing
    if floor and lowered >= 0:
        yield (
            Change(
                limit="carry_at_least",
                boat=part.boat,
                part=part.part,
                unit="pieces",
                value=float(floor),
                needed=float(lowered),
                text=f"let {part.boat} carry {lowered} of {part.part} instead of at least {floor}, "
                "only where rules and safety allow it",
            ),
        )


def write_departure(boat: str, part: str, days: int, departs_on: date) -> Change:
    """Return a later departure as a change, with its words."""
    return Change(
        limit="departs_on",
        boat=boat,
        part=part,
        unit="days",
        value=0.0,
        needed=float(days),
        text=f"let {boat} depart {days} day{'s' if days != 1 else ''} later, on {departs_on}",
    )


def find_scarce_parts(choices: Choices, who: str) -> Iterator[Clash]:
    """Find parts of which the boats of some places need more together than can be had.

    Counted as if all that is had went where it is needed: what is found is short in any plan.
    """
    wanted: Counter[str] = Counter()
    there: Counter[str] = Counter()
    offers: dict[str, dict[tuple[str, str, int, float], Offer]] = defaultdict(dict)
    for part in choices.parts:
        wanted[part.part] += max(0, min(c.pieces for c in part.choices) - part.on_hand)
        there[part.part] += part.movable if choices.boats[part.boat].harbour else 0
        for offer in part.offers:
            offers[part.part][offer.source, offer.part, offer.pack, offer.price] = offer
    for (_, name), pieces in choices.stock.items():
        there[name] += pieces
    for name in sorted(wanted):
        sold = [offers[name][key] for key in sorted(offers[name])]
        if any(offer.most is None for offer in sold):
            continue
        inside = sum((o.most or 0) * o.pack * o.parts[name] for o in sold)
        missing = wanted[name] - there[name] - inside
        if missing > 0:
            yield _tell_scarce(name, wanted[name], missing, sold, choices, who)


def _tell_scarce(
    name: str, wanted: int, missing: int, sold: Sequence[Offer], choices: Choices, who: str
) -> Clash:
    """Say of which part there is too little, and who could sell or have more."""
    if sold:
        offer = min(sold, key=lambda each: each.landed)
        limit = Limit(kind="most", source=offer.source, part=offer.part, pack=offer.pack)
        value = float(offer.most or 0)
        more = math.ceil(missing / (offer.pack * offer.parts[name]))
    else:
        place = min(choices.boats[part.boat].place for part in choices.parts if part.part == name)
        limit, more = Limit(kind="stock", place=place, part=name), missing
        value = float(choices.stock.get((place, name), 0))
    change = write_change(Moved(limit, "", name, value, value + more), choices)
    text = (
        f"{who} need {wanted:,} of {name} beside what is aboard, and only "
        f"{wanted - missing:,} can be had"
    )
    return Clash(text=text, remedies=((change,),))
