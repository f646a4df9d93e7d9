"""The fleet taken apart by place: boats that share no order and no stock."""

from __future__ import annotations

from collections import defaultdict
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
        without the fleet's budget. That budget, and sources that have no more than so many packs
        for all places together, are all that joins them.
    """
    boats: dict[str, dict[str, BoatLimits]] = defaultdict(dict)
    for boat, limits in choices.boats.items():
        boats[limits.place][boat] = limits
    parts: dict[str, list[BoatPart]] = defaultdict(list)
    for part in choices.parts:
        parts[choices.boats[part.boat].place].append(part)
    charges: dict[str, dict[tuple[str, str], Charges]] = defaultdict(dict)
    for order, charge in choices.charges.items():
        charges[order[1]][order] = charge
    stock: dict[str, dict[tuple[str, str], int]] = defaultdict(dict)
    for kept, pieces in choices.stock.items():
        stock[kept[0]][kept] = pieces
    return tuple(
        replace(
            choices,
            boats=boats[place],
            parts=tuple(parts[place]),
            charges=charges[place],
            stock=stock[place],
            budget=None,
            notes=(),
        )
        for place in sorted(parts)
    )
