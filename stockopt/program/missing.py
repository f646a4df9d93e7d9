"""Parts of which a boat must have more than can be had: seen without the solver."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator

from stockopt.choices.choices import BoatPart, Choices
from stockopt.errors import Change, Clash
from stockopt.program.loosen import find_least_carried


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
        yield (
            Change(
                limit="departs_on",
                boat=part.boat,
                part=part.part,
                unit="days",
                value=0.0,
                needed=float(days),
                text=f"let {part.boat} depart {days} day{'s' if days != 1 else ''} later, on "
                f"{part.too_late}",
            ),
        )
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
