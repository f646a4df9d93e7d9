"""A plan told again is proven for the choices it stands among, and only for those."""

from dataclasses import replace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part

from stockopt.program.prove import prove_settled
from stockopt.program.solve import solve_program


@pytest.fixture
def two_parts():
    """Two parts of which one spare each pays."""
    return make_choices(
        *(
            make_part(
                make_choice(0, later_cost=500.0),
                make_choice(1, later_cost=100.0),
                part=part,
                offers=(make_offer(part, landed=50.0),),
            )
            for part in ("belt", "seal")
        )
    )


def weigh_again(choices, part, cost):
    """Return the choices with carrying one of a part weighed anew: now it does not pay."""
    parts = tuple(
        replace(
            one,
            choices=tuple(
                replace(choice, later_cost=cost) if choice.carry == 1 else choice
                for choice in one.choices
            ),
        )
        if one.part == part
        else one
        for one in choices.parts
    )
    return replace(choices, parts=parts)


def test_the_best_plan_is_proven_with_nothing_held(two_parts):
    best = solve_program(two_parts, gap=1e-6, seconds=10.0)
    choices, proven = prove_settled(two_parts, best, gap=1e-6, seconds=10.0)
    assert choices == two_parts
    assert proven.status == "optimal"
    assert proven.bound == pytest.approx(best.objective)


def test_a_line_the_program_would_do_otherwise_is_held_and_the_rest_proven(two_parts):
    plan = solve_program(two_parts, gap=1e-6, seconds=10.0)
    again = weigh_again(two_parts, "seal", 480.0)
    told = replace(plan, objective=plan.objective + 380.0, bound=-1e9)
    choices, proven = prove_settled(again, told, gap=1e-6, seconds=10.0)
    held = [part.part for part in choices.parts if len(part.choices) < len(part.weighed)]
    assert held == ["seal"]
    assert proven.objective == pytest.approx(told.objective)
    assert proven.status == "optimal"
    # What stands beside the plan is what its bound was proven for.
    best = solve_program(choices, gap=1e-6, seconds=10.0)
    assert best.objective == pytest.approx(proven.objective)
    assert proven.bound <= best.objective + 1e-6


def test_without_time_nothing_is_claimed(two_parts):
    best = solve_program(two_parts, gap=1e-6, seconds=10.0)
    assert prove_settled(two_parts, best, gap=1e-6, seconds=0.0) is None
