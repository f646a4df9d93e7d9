"""What replacing a part now means for parts used up with it: fewer are needed under way."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from stockopt.choices.choices import BoatPart, Choice
from stockopt.choices.excess import Floats
from stockopt.demand.demand import Demand, PartDemand
from stockopt.demand.used_with import count_one

#: Pieces replaced before departure, by boat and part.
Replaced = Mapping[tuple[str, str], int]


def find_used_up_costs(
    demand: Demand,
    need: PartDemand,
    uses: tuple[tuple[str, int], ...],
    replaced: Replaced,
    weigh: Callable[[PartDemand], BoatPart],
) -> Floats:
    """Return what parts used up with one cost more later, by how many of it are replaced now.

    Parameters
    ----------
    demand
        With nothing replaced.
    need
        Of the part with which others are used up.
    uses
        Those others, see :class:`~stockopt.choices.choices.BoatPart`.
    replaced
        What the needs of the others are weighed with.
    weigh
        Weighs one of the others.

    Returns
    -------
    Floats
        (F,): against the number that is `replaced`, 0 there. The pieces used up at once are in
        none of it: the program brings them.

    Notes
    -----
    The program weighs the others as needed with what is `replaced`, whatever number it takes. So
    the rest is told here: how much less the best that the boat can do about each would cost if
    it were needed as that number makes it, with the same pieces used up at once. What she can do is
    looked at part by part, as if nothing were limited or shared with other parts.
    """
    costs = np.zeros(need.positions + 1)
    for other, _ in uses:
        used = demand.used_with.get((need.boat, other))
        if used is None:
            continue
        counted = weigh(count_one(demand, need.boat, other, replaced))
        for f in range(len(costs)):
            instead = {**replaced, (need.boat, need.part): f}
            changed = weigh(count_one(demand, need.boat, other, instead))
            at_once = sum(n * instead.get((need.boat, part), 0) for part, n, _ in used.others)
            costs[f] += find_least_cost(changed, at_once) - find_least_cost(counted, at_once)
    return costs


def find_least_cost(part: BoatPart, used_up: int) -> float:
    """Return the least that a part costs by itself, where some pieces are used up at once."""
    price = find_piece_price(part)
    ahead = {there.port: min(offer.landed for offer in there.offers) for there in part.ahead}

    def cost(choice: Choice) -> float:
        own = min(used_up, part.count_spare(choice))
        return (
            choice.later_cost
            + price * (part.count_wanted(choice) + used_up - own)
            + part.leftover * own
            + (ahead[choice.ahead_at] * choice.ahead if choice.ahead else 0.0)
        )

    return min(cost(choice) for choice in part.choices)


def find_piece_price(part: BoatPart) -> float:
    """Return what a piece costs at home: the cheapest offer, or its worth where there is none."""
    return min((offer.find_landed(part.part) for offer in part.offers), default=part.leftover)
