"""Stock that nothing is likely to need: where it lies, and the money in it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from scipy.special import pdtr

from stockopt.choices.choices import BoatLimits
from stockopt.choices.dead_line import DeadStock
from stockopt.choices.excess import Floats
from stockopt.demand.demand import LIFE_CLASSES, Demand, PartDemand
from stockopt.fleet.fleet import Fleet

Row = Mapping[Hashable, Any]

#: More pieces than are needed over the plan and a year after it, but for 1 time in so many ...
NEEDED_ONCE_IN = 100
_YEAR = 365.0


def list_dead_stock(
    demand: Demand, fleet: Fleet, limits: Mapping[str, BoatLimits], prices: Mapping[str, float]
) -> tuple[DeadStock, ...]:
    """List the pieces in hand that no plan needs, by place and part.

    Parameters
    ----------
    demand
        Pieces that the boats with legs to come need.
    fleet
        Its stock, what is fitted, and the day of the plan.
    limits
        Of those boats; boats and stores of one harbour are looked at together.
    prices
        By part, what one piece usually costs.

    Notes
    -----
    Dead are pieces out of date; pieces of a part that is fitted to no machine of a boat still in
    the fleet and used up with none that is; and those beyond what the boats of the place must
    carry at least and the number that their needs over the plan and a year after it, at the rate
    of the plan, exceed 1 time in 100. Where boats that use a part have no legs to come, nothing is
    said of too many. A store's surplus is named before a boat's.
    """
    today = fleet.settings.planned_on
    used, resting = _list_used(fleet, today, demand)
    groups = _Groups(limits)
    dead: list[DeadStock] = []
    alive: dict[tuple[str, str], dict[str, int]] = defaultdict(lambda: defaultdict(int))

    def add(place: str, part: str, pieces: int, why: str) -> None:
        price = prices.get(part, 0.0)
        name = names.get(part, part)
        line = DeadStock(
            place=place, part=part, name=name, pieces=pieces, money=pieces * price, why=why
        )
        dead.append(line)

    names = dict(zip(fleet.parts["part"], fleet.parts["name"], strict=True))
    for row in fleet.stock.to_dict("records"):
        place, part, pieces = row["place"], row["part"], int(row["on_hand"])
        if pieces and row["expires_on"] < pd.Timestamp(today):
            add(place, part, pieces, f"out of date since {row['expires_on']:%Y-%m-%d}")
        elif pieces and part not in used:
            add(place, part, pieces, "no machine uses it")
        elif pieces:
            alive[groups.find(place), part][place] += pieces
    floors = dict(zip(fleet.parts["part"], fleet.parts["carry_at_least"], strict=True))
    for (group, part), there in sorted(alive.items()):
        needs = [
            need
            for (boat, name), need in demand.parts.items()
            if name == part and groups.find(boat) == group
        ]
        if needs and part not in resting:
            most = find_most_needed(needs) + int(floors[part]) * len(needs)
            for place, pieces in _share_surplus(there, most, limits):
                add(place, part, pieces, f"over {most}, all needed in this plan and a year")
    return tuple(sorted(dead, key=lambda line: (line.place, line.part, line.why)))


def _share_surplus(
    there: Mapping[str, int], most: int, limits: Mapping[str, BoatLimits]
) -> Iterator[tuple[str, int]]:
    """Yield where the pieces beyond `most` lie: in stores before boats."""
    surplus = sum(there.values()) - most
    for place in sorted(there, key=lambda place: (place in limits, place)):
        pieces = min(surplus, there[place])
        if pieces > 0:
            yield place, pieces
            surplus -= pieces


def find_most_needed(needs: list[PartDemand]) -> int:
    """Return the pieces that needs over the plan and a year after exceed 1 time in 100."""
    by_class = np.zeros(len(LIFE_CLASSES))
    for need in needs:
        last = need.stretches[-1].legs[-1]
        days = (last.departs_on - need.stretches[0].legs[0].departs_on).days + last.days
        by_class += _by_class(need) * (1.0 + _YEAR / max(days, 1.0))
    weight = np.array(LIFE_CLASSES)
    most = 0
    while float(weight @ (1.0 - pdtr(most, by_class))) > 1.0 / NEEDED_ONCE_IN:
        most += 1
    return most


def _by_class(need: PartDemand) -> Floats:
    if need.by_class is not None:
        return need.by_class
    mean = float(need.whole[0] @ np.arange(need.whole.shape[-1]))
    return np.full(len(LIFE_CLASSES), mean)


def _list_used(fleet: Fleet, today: date, demand: Demand) -> tuple[set[str], set[str]]:
    """Return the parts in use, and those of them in use on boats without legs to come."""
    boats = fleet.boats[~(fleet.boats["left_on"] <= pd.Timestamp(today))]
    sailing = {boat for boat, _ in demand.parts}
    used: set[str] = set()
    resting: set[str] = set()
    machines = fleet.machines[fleet.machines["boat"].isin(boats["boat"])]
    on = fleet.fitted.merge(machines, on="model", suffixes=("", "_at"))
    on = on[
        on["boat"].isin(["", *boats["boat"]]) & ((on["boat"] == "") | on["boat"].eq(on["boat_at"]))
    ]
    for part, boat in zip(on["part"], on["boat_at"], strict=True):
        used.add(part)
        if boat not in sailing:
            resting.add(part)
    for part, other in zip(fleet.used_with["part"], fleet.used_with["with_part"], strict=True):
        if other in used:
            used.add(part)
        if other in resting:
            resting.add(part)
    return used | {part for _, part in demand.parts}, resting


class _Groups:
    """Places whose stock can serve one another: those of a harbour, or a store and its boats."""

    def __init__(self, limits: Mapping[str, BoatLimits]) -> None:
        self._of: dict[str, str] = {}
        for boat, limit in limits.items():
            self._of[boat] = self._of[limit.place] = limit.harbour or limit.place

    def find(self, place: str) -> str:
        """Return the group of a place; one by itself where no boat of the plan belongs to it."""
        return self._of.get(place, place)
