"""The small program over whole plans: one for each place, within what the places share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pulp

from stockopt.choices.choices import Choices
from stockopt.program.highs import QuietHiGHS
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.solution import Bought, Picked


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacePlan:
    """One whole plan for one place: what it costs in all, and what of it is spent now."""

    picked: tuple[Picked, ...]
    bought: tuple[Bought, ...]
    total: float
    spending: float


def value_plan(
    picked: tuple[Picked, ...], bought: tuple[Bought, ...], choices: Choices
) -> PlacePlan:
    """Work out what a place's plan costs, without any price of money."""
    free_freight = find_free_freight(choices, bought)
    spending, later = find_costs(choices, picked, bought, free_freight)
    return PlacePlan(picked=picked, bought=bought, total=spending + later, spending=spending)


def pick_plans(
    plans: Sequence[Sequence[PlacePlan]], budget: float | None, *, gap: float, seconds: float
) -> tuple[PlacePlan, ...] | None:
    """Pick one plan for each place, at least cost in all.

    Parameters
    ----------
    plans
        For each place, the plans to pick from.
    budget
        Most money to spend now; None for no limit.
    gap, seconds
        When to stop, as for the whole program.

    Returns
    -------
    tuple of PlacePlan
        None where none of the plans go together, or the time was up before that was known.
    """
    problem = pulp.LpProblem("master", pulp.LpMinimize)
    count = 0
    columns: list[list[pulp.LpVariable]] = []
    for of_place in plans:
        names = [f"c{count + k:07d}" for k in range(len(of_place))]
        count += len(names)
        columns.append([problem.add_variable(name, 0, 1, pulp.LpInteger) for name in names])
    numbered = [
        (column, plan)
        for there, of_place in zip(columns, plans, strict=True)
        for column, plan in zip(there, of_place, strict=True)
    ]
    problem += pulp.LpAffineExpression([(column, plan.total) for column, plan in numbered])
    for k, there in enumerate(columns):
        problem += pulp.lpSum(there) == 1, f"one_plan_{k}"
    if budget is not None:
        spent = pulp.LpAffineExpression([(column, plan.spending) for column, plan in numbered])
        problem += spent <= budget, "budget"
    problem.solve(QuietHiGHS(gap=gap, seconds=seconds))
    if problem.status != pulp.LpStatusOptimal:
        return None
    return tuple(
        max(zip(there, of_place, strict=True), key=lambda pair: pair[0].varValue)[1]
        for there, of_place in zip(columns, plans, strict=True)
    )
