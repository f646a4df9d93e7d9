"""Parts used up with others: what the plan tells of them fits what it replaces now."""

from datetime import date

import pytest
from choices_builders import make_lives
from demand_builders import make_ageing, make_positions, make_voyage

from stockopt.choices.weigh import weigh_choices
from stockopt.demand.forecast import forecast_demand
from stockopt.plan import make_plan
from stockopt.plan_check import check_plan
from stockopt.program.in_turn import solve_in_turn
from stockopt.sourcing import price_offers

LEGS = [(date(2031, 5, 1), 10, "Cabo", 120.0), (date(2031, 5, 11), 20, "Cabo", 200.0)]
IMPELLER = {"price": 100.0, "failure_cost": 1500.0, "consequence": "stops"}
GASKET = {"price": 1.0, "consequence": "stops"}


def plan_boat(settings=None):
    """Plan a boat with two worn impellers; every change uses up a gasket."""
    fleet = make_voyage(
        {"impeller": IMPELLER, "gasket": GASKET},
        LEGS,
        boats=[{"boat": "Alba", "home_port": "Cabo", "day_cost": 100}],
        used_with=[{"part": "gasket", "with_part": "impeller", "quantity": 1}],
        sources=[{"source": "Quay", "kind": "local", "delivers_to": "Cabo"}],
        prices=[
            {"source": "Quay", "part": "impeller", "price": 100},
            {"source": "Quay", "part": "gasket", "price": 1},
        ],
        settings=settings,
    )
    positions = [("Alba", f"{side} engine", "impeller", 420) for side in ("port", "starboard")]
    ageing = make_ageing(impeller=(4.0, 500.0), gasket=(1.0, 4000.0))
    demand = forecast_demand(ageing, make_positions(*positions), fleet)
    offers, lives, rounds = price_offers(fleet), make_lives("Alba"), []

    def weigh(settled):
        rounds.append(settled)
        return weigh_choices(demand, offers, lives, fleet, settled=settled)

    choices, solution = solve_in_turn(weigh, gap=1e-6, seconds=60.0)
    plan = make_plan(solution, choices, fleet)
    check_plan(plan, solution, choices)
    return demand, plan, rounds


def lines_of(plan):
    return {line.part: line for line in plan.carry}


def test_gaskets_are_told_for_the_changes_left_under_way():
    demand, plan, rounds = plan_boat()
    lines = lines_of(plan)
    assert lines["impeller"].replace_now == 2
    assert lines["gasket"].expected_need == pytest.approx(lines["impeller"].expected_need, abs=1e-4)
    before = demand.parts["Alba", "gasket"].whole[0]
    assert lines["gasket"].expected_need < 0.5 * (before @ range(len(before)))
    assert plan.rounds.agreed
    assert plan.rounds.number == 1  # guessed right
    assert len(rounds) == 2


def test_where_money_allows_fewer_changes_than_guessed_it_is_told_anew():
    _, plan, rounds = plan_boat({"budget": 150.0})
    lines = lines_of(plan)
    assert lines["impeller"].replace_now == 1
    assert lines["gasket"].expected_need == pytest.approx(lines["impeller"].expected_need, abs=1e-4)
    assert plan.rounds.agreed
    assert plan.rounds.number == 2
    assert [settled.taken["Alba", "impeller"].replace_now for settled in rounds[1:]] == [2, 1]
