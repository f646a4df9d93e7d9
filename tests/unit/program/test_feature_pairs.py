"""Every feature of the program with every other, against trying everything."""

import math
from collections import Counter

import pytest
from program_builders import plan_of
from program_exhaustive import find_least_cost
from program_features import FEATURES, PAIRS, list_features, make_instance

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.plan_check import check_plan
from stockopt.program.decompose import solve_by_places
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.places import split_by_place
from stockopt.program.solution import Solution
from stockopt.program.solve import solve_program

DEFAULT = range(60)
EVERY = range(500)


@pytest.mark.parametrize("number", DEFAULT)
def test_plan_costs_the_least_of_all_combinations(number):
    choices = make_instance(number)
    least = find_least_cost(choices)
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
@pytest.mark.parametrize("number", [number for number in EVERY if number not in DEFAULT])
def test_plan_costs_the_least_of_all_combinations_of_500(number):
    test_plan_costs_the_least_of_all_combinations(number)


def test_every_pair_of_features_is_in_some_instance():
    assert len(PAIRS) == len(FEATURES) * (len(FEATURES) - 1) // 2 == 190
    for instances, times in ((DEFAULT, 2), (EVERY, 30)):
        met: Counter[tuple[str, str]] = Counter()
        for number in instances:
            features = list_features(number)
            met.update(pair for pair in PAIRS if features.issuperset(pair))
        assert {pair: met[pair] for pair in PAIRS if met[pair] < times} == {}


def test_every_pair_is_led_by_an_instance_of_its_own():
    led = {PAIRS[number * 67 % len(PAIRS)] for number in EVERY}
    assert led == set(PAIRS)


def test_plans_make_use_of_what_is_new():
    used: Counter[str] = Counter()
    for number in range(150):
        choices = make_instance(number)
        try:
            solution = solve_program(choices, gap=0.0, seconds=30.0)
        except NoPlanError:
            continue
        used.update(list_used(choices, solution))
    names = {"own used up", "bought to be used up", "set", "boat to boat", "far store", "met"}
    names.add("left to expire")
    assert {name: used[name] for name in names if used[name] < 2} == {}


def list_used(choices: Choices, solution: Solution) -> set[str]:
    parts = {(part.boat, part.part): part for part in choices.parts}
    used = {"set"} if any(line.offer.contents for line in solution.bought) else set()
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        choice = part.choices[pick.choice]
        wanted = choice.carry + choice.replace_now
        own = min(part.on_hand - choice.own_left, wanted)
        bought = sum(pieces for _, pieces in pick.bought)
        used |= {"own used up"} if pick.own > own else set()
        used |= {"bought to be used up"} if own + bought > wanted else set()
        used |= {"boat to boat"} if any(place in choices.boats for place, _ in pick.near) else set()
        used |= (
            {"far store"} if any(place not in choices.boats for place, _ in pick.near) else set()
        )
        used |= {"met"} if pick.met else set()
        used |= {"left to expire"} if choice.own_left else set()
    return used


@pytest.mark.parametrize("number", range(60))
def test_place_by_place_no_bound_is_above_the_least_and_no_plan_below(number):
    choices = make_instance(number)
    least = find_least_cost(choices)
    if math.isinf(least):
        return
    found = solve_by_places(choices, gap=1e-6, seconds=20.0)
    free_freight = find_free_freight(choices, found.bought)
    objective = sum(find_costs(choices, found.picked, found.bought, free_freight))
    assert found.bound <= least + 1e-6
    assert objective >= least - 1e-6
    if len(split_by_place(choices)) == 1 and choices.budget is None:
        assert objective == pytest.approx(least, abs=1e-4)
