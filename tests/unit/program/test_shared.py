"""Boats of one store, solved at prices of pieces, against one model of the whole."""

import math
from collections import Counter
from dataclasses import replace

import pytest
from program_builders import plan_of, random_choices
from program_exhaustive import find_least_cost
from program_features import make_instance
from program_fleets import make_fleet_market
from program_plain import solve_plain

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.plan_check import check_plan
from stockopt.program import shared_solve, solve
from stockopt.program.decompose import solve_by_places
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.place_model import KeptProgram
from stockopt.program.place_solve import solve_priced
from stockopt.program.places import split_by_place
from stockopt.program.shared import build_shared, read_shared
from stockopt.program.solve import solve_program
from stockopt.program.whole import Found

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
    if len(split_by_place(choices)) > 1:
        return
    try:
        least = total_of(solve_plain(choices, gap=0.0, seconds=30.0), choices)
    except NoPlanError:
        with pytest.raises(NoPlanError):
            solve_by_places(choices, gap=GAP, seconds=20.0)
        return
    found = solve_by_places(choices, gap=GAP, seconds=20.0)
    assert found.bound <= least + 1e-6 * max(1.0, abs(least))
    assert total_of(found, choices) == pytest.approx(least, rel=2 * GAP, abs=2 * GAP)


@pytest.mark.parametrize("number", range(60))
def test_every_pair_of_features_costs_the_least_of_all_combinations(number):
    choices = make_instance(number)
    least = find_least_cost(choices)
    try:
        shared = build_shared(choices)
        kept = KeptProgram(arrays=shared.arrays, tight=False)
        values = solve_priced(kept, 0.0, gap=0.0, seconds=30.0).values
    except NoPlanError:
        assert math.isinf(least)
        return
    picked, bought = read_shared(shared, values)
    assert total_of(Found(picked=picked, bought=bought, bound=least), choices) == pytest.approx(
        least, abs=1e-5
    )


@pytest.mark.full
@pytest.mark.parametrize("number", range(60, 500))
def test_every_pair_of_features_costs_the_least_of_all_combinations_of_500(number):
    test_every_pair_of_features_costs_the_least_of_all_combinations(number)


def test_random_stores_hold_every_limit():
    met: Counter[str] = Counter()
    for seed in SEEDS:
        choices = store_of(seed)
        if len(split_by_place(choices)) > 1:
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


def test_solver_prints_nothing(capfd):
    solve_by_places(make_fleet_market(2, 3, a_place=2, budget=1.2), gap=1e-3, seconds=20.0)
    assert capfd.readouterr() == ("", "")


def test_time_that_is_up_leaves_a_plan_of_the_store_with_its_gap(monkeypatch):
    monkeypatch.setattr(solve, "MANY_SHARED", 0)
    monkeypatch.setattr(solve, "TOO_MANY", 0)
    choices = make_fleet_market(20, 15, a_place=20, budget=1.2)
    solution = solve_program(choices, gap=0.0, seconds=0.01)
    assert solution.bound <= solution.objective
    check_plan(plan_of(solution, choices), solution, choices)


def test_time_that_is_up_before_any_bound_is_never_called_no_plan(monkeypatch):
    """Where the solver has no time for its first linear program, its bound is -infinity."""
    monkeypatch.setattr(shared_solve, "_try", lambda *_, **__: -math.inf)
    with pytest.raises(SolverError, match="time was up"):
        solve_by_places(make_fleet_market(2, 3, a_place=2, budget=1.2), gap=1e-3, seconds=20.0)
