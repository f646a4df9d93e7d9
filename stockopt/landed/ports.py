"""Which ports are compared, for which boats, and what their baskets hold."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from stockopt.demand.demand import Demand, PartDemand
from stockopt.errors import InputError, Problem
from stockopt.fleet.fleet import Fleet
from stockopt.landed.landed import Wanted
from stockopt.landed.money import cents, exact

#: In words, what a basket holds: the usual one, and what the plan buys.
NEED = "what the boats are expected to need this season, each part rounded up; stock not taken off"
BUY = "what the plan buys"


def boats_of(fleet: Fleet, port: str) -> tuple[str, ...]:
    """Return the boats a port's basket is for: those fitted out there, else those that call there.

    Only boats with legs to come. Those without a home port are fitted out where all sources
    deliver, if that is one port.
    """
    boats = fleet.boats[fleet.boats["boat"].isin(fleet.legs["boat"])]
    homes = boats["home_port"]
    if fleet.sources["delivers_to"].nunique() == 1:
        homes = homes.mask(homes == "", fleet.sources["delivers_to"].iloc[0])
    at_home = boats.loc[homes == port, "boat"]
    if len(at_home):
        return tuple(sorted(at_home))
    return tuple(sorted(set(fleet.legs.loc[fleet.legs["to_port"] == port, "boat"])))


def home_ports(fleet: Fleet) -> tuple[str, ...]:
    """Return every port that a source delivers to and boats with legs to come are fitted out in."""
    served = sorted(set(fleet.sources["delivers_to"]))
    homes = set(fleet.boats["home_port"])
    return tuple(
        port
        for port in served
        if boats_of(fleet, port) and (port in homes or (len(served) == 1 and "" in homes))
    )


def find_port(fleet: Fleet, wanted: str) -> str:
    """Return the port meant, in any capitals.

    Raises
    ------
    InputError
        Where no source delivers there and no boat has it for home, or no boat goes there.
    """
    served = sorted(set(fleet.sources["delivers_to"]))
    known: dict[str, str] = {port.casefold(): port for port in served}
    known |= {port.casefold(): port for port in sorted(set(fleet.boats["home_port"])) if port}
    found = known.get(wanted.strip().casefold())
    if found is None:
        there = ", ".join(sorted(known.values())) or "none"
        expected = f"no source delivers there and no boat has it for home; the ports are: {there}"
    elif not boats_of(fleet, found):
        expected = "no boat with legs to come is fitted out or calls there: there is no basket"
    else:
        return found
    raise InputError(
        [Problem(table="sources", column="delivers_to", value=wanted.strip(), expected=expected)]
    )


def fill_basket(
    demand: Demand, fleet: Fleet, port: str, pieces: Mapping[str, int] | None
) -> dict[str, Wanted]:
    """Return a port's basket by part.

    Parameters
    ----------
    demand
        Pieces needed under way, over each boat's whole plan, with nothing replaced before.
    fleet
        Its boats, legs and settings are read.
    port
        Which.
    pieces
        By part: what it holds; None for what the port's boats are expected to need, rounded up.
    """
    boats = set(boats_of(fleet, port))
    day_cost = dict(zip(fleet.boats["boat"], fleet.boats["day_cost"], strict=True))
    by_part: dict[str, list[PartDemand]] = {}
    for (boat, part), need in demand.parts.items():
        if boat in boats:
            by_part.setdefault(part, []).append(need)
    basket = {}
    for part in sorted(by_part if pieces is None else pieces):
        needs = by_part.get(part, [])
        expected = [float(need.whole[0] @ np.arange(need.whole.shape[-1])) for need in needs]
        lost = [day_cost[need.boat] * fleet.settings.share(need.consequence) for need in needs]
        weight = sum(expected)
        mean = float(np.dot(lost, expected)) / weight if weight else float(np.mean(lost or [0.0]))
        wanted = _round_up(weight) if pieces is None else pieces[part]
        if wanted > 0:
            basket[part] = Wanted(pieces=wanted, expected=weight, lost_day=cents(exact(mean)))
    return basket


def _round_up(expected: float) -> int:
    """Return the pieces expected, rounded up; a millionth of a piece is none.

    Examples
    --------
    >>> _round_up(2.0000000001), _round_up(0.02), _round_up(0.0)
    (2, 1, 0)
    """
    return math.ceil(expected - 1e-6)
