"""Which boat of a place gets which pieces, where that makes no difference to the cost.

Boats that can draw on the same supplies, at the same worth, get the stock first and then the
offers in their fixed order, boat by boat in the order of their names. Who gets what would else be
the solver's accident, and change with any price.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Sequence

from stockopt.choices.choices import Choices
from stockopt.program.needs import Need, Supply


def put_in_order(
    needs: Sequence[Need], brought: Sequence[dict[Supply, int]], choices: Choices
) -> list[dict[Supply, int]]:
    """Share out the same pieces anew, in order.

    Parameters
    ----------
    needs, brought
        Every need, and the pieces that each of its supplies brings.
    choices
        For the boats' budgets: what a boat with one pays for is left as it is.

    Returns
    -------
    list of dict
        As many pieces for each need as before, and as many of each supply in all.
    """
    groups: dict[Hashable, list[int]] = defaultdict(list)
    for i, need in enumerate(needs):
        if not need.port and choices.boats[need.part.boat].budget is None:
            key = (need.place, need.part.part, need.supplies, need.stores, need.part.leftover)
            groups[key].append(i)
    ordered = [dict(there) for there in brought]
    for positions in groups.values():
        pool: Counter[Supply] = Counter()
        for i in positions:
            pool.update(brought[i])
        for i in sorted(positions, key=lambda i: needs[i].part.boat):
            wanted = sum(brought[i].values())
            for supply in needs[i].supplies:
                taken = min(wanted, pool[supply])
                ordered[i][supply] = taken
                pool[supply] -= taken
                wanted -= taken
    return ordered
