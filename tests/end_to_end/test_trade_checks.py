"""Facts of the trade that a plan must agree with (common practice, no source).

A raw-water pump's shaft seal lasts about 500 running hours and wears out. It is small and cheap,
it stops the boat, and the sister engine with the same hours is next.
"""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from builders import make_fleet

from stockopt.ageing.fit import fit_ageing
from stockopt.choices.weigh import weigh_choices
from stockopt.demand.forecast import forecast_demand
from stockopt.lives.build import build_lives
from stockopt.plan import make_plan
from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program
from stockopt.sourcing import price_offers

ENGINES = ("port engine", "starboard engine")


def crossing(hours_since_new, replacements=()):
    """A twin-engined boat about to cross, both engines and their seals run the same hours."""
    planned_on = date(2031, 4, 1)
    return make_fleet(
        settings={"planned_on": planned_on},
        boats=[{"boat": "Marisel", "home_port": "Home", "day_cost": 300}],
        machines=[
            {
                "boat": "Marisel",
                "machine": engine,
                "model": "E30",
                "fitted_on": "2029-04-01",
                "hours_at_fitting": 0,
            }
            for engine in ENGINES
        ],
        readings=[
            {
                "boat": "Marisel",
                "machine": engine,
                "read_on": planned_on.isoformat(),
                "hours": hours,
            }
            for engine in ENGINES
            for hours in [hours_since_new]
        ],
        parts=[
            {
                "part": "SEAL",
                "name": "Shaft seal, raw-water pump",
                "wear": "wears",
                "expected_life": 500,
                "price": 25,
                "kg": 0.05,
                "litres": 0.1,
                "consequence": "stops",
                "days_to_fix": 1,
                "failure_cost": 100,
                "fitting_cost": 30,
            }
        ],
        fitted=[{"model": "E30", "part": "SEAL"}],
        replacements=list(replacements),
        ports=[{"port": "Far", "price_factor": 4, "wait_days": 14}],
        legs=[
            {
                "boat": "Marisel",
                "departs_on": "2031-04-20",
                "days": 21,
                "to_port": "Far",
                "hours": 150,
            }
        ],
    )


def changed_today():
    return [
        {
            "on": "2031-04-01",
            "boat": "Marisel",
            "machine": engine,
            "part": "SEAL",
            "hours": 450,
            "reason": "scheduled",
        }
        for engine in ENGINES
    ]


def plan_seal(fleet):
    lives = build_lives(fleet)
    ageing = fit_ageing(lives, fleet)
    demand = forecast_demand(ageing, lives, fleet)
    choices = weigh_choices(demand, price_offers(fleet), lives, fleet)
    solution = solve_program(choices, gap=1e-9, seconds=30)
    plan = make_plan(solution, choices, fleet)
    check_plan(plan, solution, choices)
    (line,) = plan.carry
    return line


def test_twins_near_the_seals_life_are_both_changed_now_and_a_spare_goes_along():
    line = plan_seal(crossing(450))
    assert line.replace_now == 2
    assert line.carry >= 1


def test_right_after_changing_both_none_is_replaced():
    line = plan_seal(crossing(450, changed_today()))
    assert line.replace_now == 0
    assert line.carry >= 1


def test_new_engines_keep_their_seals():
    assert plan_seal(crossing(10)).replace_now == 0


@pytest.mark.parametrize("reason", ["failed", "worn"])
def test_one_seal_failing_makes_its_sister_far_likelier_to_fail_than_a_new_one(reason):
    failed = [{**changed_today()[0], "hours": 500, "reason": reason}]
    fleet = crossing(500, failed)
    lives = build_lives(fleet)
    seal = fit_ageing(lives, fleet).parts["SEAL"]
    (sister,) = lives.positions.query("machine == 'starboard engine'")["age"]
    assert sister == pytest.approx(500)

    def chance_within_100_h(age):
        hazard = ((age + 100) / seal.nodes.scale) ** seal.nodes.shape - (
            age / seal.nodes.scale
        ) ** seal.nodes.shape
        survives_to_age = np.exp(-((age / seal.nodes.scale) ** seal.nodes.shape))
        weight = seal.nodes.weight * survives_to_age
        return float(weight @ -np.expm1(-hazard) / weight.sum())

    assert chance_within_100_h(sister) > 3 * chance_within_100_h(0.0)


def test_a_floor_is_kept_whatever_it_costs():
    fleet = crossing(10)
    parts = fleet.parts.assign(carry_at_least=7, price=5000.0, consequence="nuisance")
    assert plan_seal(replace(fleet, parts=parts)).carry == 7
