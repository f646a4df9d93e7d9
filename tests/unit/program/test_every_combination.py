"""The program against trying everything, on small random instances with every complication."""

import math
from collections import Counter
from dataclasses import replace

import pytest
from program_builders import least_cost, plan_of, random_choices

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.plan_check import check_plan
from stockopt.program.solution import Solution
from stockopt.program.solve import solve_program

SEEDS = range(240)


@pytest.mark.parametrize("seed", SEEDS)
def test_program_finds_the_least_cost_of_all_combinations(seed):
    choices = random_choices(seed)
    least = least_cost(choices)
    if math.isinf(least):
        with pytest.raises(NoPlanError):
            solve_program(choices, gap=0.0, seconds=30.0)
        return
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    assert solution.objective == pytest.approx(least, abs=1e-6)
    assert solution.bound == pytest.approx(least, abs=1e-6)
    assert solution.status == "optimal"
    check_plan(plan_of(solution, choices), solution, choices)


@pytest.mark.full
@pytest.mark.parametrize("seed", range(240, 1500))
def test_program_finds_the_least_cost_of_many_more(seed):
    test_program_finds_the_least_cost_of_all_combinations(seed)


def test_instances_hold_every_complication():
    met: Counter[str] = Counter()
    for seed in range(100):
        choices = random_choices(seed)
        try:
            solution = solve_program(choices, gap=0.0, seconds=30.0)
        except NoPlanError:
            met["no plan"] += 1
            continue
        met.update(_list_complications(choices, solution))
    expected = {
        "no plan",
        "packs of several",
        "surplus",
        "several supplies for one part",
        "shared by boats",
        "drawn from stock",
        "own pieces",
        "free freight",
        "minimum order",
        "all that is available",
        "kilos",
        "litres",
        "budget of a boat",
        "budget of the fleet",
        "readiness",
    }
    assert {name for name in expected if met[name] < 3} == set()


def _list_complications(choices: Choices, solution: Solution) -> set[str]:
    """Name what the plan makes use of, and the limits without which it would be cheaper."""
    used: Counter[object] = Counter()
    met = {"free freight"} if solution.free_freight else set()
    for pick in solution.picked:
        place = choices.boats[pick.boat].place
        for offer, pieces in pick.bought:
            met |= {"shared by boats"} if used[place, offer] else set()
            used[place, offer] += pieces
        supplies = len(pick.bought) + (pick.moved > 0)
        met |= {"several supplies for one part"} if supplies > 1 else set()
        met |= {"drawn from stock"} if pick.moved else set()
        met |= {"own pieces"} if pick.own else set()
    for line in solution.bought:
        met |= {"packs of several"} if line.offer.pack > 1 else set()
        surplus = line.packs * line.offer.pack - used[line.place, line.offer]
        met |= {"surplus"} if surplus else set()
        met |= {"all that is available"} if line.packs == line.offer.most else set()
    for name, freed in _list_freed(choices).items():
        cheaper = solve_program(freed, gap=0.0, seconds=30.0).objective
        met |= {name} if cheaper < solution.objective - 1e-6 else set()
    return met


def _list_freed(choices: Choices) -> dict[str, Choices]:
    """Return the choices without each kind of limit."""

    def boats(**freed: None) -> Choices:
        return replace(
            choices, boats={name: replace(boat, **freed) for name, boat in choices.boats.items()}
        )

    orders = {key: replace(c, minimum_order=None) for key, c in choices.charges.items()}
    return {
        "minimum order": replace(choices, charges=orders),
        "kilos": boats(kg=None),
        "litres": boats(litres=None),
        "budget of a boat": boats(budget=None),
        "budget of the fleet": replace(choices, budget=None),
        "readiness": replace(choices, readiness=None),
    }
