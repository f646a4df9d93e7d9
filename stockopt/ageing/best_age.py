"""The age at which a piece is best changed before it fails.

Changing every piece at age c costs, per unit of the clock and position,

    (planned cost x S(c) + failing cost x (1 - S(c))) / integral of S from 0 to c,

with S the chance of lasting to an age: the cost of one life over its mean length. *Source*: Barlow
& Proschan, Mathematical Theory of Reliability (1965), chapter 4, equation 2.6, from memory. What is
not known of shape and scale is averaged over, the cost and not the chance of lasting: the part's
true shape and scale hold for every life to come, whatever they are.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import gamma, gammainc

from stockopt.ageing.ageing import BestAge, Nodes
from stockopt.ageing.change_costs import ChangeCosts

Floats = NDArray[np.float64]

#: A saving below this share of the cost of running to failure is not worth a change too early.
LEAST_SAVING = 0.01
#: Costs are told per so many hours or days.
COST_PER = 1000.0

#: Mean shape up to which a part is said not to wear.
_HARDLY_WEARS = 1.1

#: Ages looked at first, in scales of the part, and then nearer the best of them.
_LEAST_AGE, _MOST_AGE, _AGES = 0.02, 4.0, 24
_NARROWINGS, _NARROWING = 4, 0.1


def mean_lives(nodes: Nodes) -> Floats:
    """Return the mean life of each node."""
    return np.asarray(nodes.scale * gamma(1.0 + 1.0 / nodes.shape))


def cost_rates(nodes: Nodes, ages: Floats, costs: ChangeCosts) -> Floats:
    """Return the cost per unit of the clock of changing at each age, (n,).

    Parameters
    ----------
    nodes
        The part's shape and scale, as weighted points.
    ages
        Shape (n,).
    costs
        Of one change at an age, and of one after a failure.
    """
    shape, scale = nodes.shape[:, None], nodes.scale[:, None]
    hazard = (ages / scale) ** shape
    # The integral of S to c is the mean life times the gamma integral of shape 1/b to H(c).
    length = mean_lives(nodes)[:, None] * gammainc(1.0 / shape, hazard)
    cost = costs.planned - (costs.failing - costs.planned) * np.expm1(-hazard)
    return np.asarray(nodes.weight @ (cost / length))


def find_best_age(nodes: Nodes, costs: ChangeCosts, clock: str, *, known: bool) -> BestAge:
    """Return the age of least cost, or that the part is best run to failure.

    Parameters
    ----------
    nodes
        The part's shape and scale.
    costs
        Of one change at an age, and of one after a failure.
    clock
        hours or days.
    known
        False where neither records nor the parts table speak of the mean life: no age is then
        named, since it would come from the width of our ignorance alone.
    """
    to_failure = float(costs.failing * (nodes.weight / mean_lives(nodes)).sum())
    age: float | None = None
    rate = to_failure
    if known and costs.planned < costs.failing:
        middle = float(np.exp(nodes.weight @ np.log(nodes.scale)))
        ages = middle * np.geomspace(_LEAST_AGE, _MOST_AGE, _AGES)
        age, rate = _search(nodes, ages, cost_rates(nodes, ages, costs), costs)
    if rate > (1.0 - LEAST_SAVING) * to_failure:
        age, rate = None, to_failure
    return BestAge(
        age=age,
        planned_cost=costs.planned,
        failing_cost=costs.failing,
        cost=COST_PER * rate,
        cost_to_failure=COST_PER * to_failure,
        words=_say(age, COST_PER * (to_failure - rate), clock)
        if age is not None
        else _say_why_not(nodes, costs, known),
    )


def _search(nodes: Nodes, ages: Floats, rates: Floats, costs: ChangeCosts) -> tuple[float, float]:
    """Return the age of least cost and that cost, from the ages looked at, evenly spaced in log.

    Parabolas through three ages ever closer to each other.
    """
    best = int(np.argmin(rates))
    log_age, step = float(np.log(ages[best])), float(np.log(ages[1] / ages[0]))
    for _ in range(_NARROWINGS):
        three = cost_rates(nodes, np.exp(log_age + step * np.array([-1.0, 0.0, 1.0])), costs)
        bend = three[0] - 2.0 * three[1] + three[2]
        turn = 0.5 * (three[0] - three[2]) / bend if bend > 0.0 else 0.0
        log_age += step * float(np.clip(turn, -1.0, 1.0))
        step *= _NARROWING
    age = float(np.exp(log_age))
    return age, float(cost_rates(nodes, np.array([age]), costs)[0])


def _say(age: float, saving: float, clock: str) -> str:
    return (
        f"change at {age:,.0f} {clock}: saves {saving:,.3g} per {COST_PER:,.0f} {clock} "
        "against running to failure"
    )


def _say_why_not(nodes: Nodes, costs: ChangeCosts, known: bool) -> str:
    if costs.failing <= costs.planned:
        why = "a failure costs no more than a planned change"
    elif not known:
        why = "too little is known of its life to name an age"
    elif nodes.weight @ nodes.shape <= _HARDLY_WEARS:
        why = "an old piece is about as good as a new one"
    else:
        why = f"no age saves {100.0 * LEAST_SAVING:.0f} % or more"
    return f"run to failure: {why}"
