"""One boat's choices as if she had her place to herself, and whether she plainly keeps her limits.

What the others want is left out: what clashes for her alone, clashes all the more with them.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from stockopt.choices.choices import BoatLimits, BoatPart, Choice, Choices
from stockopt.program.arrays import Values

#: Prices of room at which one choice is taken for each part, in shares of the risk allowed.
_PRICES = (0.0, *(10.0**power for power in np.linspace(-4.0, 4.0, 25)))
#: Limits are kept this much more than is asked, as a share: less than the solver allows.
_SURE = 1e-6


def take_boat(choices: Choices, boat: str) -> Choices:
    """Return one boat's choices, as if she had her place to herself.

    What the others want of stock and of scarce packs is left out, and so are least orders where
    others could fill them.
    """
    limits = choices.boats[boat]
    charges = choices.charges
    if limits.place != boat:
        charges = {key: replace(charge, minimum_order=None) for key, charge in charges.items()}
    parts = tuple(part for part in choices.parts if part.boat == boat)
    return replace(
        choices,
        boats={boat: replace(limits, harbour="")},
        parts=parts,
        charges=charges,
        stock=_gather_stock(choices, limits),
        budget=None,
    )


def _gather_stock(choices: Choices, limits: BoatLimits) -> dict[tuple[str, str], int]:
    """Gather at a boat's place what she can have from all her harbour."""
    if not limits.harbour:
        return {key: pieces for key, pieces in choices.stock.items() if key[0] == limits.place}
    near = {each.place for each in choices.boats.values() if each.harbour == limits.harbour}
    stock: Counter[tuple[str, str]] = Counter()
    for (store, part), pieces in choices.stock.items():
        if store in near:
            stock[limits.place, part] += pieces
    for other in choices.parts:
        if other.boat != limits.boat and choices.boats[other.boat].harbour == limits.harbour:
            stock[limits.place, other.part] += other.movable
    return dict(stock)


def may_clash(alone: Choices) -> bool:
    """Return False where it is plain, without the solver, that one boat can keep her limits."""
    limits = next(iter(alone.boats.values()))
    minimums = any(charges.minimum_order for charges in alone.charges.values())
    limited = any(limit is not None for limit in (limits.kg, limits.litres, limits.budget))
    if not (minimums or alone.readiness or limited):
        return False
    if limits.budget is not None or not _can_fill_orders(alone):
        return True
    return not _keeps_loads_and_risk(alone, limits)


def _can_fill_orders(alone: Choices) -> bool:
    """Return whether every source she can buy from that has a least order sells without end."""
    place = next(iter(alone.boats.values())).place
    offers = [offer for part in alone.parts for offer in part.offers]
    asking = {o.source for o in offers if alone.charges[o.source, place].minimum_order}
    return asking <= {offer.source for offer in offers if offer.most is None}


def _keeps_loads_and_risk(alone: Choices, limits: BoatLimits) -> bool:
    """Return whether some choices, one for each part, are light, small and safe enough together.

    For each part the choice is taken that is safest where room has a price, at several prices. It
    is asked only among those whose pieces can be had whatever else is chosen.
    """
    burdens: list[tuple[float, float, float]] = []
    first: list[int] = []
    allowed = -math.log(min(alone.readiness, 1.0 - 1e-12)) if alone.readiness else math.inf
    for part in alone.parts:
        first.append(len(burdens))
        burdens += (
            (
                part.kg * choice.aboard / max(limits.kg or 0.0, 1e-12)
                if limits.kg is not None
                else 0.0,
                part.litres * choice.aboard / max(limits.litres or 0.0, 1e-12)
                if limits.litres is not None
                else 0.0,
                -math.log(max(1.0 - choice.shortage_chance, 1e-300)) / allowed
                if part.stops
                else 0.0,
            )
            for choice in _list_sure(part, alone.stock.get((limits.place, part.part), 0))
        )
        if len(burdens) == first[-1]:
            return False
    return _fit_together(np.array(burdens), np.array(first))


def _list_sure(part: BoatPart, stock: int) -> Iterator[Choice]:
    """List choices whose pieces can be had, whatever is chosen for other parts."""
    packs = {(o.source, o.pack, o.price): o for o in part.offers if not o.contents}.values()
    there = stock + sum(math.inf if o.most is None else o.most * o.pack for o in packs)
    for choice in part.choices:
        uses_others = choice.ahead or (part.uses and choice.replace_now)
        if not uses_others and part.count_wanted(choice) <= there:
            yield choice


def _fit_together(burdens: Values, first: Values) -> bool:
    """Return whether at some price of room the choices taken add up to less than 1 each."""
    part = np.repeat(np.arange(len(first)), np.diff(np.append(first, len(burdens))))
    room = burdens[:, 0] + burdens[:, 1]
    for price in _PRICES:
        order = np.lexsort((room, burdens[:, 2] + price * room, part))
        if (burdens[order[first]].sum(axis=0) <= 1.0 - _SURE).all():
            return True
    return False
