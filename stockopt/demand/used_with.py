"""Parts used up with others: fewer are needed where the others are replaced before departure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from stockopt.demand.demand import LIFE_CLASSES, Demand, PartDemand, UsedWith
from stockopt.demand.mixture import Needs, add_used_with, find_class_means, mix_needs


def count_replaced(demand: Demand, replaced: Mapping[tuple[str, str], int]) -> Demand:
    """Return the demand when some fitted pieces are replaced before departure.

    Parameters
    ----------
    demand
        From :func:`stockopt.demand.forecast.forecast_demand`.
    replaced
        By boat and part: how many, the oldest; 0 for what is not named. No more than are fitted.

    Returns
    -------
    Demand
        What the parts themselves need stands in it by the number replaced anyway; this differs
        for parts used up with them, as a new piece is changed later under way.
    """
    parts = dict(demand.parts)
    for boat, part in demand.used_with:
        parts[boat, part] = count_one(demand, boat, part, replaced)
    return replace(demand, parts=parts)


def count_one(
    demand: Demand, boat: str, part: str, replaced: Mapping[tuple[str, str], int]
) -> PartDemand:
    """Return one boat's need for a part used up with others when some of those are replaced.

    `demand` and `replaced` are as for :func:`count_replaced`.
    """
    need, used = demand.parts[boat, part], demand.used_with[boat, part]
    counts = tuple(replaced.get((boat, other), 0) for other, _, _ in used.others)
    if not any(counts):
        return need
    if counts not in used.counted:
        used.counted[counts] = _count(need, used, counts)
    return used.counted[counts]


def add_others(used: UsedWith, counts: tuple[int, ...]) -> Needs:
    """Return the needs of a part with those that come with changes of others.

    `counts` says how many pieces of each other part are replaced before departure.
    """
    needs = used.own
    for (_, quantity, other), count in zip(used.others, counts, strict=True):
        needs = add_used_with(needs, other, quantity, count)
    return needs


def _count(need: PartDemand, used: UsedWith, counts: tuple[int, ...]) -> PartDemand:
    needs = add_others(used, counts)
    by_stretch, whole, within = mix_needs(needs)
    return replace(
        need,
        by_stretch=by_stretch,
        whole=whole,
        within=within,
        by_class=find_class_means(needs, LIFE_CLASSES),
        after=tuple(
            (other, count)
            for (other, _, _), count in zip(used.others, counts, strict=True)
            if count
        ),
    )
