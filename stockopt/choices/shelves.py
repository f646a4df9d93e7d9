"""A store's shelf as the program takes it up: looked after like a boat that never sails."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from stockopt.choices.choices import BoatLimits, BoatPart, Choice, Choices
from stockopt.choices.store_part import StorePart


def name_shelf(store: str) -> str:
    """Return the name under which a store's shelf stands among the boats."""
    return f"{store}, shelf"


def add_shelves(choices: Choices, stores: Sequence[StorePart]) -> Choices:
    """Return the choices with the stores' shelves beside the boats.

    A shelf has no limits of its own and carries its level; pieces for it come from the store's
    stock, from what boats of the harbour have too much of, and from the orders of the place, all
    as for a boat.

    Parameters
    ----------
    choices
        Of the boats.
    stores
        By store and part; every store is the place of some boat.
    """
    shelves = {name_shelf(part.store): part for part in stores}
    boats = dict(choices.boats)
    boats |= {shelf: _limit(shelf, part, choices.boats) for shelf, part in shelves.items()}
    parts = [*choices.parts, *(_put_up(part) for part in stores)]
    return replace(
        choices,
        boats=boats,
        parts=tuple(sorted(parts, key=lambda part: (part.boat, part.part))),
        stores=tuple(stores),
    )


def _limit(shelf: str, part: StorePart, boats: Mapping[str, BoatLimits]) -> BoatLimits:
    harbour = next(limits.harbour for limits in boats.values() if limits.place == part.store)
    return BoatLimits(
        boat=shelf,
        place=part.store,
        departs_on=part.begins_on,
        kg=None,
        litres=None,
        budget=None,
        harbour=harbour,
        shelf_of=part.store,
    )


def _put_up(part: StorePart) -> BoatPart:
    return BoatPart(
        boat=name_shelf(part.store),
        part=part.part,
        name=part.name,
        on_hand=0,
        floor=0,
        kg=0.0,
        litres=0.0,
        stops=False,
        leftover=part.leftover,
        choices=tuple(
            Choice(
                carry=choice.level,
                replace_now=0,
                restock=choice.source is not None,
                later_cost=choice.later_cost,
                shortage_chance=0.0,
                expected_shortages=choice.short,
                expected_need=part.asked,
                restock_cost=0.0,
            )
            for choice in part.choices
        ),
        offers=part.offers,
    )
