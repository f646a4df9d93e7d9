"""What a boat risks that carries nothing and changes nothing."""

from __future__ import annotations

from stockopt.demand.demand import Demand


def find_bare_readiness(demand: Demand) -> dict[str, float]:
    """Return, by boat, her readiness with no spare aboard and nothing replaced.

    The chance that no part that stops her needs a single piece on her whole plan. As everywhere,
    parts count as independent once their lives are given; failures with one cause are not.
    """
    ready: dict[str, float] = {}
    for (boat, _), need in sorted(demand.parts.items()):
        chance = float(need.whole[0, 0]) if need.consequence == "stops" else 1.0
        ready[boat] = ready.get(boat, 1.0) * chance
    return ready
