"""What replacing a part now means for parts used up with it: fewer are needed under way."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from stockopt.choices.choices import BoatPart, Choice
from stockopt.choices.excess import Floats
from stockopt.demand.demand import Demand, PartDemand
from stockopt.demand.used_with import count_one

#: Pieces replaced before departure, or carried, by boat and part.
Pieces = Mapping[tuple[str, str], int]


def find_used_up_costs(
    demand: Demand,
    need: PartDemand,
    uses: tuple[tuple[str, int], ...],
    replaced: Pieces,
    carried: Pieces,
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
    carried
        Spares that the plan before has aboard; empty where there is none.
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
    looked at part by part. Where the plan before carries fewer spares than she would by herself,
    something limits them: a spare is taken to cost as much more as makes so few the best.
    """
    costs = np.zeros(need.positions + 1)
    for other, _ in uses:
        used = demand.used_with.get((need.boat, other))
        if used is None:
            continue
        counted = weigh(count_one(demand, need.boat, other, replaced))
        now = sum(n * replaced.get((need.boat, part), 0) for part, n, _ in used.others)
        scarcity = find_scarcity(counted, now, carried.get((need.boat, other)))
        for f in range(len(costs)):
            instead = {**replaced, (need.boat, need.part): f}
            changed = weigh(count_one(demand, need.boat, other, instead))
            at_once = sum(n * instead.get((need.boat, part), 0) for part, n, _ in used.others)
            costs[f] += _find_least(changed, at_once, scarcity)
            costs[f] -= _find_least(counted, at_once, scarcity)
    return costs


def _find_least(part: BoatPart, used_up: int, scarcity: float) -> float:
    costs = list_costs(part, used_up)
    return min(c + scarcity * choice.carry for c, choice in zip(costs, part.choices, strict=True))


def find_scarcity(part: BoatPart, used_up: int, carry: int | None) -> float:
    """Return how much more a spare must cost at least so that no more than `carry` are the best.

    0 where it need not, where no choice has so few, and where `carry` is None.
    """
    costs = list(zip(part.choices, list_costs(part, used_up), strict=True))
    few = [(c.carry, cost) for c, cost in costs if carry is not None and c.carry <= carry]
    more = [(c.carry, cost) for c, cost in costs if carry is not None and c.carry > carry]
    slopes = [
        max(((cost - dear) / (most - least) for most, dear in more), default=0.0)
        for least, cost in few
    ]
    return max(min(slopes, default=0.0), 0.0)


def list_costs(part: BoatPart, used_up: int) -> list[float]:
    """List what each choice of a part costs by itself, where some pieces are used up at once."""
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

    return [cost(choice) for choice in part.choices]


def find_piece_price(part: BoatPart) -> float:
    """Return what a piece costs at home: the cheapest offer, or its worth where there is none."""
    return min((offer.find_landed(part.part) for offer in part.offers), default=part.leftover)
