"""Which limits cannot be kept, in words, where each can be tried by itself without the solver."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stockopt.choices.choices import BoatLimits, BoatPart, Choice, Choices


def find_clashes(choices: Choices) -> list[str]:
    """Name the limits that no plan can keep.

    Parameters
    ----------
    choices
        Choices for which no plan was found.

    Returns
    -------
    list of str
        The limits that cannot be kept even by themselves and by how much; where each can, all
        limits in force, as some of them together are too tight.
    """
    clashes = [
        *_find_missing_pieces(choices),
        *_find_overloads(choices),
        *_find_overspending(choices),
        *_find_low_readiness(choices),
    ]
    return clashes or _list_limits(choices)


def _find_missing_pieces(choices: Choices) -> Iterator[str]:
    """Find parts of which the fewest pieces allowed cannot be had before she departs."""
    for part in _sort_parts(choices):
        fewest = min(choice.pieces for choice in part.choices)
        there = part.on_hand + _count_to_be_had(part, choices)
        if fewest > there:
            departs_on = choices.boats[part.boat].departs_on
            why = _say_why(part)
            yield (
                f"{part.boat} needs {fewest} of {part.part} ({why}), and only {there:g} can be "
                f"aboard when she departs on {departs_on}: no source delivers more in time"
            )


def _say_why(part: BoatPart) -> str:
    if part.pin is not None:
        return f"exactly {part.pin} were asked to be carried"
    return f"at least {part.floor} must be carried" if part.floor else "no choice is less"


def _find_overloads(choices: Choices) -> Iterator[str]:
    """Find boats whose least load is more than they take."""
    for boat, limits, parts in _list_boats(choices):
        fewest = [(part, min(choice.carry for choice in part.choices)) for part in parts]
        kg = sum(part.kg * carry for part, carry in fewest)
        litres = sum(part.litres * carry for part, carry in fewest)
        for load, limit, unit, verb in (
            (kg, limits.kg, "kg", "weighs"),
            (litres, limits.litres, "litres", "fills"),
        ):
            if limit is not None and load > limit:
                yield (
                    f"{boat}: what must be carried {verb} {load:,.1f} {unit}, "
                    f"{load - limit:,.1f} over her limit of {limit:,.1f}"
                )


def _find_overspending(choices: Choices) -> Iterator[str]:
    """Find budgets below the cheapest way to buy what must be bought, before order charges."""
    total = 0.0
    for boat, limits, parts in _list_boats(choices):
        least = sum(_find_least_spending(part, choices) for part in parts)
        total += least
        if limits.budget is not None and least > limits.budget:
            yield (
                f"{boat}: what must be bought costs at least {least:,.2f}, "
                f"{least - limits.budget:,.2f} over her budget of {limits.budget:,.2f}"
            )
    if choices.budget is not None and total > choices.budget:
        yield (
            f"what must be bought for the fleet costs at least {total:,.2f}, "
            f"{total - choices.budget:,.2f} over the budget of {choices.budget:,.2f}"
        )


def _find_least_spending(part: BoatPart, choices: Choices) -> float:
    free = part.on_hand + _count_stock(part, choices)
    bought = max(0, min(choice.pieces for choice in part.choices) - free)
    return bought * min((offer.landed for offer in part.offers), default=0.0)


def _find_low_readiness(choices: Choices) -> Iterator[str]:
    """Find boats that cannot reach the readiness asked, even without any other limit."""
    asked = choices.readiness
    if not asked:
        return
    for boat, _, parts in _list_boats(choices):
        chances = {
            part.part: min(choice.shortage_chance for choice in _list_possible(part, choices))
            for part in parts
            if part.stops
        }
        best = math.prod(1.0 - chance for chance in chances.values())
        if best < asked * (1.0 - 1e-9):
            worst = max(chances, key=lambda name: chances[name])
            yield (
                f"{boat}: a readiness of {best:.2%} is the most that can be reached, "
                f"{asked:.2%} is asked; {worst} is the greatest risk, {chances[worst]:.2%}"
            )


def _list_possible(part: BoatPart, choices: Choices) -> list[Choice]:
    there = part.on_hand + _count_to_be_had(part, choices)
    possible = [choice for choice in part.choices if choice.pieces <= there]
    return possible or [min(part.choices, key=lambda choice: choice.pieces)]


def _count_to_be_had(part: BoatPart, choices: Choices) -> float:
    """Count the pieces that stock and offers can bring; infinite without a limit."""
    packs = (math.inf if o.most is None else float(o.most * o.pack) for o in part.offers)
    return _count_stock(part, choices) + sum(packs)


def _count_stock(part: BoatPart, choices: Choices) -> int:
    return choices.stock.get((choices.boats[part.boat].place, part.part), 0)


def _list_limits(choices: Choices) -> list[str]:
    """List every limit in force."""
    words = ["each limit can be kept by itself, but no plan keeps all of these together:"]
    if choices.budget is not None:
        words.append(f"the budget of {choices.budget:,.2f} for the fleet")
    if choices.readiness:
        words.append(f"a readiness of {choices.readiness:.2%} for every boat")
    for boat, limits, parts in _list_boats(choices):
        own = [
            f"{limit:,.1f} {unit}"
            for limit, unit in ((limits.kg, "kg"), (limits.litres, "litres"))
            if limit is not None
        ]
        if limits.budget is not None:
            own.append(f"a budget of {limits.budget:,.2f}")
        own += [
            f"at least {part.floor} of {part.part}"
            for part in parts
            if part.floor and part.pin is None
        ]
        own += [f"exactly {part.pin} of {part.part}" for part in parts if part.pin is not None]
        if own:
            words.append(f"{boat}: {', '.join(own)}")
    minimums = sorted({source for (source, _), c in choices.charges.items() if c.minimum_order})
    words += [f"the minimum order of {source}" for source in minimums]
    return words


def _list_boats(choices: Choices) -> Iterator[tuple[str, BoatLimits, list[BoatPart]]]:
    parts = _sort_parts(choices)
    for boat in sorted(choices.boats):
        yield boat, choices.boats[boat], [part for part in parts if part.boat == boat]


def _sort_parts(choices: Choices) -> list[BoatPart]:
    return sorted(choices.parts, key=lambda part: (part.boat, part.part))
