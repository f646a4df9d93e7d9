"""Laws of what limits are worth and of the curves, on small random programs."""

import itertools
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from program_features import make_instance
from why_builders import ledger_of, solve

from stockopt.program.solve import solve_program
from stockopt.why.asking import weigh_limits
from stockopt.why.curves import POINTS, draw_curves
from stockopt.why.limits import change_limit, list_held

SEEDS = st.integers(0, 10**5)
LAW = settings(max_examples=25, deadline=None, derandomize=True)
NEAR = 1e-5


def no_words(_):
    """Take a step of progress and say nothing."""


@given(seed=SEEDS, gap=st.sampled_from([0.0, 0.05]))
@LAW
def test_what_a_little_more_is_worth_lies_in_its_interval(seed, gap):
    choices = make_instance(seed)
    exact = solve(choices)
    assume(exact is not None)
    planned = solve_program(choices, gap=gap, seconds=30.0)
    held = list_held(ledger_of(planned, choices))
    limits, solves = weigh_limits(held, planned, choices, gap=gap, seconds=30.0, on_step=no_words)
    assert {(why.kind, why.boat) for why in limits} == {(each.kind, each.boat) for each in held}
    assert solves <= 1 + 3 * max(1, len(held))
    for why in limits:
        (each,) = [e for e in held if (e.kind, e.boat) == (why.kind, why.boat)]
        changed = solve(change_limit(choices, each, why.step))
        if changed is None:
            assert why.state == "no plan"
            continue
        worth = exact.objective - changed.objective
        assert why.state in ("slack", "solved")
        assert why.saves_low - NEAR <= worth <= why.saves_high + NEAR
        assert why.saves_low - NEAR <= why.saves <= why.saves_high + NEAR
        # Compared at a small gap, an interval says something.
        assert why.saves_high - why.saves_low <= 3e-4 * max(1.0, abs(exact.objective)) or (
            why.state == "slack"
        )


@given(seed=SEEDS, gap=st.sampled_from([0.0, 0.1]))
@LAW
def test_more_never_costs_more_along_a_curve(seed, gap):
    choices = make_instance(seed)
    planned = solve(choices)
    assume(planned is not None)
    planned = solve_program(choices, gap=gap, seconds=30.0)
    for curve in draw_curves(planned, choices, gap=gap, seconds=30.0, on_step=no_words):
        points = curve.points
        assert len(points) >= POINTS
        for less, more in itertools.pairwise(points):
            assert less.limit < more.limit
            assert more.total <= less.total + NEAR
            assert more.bound <= less.bound + NEAR
        for point in points:
            assert point.bound <= point.total + NEAR
            assert point.gap <= gap + NEAR
            assert point.total == pytest.approx(point.spend_now + point.expected_later)
            if curve.against == "budget":
                assert point.spend_now <= point.limit + 0.01
                tight = solve(replace(choices, budget=point.limit))
                assert point.bound - NEAR <= tight.objective <= point.total + NEAR


@given(seed=SEEDS)
@settings(max_examples=25, deadline=None, derandomize=True)
def test_the_curve_of_money_begins_where_no_plan_spends_less(seed):
    choices = make_instance(seed)
    planned = solve(choices)
    assume(planned is not None)
    for curve in draw_curves(planned, choices, gap=0.0, seconds=30.0, on_step=no_words):
        if curve.against == "budget":
            first = curve.points[0].limit
            assert solve(replace(choices, budget=first - 0.02)) is None
