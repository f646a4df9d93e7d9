"""One boat's plan as one part sees it: where it is cut, and how its clocks run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from stockopt.demand.demand import Floats
from stockopt.demand.stretches import Restocking, Voyage, cut_legs
from stockopt.fleet.fleet import Fleet
from stockopt.units import Clock

#: How many legs are sailed by the end of each stretch.
Cuts = tuple[int, ...]

#: Beginning and end of each window on a clock, the first being the whole plan.
Windows = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPlan:
    """One boat's plan as one part sees it.

    `machines` are those the part is fitted to or, fitted to none, those of the parts it is used
    with. `asked` are all the ways to cut the legs for which the part's needs are asked.
    """

    voyage: Voyage
    cuts: Cuts
    machines: tuple[tuple[str, Clock], ...]
    asked: tuple[Cuts, ...]

    @property
    def running(self) -> Floats:
        """(machines, legs): what each leg adds to each machine's clock."""
        return np.array([self.voyage.running(machine, clock) for machine, clock in self.machines])

    @property
    def under_way(self) -> Floats:
        """(machines, legs): how much of that before she is in port."""
        return np.array([self.voyage.under_way(machine, clock) for machine, clock in self.machines])


def list_used_with(fleet: Fleet) -> dict[str, dict[str, int]]:
    """Return for each part used up with others those others and the pieces per change."""
    table: dict[str, dict[str, int]] = {}
    for part, other, quantity in zip(
        fleet.used_with["part"],
        fleet.used_with["with_part"],
        fleet.used_with["quantity"],
        strict=True,
    ):
        table.setdefault(part, {})[other] = int(quantity)
    return table


def list_uses(fleet: Fleet) -> dict[str, tuple[tuple[str, int], ...]]:
    """Return for each part the others that each change of it uses up, and the pieces of them."""
    uses: dict[str, list[tuple[str, int]]] = {}
    for part, others in sorted(list_used_with(fleet).items()):
        for other, quantity in others.items():
            if quantity > 0:
                uses.setdefault(other, []).append((part, quantity))
    return {other: tuple(used) for other, used in sorted(uses.items())}


def make_plans(
    voyages: Mapping[str, Voyage],
    positions: pd.DataFrame,
    used_with: Mapping[str, Mapping[str, int]],
    places: Restocking,
) -> dict[tuple[str, str], PartPlan]:
    """Return the plan of each boat for each part fitted, or used with one that is."""
    machines: dict[tuple[str, str], dict[tuple[str, Clock], None]] = {}
    for boat, part, machine, clock in zip(
        *(positions[name] for name in ("boat", "part", "machine", "clock")), strict=True
    ):
        machines.setdefault((boat, part), {})[machine, clock] = None
    fitted = set(machines)
    asked: dict[tuple[str, str], set[Cuts]] = {}
    for boat, voyage in voyages.items():
        for part, others in used_with.items():
            found = [other for other in others if (boat, other) in fitted]
            cuts = cut_legs(boat, part, voyage.legs, places)
            for other in found:
                asked.setdefault((boat, other), set()).add(cuts)
            if found and (boat, part) not in fitted:
                both = [pair for other in found for pair in machines[boat, other]]
                machines[boat, part] = dict.fromkeys(both)
    plans = {}
    for (boat, part), found_on in machines.items():
        cuts = cut_legs(boat, part, voyages[boat].legs, places)
        plans[boat, part] = PartPlan(
            voyage=voyages[boat],
            cuts=cuts,
            machines=tuple(found_on),
            asked=(cuts, *sorted(asked.get((boat, part), set()) - {cuts})),
        )
    return plans


def list_windows(running: Iterable[float], asked: tuple[Cuts, ...]) -> Windows:
    """Return the whole plan on a clock, then every stretch of every way to cut it."""
    reached = np.concatenate([[0.0], np.cumsum(list(running))]).round(9).tolist()
    windows = [(0.0, reached[-1])]
    for cuts in asked:
        windows += [
            (reached[begin], reached[end]) for begin, end in zip((0, *cuts), cuts, strict=False)
        ]
    return tuple(windows)
