"""What is left at each place, and aboard its boats, once the plan is carried out."""

from __future__ import annotations

from collections import Counter

from stockopt.choices.choices import Choices, name_ahead
from stockopt.fleet.fleet import Fleet
from stockopt.plan import Plan


def count_left(plan: Plan, choices: Choices, fleet: Fleet) -> dict[tuple[str, str], int]:
    """Count the spare pieces by (place, part): a store and its boats together, or one boat.

    In hand today, and what is bought (sets taken apart), moved in and met on the way, less what is
    moved out, replaced now and used up by it.
    """
    place_of = {boat: limits.place for boat, limits in choices.boats.items()}
    left: Counter[tuple[str, str]] = Counter(choices.stock)
    for line in plan.carry:
        place = place_of[line.boat]
        left[place, line.part] += line.on_hand - line.replace_now - line.used_up
        for giver, pieces in line.moved_from:
            left[place, line.part] += pieces
            left[place_of.get(giver, giver), line.part] -= pieces
    for shelf in plan.stores:
        for giver, pieces in shelf.moved_from:
            left[shelf.store, shelf.part] += pieces
            left[place_of.get(giver, giver), shelf.part] -= pieces
    for part in choices.parts:
        for ahead in part.ahead:
            place_of.setdefault(name_ahead(part.boat, ahead.port), place_of[part.boat])
    kits = fleet.kits.groupby("kit") if len(fleet.kits) else None
    parts = set(fleet.parts["part"])
    for order in plan.orders:
        place = place_of.get(order.place, order.place)
        if order.part in parts or kits is None:
            left[place, order.part] += order.pieces
            continue
        held = kits.get_group(order.part)
        for part_number, quantity in zip(held["part"], held["quantity"], strict=True):
            left[place, part_number] += order.pieces * int(quantity)
    return {key: max(pieces, 0) for key, pieces in left.items()}
