"""What a little more of a limit is worth, on cases worked by hand."""

from dataclasses import replace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part
from why_builders import ledger_of, solve

from stockopt.units import KG_PER_POUND, LITRES_PER_GALLON, Measures
from stockopt.why.asking import TIGHT, weigh_limits
from stockopt.why.limits import find_round_step, list_held, list_unasked, reach_next_piece
from stockopt.why.lines import explain_lines

SEALS = (make_choice(0, 100.0), make_choice(1, 40.0), make_choice(2, 20.0))


def ask(choices, *, seconds=30.0, gap=0.0):
    """Return what each limit is worth, and how many plans that took."""
    solution = solve(choices)
    held = list_held(ledger_of(solution, choices))
    return weigh_limits(held, solution, choices, gap=gap, seconds=seconds, on_step=lambda _: None)


def about(*money):
    """Return amounts to the tolerance to which the solver proves its bound."""
    return pytest.approx(money, abs=1e-5)


def limited(**limits):
    return make_choices(make_part(*SEALS, kg=2.0), limits={"Alba": limits})


def test_a_limit_that_holds_a_piece_back_is_worth_what_that_piece_saves():
    # One of 2 kg fits within 3; one kilo more lets in the second, which saves 20 and costs 10.
    (why,), solves = ask(limited(kg=3.0))
    assert (why.kind, why.boat, why.limit, why.used, why.state) == (
        "kg",
        "Alba",
        3.0,
        2.0,
        "solved",
    )
    assert why.step == pytest.approx(0.2)
    assert (why.saves_low, why.saves_high, why.saves) == about(0.0, 0.0, 0.0)
    assert solves == 1
    (why,), _ = ask(limited(kg=3.9))
    assert why.step == pytest.approx(0.5)
    assert (why.saves_low, why.saves_high, why.saves) == about(10.0, 10.0, 10.0)
    assert why.changes == ("Alba, Seal (seal): carry 2, not 1",)


@pytest.mark.parametrize(
    ("limits", "fleet", "step"),
    [
        # One seal of 2 kg, 1.5 L and 10 of money is aboard: the second lacks 1 kg, 0.8 L, 3 or 10.
        ({"kg": 3.0}, None, 1.0),
        ({"litres": 2.2}, None, 1.0),
        ({"budget": 17.0}, None, 5.0),
        ({}, 17.0, 5.0),
        ({"budget": 10.0}, None, 10.0),
        ({"budget": 0.0}, None, 10.0),
    ],
)
def test_a_step_lets_in_the_next_piece_where_a_tenth_would_not(limits, fleet, step):
    part = make_part(*SEALS, kg=2.0, litres=1.5)
    choices = make_choices(part, limits={"Alba": limits}, budget=fleet)
    solution = solve(choices)
    ledger = ledger_of(solution, choices)
    held = reach_next_piece(list_held(ledger), explain_lines(ledger), choices)
    (why,), _ = weigh_limits(held, solution, choices, gap=0.0, seconds=30.0, on_step=lambda _: None)
    assert (why.step, why.state) == (pytest.approx(step), "solved")
    assert why.saves > 5.0


def test_steps_are_round_in_the_unit_that_people_read():
    limits = {"Alba": {"kg": 100.0 * KG_PER_POUND, "litres": 50.0 * LITRES_PER_GALLON}}
    others = Measures(mass="lb", volume="gallons")
    choices = make_choices(make_part(*SEALS, kg=2.0), limits=limits, measures=others)
    held = list_held(ledger_of(solve(choices), choices))
    assert [why.step for why in list_unasked(held)] == pytest.approx(
        [10.0 * KG_PER_POUND, 5.0 * LITRES_PER_GALLON]
    )


def test_slack_limits_are_loosened_together_once():
    limits, solves = ask(limited(kg=300.0, litres=50.0, budget=900.0))
    assert [(why.kind, why.state) for why in limits] == [
        ("kg", "slack"),
        ("litres", "slack"),
        ("budget", "slack"),
    ]
    assert all((why.saves_low, why.saves_high) == about(0.0, 0.0) for why in limits)
    assert solves == 1


def test_the_budget_of_the_fleet_and_readiness_are_asked_both_ways():
    chances = (0.5, 0.1, 0.005)
    choices = [
        make_choice(choice.carry, choice.later_cost, shortage_chance=chance)
        for choice, chance in zip(SEALS, chances, strict=True)
    ]
    part = make_part(*choices, stops=True, offers=(make_offer(landed=25.0),))
    limits, _ = ask(make_choices(part, readiness=0.9))
    # One spare keeps 90 % just; 89 % asks no less, and a point more takes the second: 5 dearer.
    assert [(why.kind, why.step) for why in limits] == [
        ("readiness", pytest.approx(-0.01)),
        ("readiness", pytest.approx(0.01)),
    ]
    less, more = limits
    assert (less.saves_low, less.saves_high) == about(0.0, 0.0)
    assert (more.saves_low, more.saves_high, more.saves) == about(-5.0, -5.0, -5.0)


def test_a_point_of_readiness_that_nobody_can_reach_leaves_no_plan():
    part = make_part(make_choice(0, 1.0, shortage_chance=0.1), stops=True)
    _, more = ask(make_choices(part, readiness=0.9))[0]
    assert (more.state, more.saves) == ("no plan", None)


def test_without_time_nothing_is_said_to_be_worth_anything():
    (why,), solves = ask(limited(kg=3.0), seconds=0.0)
    assert (why.state, why.saves_low, why.saves_high, solves) == ("not asked", None, None, 0)
    held = list_held(ledger_of(solve(limited(kg=3.0)), limited(kg=3.0)))
    assert list_unasked(held) == (why,)


def test_a_plan_proven_to_a_wide_gap_is_proven_more_closely_first():
    choices = limited(kg=3.9)
    solution = solve(choices)
    wide = replace(solution, bound=solution.objective - 30.0, gap=30.0 / solution.objective)
    held = list_held(ledger_of(solution, choices))
    (why,), solves = weigh_limits(
        held, wide, choices, gap=0.5, seconds=30.0, on_step=lambda _: None
    )
    assert solves == 2
    assert why.saves_high - why.saves_low <= 2 * TIGHT * solution.objective + 1e-9


@pytest.mark.parametrize(
    ("limit", "step"),
    [(120.0, 10.0), (4_000.0, 500.0), (45.0, 5.0), (9_000.0, 1_000.0), (0.0, 1.0)],
)
def test_steps_are_round(limit, step):
    assert find_round_step(limit) == step


def test_of_many_parts_only_the_next_piece_of_each_is_looked_at():
    choices = limited(kg=3.0)
    ledger = ledger_of(solve(choices), choices)
    assert list_held(ledger, explain_lines(ledger)) == list_held(ledger)
    assert [each.binds for each in list_held(ledger, ())] == [False]
