"""Laws that every solution keeps, on small random instances."""

import math
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from program_builders import plan_of, random_choices

from stockopt.errors import NoPlanError
from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program

SEEDS = st.integers(0, 10**6)
#: The same examples every time; no deadline, as the machine may be busy.
LAW = settings(max_examples=80, deadline=None, derandomize=True)


def least(choices):
    """Return the least cost found; infinity where there is no plan."""
    try:
        return solve_program(choices, gap=0.0, seconds=30.0).objective
    except NoPlanError:
        return math.inf


def no_worse(cost, than):
    return cost <= than + 1e-6 * max(1.0, abs(than)) if math.isfinite(than) else True


@given(seed=SEEDS, budget=st.floats(0.0, 150.0), more=st.floats(0.0, 60.0))
@LAW
def test_larger_fleet_budget_is_never_worse(seed, budget, more):
    choices = random_choices(seed)
    tight = least(replace(choices, budget=budget))
    assert no_worse(least(replace(choices, budget=budget + more)), tight)


@given(seed=SEEDS, more=st.floats(0.0, 5.0), field=st.sampled_from(["kg", "litres", "budget"]))
@LAW
def test_larger_limit_of_a_boat_is_never_worse(seed, more, field):
    choices = random_choices(seed)
    tight = {boat: replace(limits, **{field: 3.0}) for boat, limits in choices.boats.items()}
    loose = {boat: replace(limits, **{field: 3.0 + more}) for boat, limits in choices.boats.items()}
    cost = least(replace(choices, boats=tight))
    assert no_worse(least(replace(choices, boats=loose)), cost)


@given(seed=SEEDS, asked=st.floats(0.01, 1.0), less=st.floats(0.0, 1.0))
@LAW
def test_asking_for_less_readiness_is_never_worse(seed, asked, less):
    choices = random_choices(seed)
    cost = least(replace(choices, readiness=asked))
    assert no_worse(least(replace(choices, readiness=asked * less)), cost)


@given(seed=SEEDS)
@LAW
def test_one_more_choice_is_never_worse(seed):
    choices = random_choices(seed)
    first = choices.parts[0]
    fewer = replace(first, choices=first.choices[:-1])
    cost = least(replace(choices, parts=(fewer, *choices.parts[1:])))
    assert no_worse(least(choices), cost)


@given(seed=SEEDS, shuffled=st.randoms(use_true_random=False))
@LAW
def test_the_order_of_everything_changes_nothing(seed, shuffled):
    choices = random_choices(seed)
    mixed = shuffle(choices, shuffled)
    one, other = solve_or_clash(choices), solve_or_clash(mixed)
    if isinstance(one, tuple):
        assert other == one
        return
    plan, same = plan_of(one, choices), plan_of(other, mixed)
    assert (same.carry, same.orders, same.charges) == (plan.carry, plan.orders, plan.charges)
    assert same.cost.total == pytest.approx(plan.cost.total, rel=1e-12)
    check_plan(same, other, mixed)


def solve_or_clash(choices):
    try:
        return solve_program(choices, gap=0.0, seconds=30.0)
    except NoPlanError as error:
        return error.clashes


def shuffle(choices, shuffled: random.Random):
    def mix(rows):
        return tuple(shuffled.sample(rows, len(rows)))

    parts = tuple(
        replace(part, choices=mix(part.choices), offers=mix(part.offers)) for part in choices.parts
    )
    return replace(
        choices,
        boats=dict(mix(list(choices.boats.items()))),
        parts=mix(parts),
        charges=dict(mix(list(choices.charges.items()))),
        stock=dict(mix(list(choices.stock.items()))),
    )


@given(seed=SEEDS)
@LAW
def test_same_input_same_plan_and_input_untouched(seed):
    choices, twin = random_choices(seed), random_choices(seed)
    try:
        first = solve_program(choices, gap=0.001, seconds=30.0)
    except NoPlanError:
        assert math.isinf(least(choices))
        return
    again = solve_program(choices, gap=0.001, seconds=30.0)
    assert replace(first, seconds=0.0) == replace(again, seconds=0.0)
    assert choices == twin
