"""What the plan made from records costs in truth, beside the plan of who knows every life.

The whole study, printed as it stands in the README (half an hour):
``pytest -n0 -s -m full tests/calibration/test_regret.py``.
"""

import sys

import numpy as np
import pytest
from calibration.regret import (
    HISTORIES,
    every_choice_kept,
    know_truth,
    price_with,
    put_to_work,
    see_last,
    study_regret,
    table_of,
    weigh,
)
from calibration.world import PLANNED_ON, draw_world

from stockopt.ageing.fit import fit_ageing
from stockopt.lives.build import build_lives
from stockopt.program.solve import solve_program


def test_the_truth_prices_its_own_plan_at_its_objective_and_no_plan_lower():
    world = put_to_work(draw_world(2, years=8.0, most_boats=1), 2)
    fleet = see_last(world.fleet, 2)
    lives = build_lives(fleet)
    ageing = fit_ageing(lives, fleet)
    true = weigh(know_truth(ageing, world), lives, fleet)
    with every_choice_kept():
        everything = weigh(know_truth(ageing, world), lives, fleet)
    best = solve_program(true, gap=1e-6, seconds=60.0)
    assert price_with(best, true, everything) == pytest.approx(best.objective, rel=1e-9)
    chosen = weigh(ageing, lives, fleet)
    guessed = solve_program(chosen, gap=1e-6, seconds=60.0)
    cost = price_with(guessed, chosen, everything)
    assert cost >= best.bound - 1e-6
    assert cost != pytest.approx(guessed.objective, rel=1e-6)


def test_a_planner_who_began_late_sees_less():
    fleet = put_to_work(draw_world(3, years=8.0, most_boats=2), 3).fleet
    seen = [see_last(fleet, years) for years in HISTORIES]
    counts = [len(one.replacements) for one in seen]
    assert counts == sorted(counts)
    assert counts[0] < counts[-1]
    for years, one in zip(HISTORIES, seen, strict=True):
        oldest = min(one.replacements["on"].min(), one.readings["read_on"].min())
        assert (np.datetime64(PLANNED_ON) - oldest) / np.timedelta64(1, "D") <= 365 * years


@pytest.mark.full
def test_regret_is_small_after_four_years_and_falls_as_records_grow():
    regrets = study_regret(range(1, 41))
    sys.stdout.write(f"\n{table_of(regrets)}\n")
    mean = {
        years: np.mean([one.share for one in regrets if one.years == years]) for years in HISTORIES
    }
    assert all(one.share >= -one.slack / one.best - 1e-9 for one in regrets)
    assert mean[4] <= 0.05
    assert mean[1] > mean[2] > mean[4] > mean[8]
