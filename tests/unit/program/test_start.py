"""A plan to begin from makes the solver quicker and changes nothing else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from program_builders import random_choices

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.program import whole
from stockopt.program.columns import has_order_column
from stockopt.program.restate import restate
from stockopt.program.solution import Solution
from stockopt.program.solve import solve_program


def turn_costs(choices: Choices) -> Choices:
    """Return choices of which the dear ones are cheap."""
    parts = tuple(
        replace(
            part,
            choices=tuple(replace(one, later_cost=100.0 - one.later_cost) for one in part.choices),
        )
        for part in choices.parts
    )
    return replace(choices, parts=parts)


def count_asked(solution: Solution, choices: Choices) -> int:
    """Count what ties are broken by: pieces and orders."""
    parts = {(part.boat, part.part): part for part in choices.parts}
    taken = [parts[pick.boat, pick.part].choices[pick.choice] for pick in solution.picked]
    orders = {
        (line.offer.source, line.place)
        for line in solution.bought
        if has_order_column(choices.charges[line.offer.source, line.place])
    }
    return sum(choice.pieces + choice.ahead for choice in taken) + len(orders)


@pytest.mark.parametrize("seed", range(100))
def test_the_plan_is_as_good_from_wherever_it_begins(seed):
    choices = random_choices(seed)
    turned = turn_costs(choices)
    try:
        best = solve_program(choices, gap=0.0, seconds=20.0)
    except NoPlanError:
        return
    worst = solve_program(turned, gap=0.0, seconds=20.0)
    start = restate(worst, turned, choices)
    assert start is not None
    for begun in (start, best):
        again = solve_program(choices, gap=0.0, seconds=20.0, start=begun)
        assert again.status == "optimal"
        assert again.objective == pytest.approx(best.objective, abs=1e-9)
        assert again.bound == pytest.approx(best.bound, abs=1e-6)
        assert count_asked(again, choices) == count_asked(best, choices)


def test_a_solver_whose_plan_is_not_what_it_says_is_asked_again_without_a_start(monkeypatch):
    choices = random_choices(25)
    best = solve_program(choices, gap=0.0, seconds=20.0)
    starts = []

    def run(shared, cost, gap, seconds, start):
        starts.append(start)
        return whole_run(shared, cost, gap, seconds, start)

    whole_run = whole._run
    monkeypatch.setattr(whole, "_run", run)
    monkeypatch.setattr(whole, "_is_sound", lambda solver, cost: False)
    assert solve_program(choices, gap=0.0, seconds=20.0, start=best).picked == best.picked
    assert starts == [best, None]
