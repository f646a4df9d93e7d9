"""Boats of one store, solved at prices of pieces, against one model of the whole."""

from collections import Counter
from dataclasses import replace

import pytest
from program_builders import plan_of, random_choices
from program_fleets import make_fleet_market

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.plan_check import check_plan
from stockopt.program import solve
from stockopt.program.decompose import solve_by_places
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.places import is_plain, split_by_place
from stockopt.program.plain import Found, build_program, solve_as_one
from stockopt.program.solve import solve_program

GAP = 1e-6
SEEDS = range(150)


def total_of(found: Found, choices: Choices) -> float:
    free_freight = find_free_freight(choices, found.bought)
    return sum(find_costs(choices, found.picked, found.bought, free_freight))


def store_of(seed: int) -> Choices:
    """Return random boats that are one place, in every third with a budget for each of them."""
    choices = random_choices(1000 + seed)
    budget = 60.0 + seed if seed % 3 == 0 else None
    return replace(
        choices,
        boats={
            boat: replace(limits, budget=limits.budget if budget is None else budget)
            for boat, limits in choices.boats.items()
        },
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_store_costs_what_one_model_says(seed):
    choices = store_of(seed)
    if len(split_by_place(choices)) > 1 or is_plain(choices):
        return
    try:
        least = total_of(solve_as_one(build_program(choices), gap=0.0, seconds=30.0), choices)
    except NoPlanError:
        with pytest.raises(NoPlanError):
            solve_by_places(choices, gap=GAP, seconds=20.0)
        return
    found = solve_by_places(choices, gap=GAP, seconds=20.0)
    assert found.bound <= least + 1e-6 * max(1.0, abs(least))
    assert total_of(found, choices) == pytest.approx(least, rel=2 * GAP, abs=2 * GAP)


def test_random_stores_hold_every_limit():
    met: Counter[str] = Counter()
    for seed in SEEDS:
        choices = store_of(seed)
        if len(split_by_place(choices)) > 1 or is_plain(choices):
            continue
        met["boats together"] += len(choices.boats) > 1
        met["stock"] += any(choices.stock.values())
        met["budget of the fleet"] += choices.budget is not None
        met["budgets of boats"] += any(b.budget is not None for b in choices.boats.values())
        met["weight"] += any(b.kg is not None for b in choices.boats.values())
        met["readiness"] += choices.readiness is not None
        met["free freight"] += any(c.free_freight_from for c in choices.charges.values())
        met["minimum order"] += any(c.minimum_order for c in choices.charges.values())
        met["packs"] += any(o.pack > 1 for part in choices.parts for o in part.offers)
        met["most"] += any(o.most for part in choices.parts for o in part.offers)
    assert min(met.values()) >= 15, met


def test_large_store_is_solved_within_the_gap(monkeypatch):
    monkeypatch.setattr(solve, "MANY_SHARED", 0)
    choices = make_fleet_market(20, 15, a_place=20, budget=1.2)
    solution = solve_program(choices, gap=3e-3, seconds=60.0)
    assert solution.gap <= 3e-3
    check_plan(plan_of(solution, choices), solution, choices)
    turned = replace(choices, parts=tuple(reversed(choices.parts)))
    assert solve_program(turned, gap=3e-3, seconds=60.0).picked == solution.picked


def test_time_that_is_up_leaves_a_plan_of_the_store_with_its_gap(monkeypatch):
    monkeypatch.setattr(solve, "MANY_SHARED", 0)
    monkeypatch.setattr(solve, "TOO_MANY", 0)
    choices = make_fleet_market(20, 15, a_place=20, budget=1.2)
    solution = solve_program(choices, gap=0.0, seconds=0.01)
    assert solution.bound <= solution.objective
    check_plan(plan_of(solution, choices), solution, choices)
