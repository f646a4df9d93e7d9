"""Orders that meet a boat on her way: where, by when, and what they cost."""

from datetime import date

import pytest
from builders import make_fleet
from choices_builders import make_demand, make_lives, make_need, make_stretches
from program_builders import plan_of

from stockopt.choices.weigh import weigh_choices
from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program
from stockopt.sourcing import price_offers

SURE = [0.1, 0.9]  # one piece on each of the two passages, nearly surely
POST = {
    "source": "Post",
    "kind": "mail",
    "delivers_to": "Isla",
    "lead_days": 10,
    "late_days": 20,
    "per_order": 15,
}
QUAY = {"source": "Quay", "kind": "local", "delivers_to": "Porto"}


def weigh(*, sources=(POST, QUAY), home=300.0, parts=(), **tables):
    """Weigh one part of a boat that sails from Porto by Isla to Cabo on 1 May 2031."""
    need = make_need([[SURE, SURE]], stretches=make_stretches("Isla", "Cabo"))
    prices = [{"source": "Post", "part": "seal", "price": 60}]
    if home:
        prices.append({"source": "Quay", "part": "seal", "price": home})
    fleet = make_fleet(
        **{
            "boats": [{"boat": "Alba", "home_port": "Porto", "day_cost": 500}],
            "parts": [{"part": "seal", "kg": 2, "consequence": "stops", **dict(parts)}],
            "legs": [{"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": "Isla"}],
            "sources": list(sources),
            "prices": prices,
            "settings": {"planned_on": date(2031, 4, 15)},
            **tables,
        }
    )
    choices = weigh_choices(make_demand(need), price_offers(fleet), make_lives("Alba"), fleet)
    return choices.parts[0], choices


def test_an_order_that_is_there_when_she_is_can_meet_her():
    seal, choices = weigh()
    (ahead,) = seal.ahead
    assert (ahead.port, ahead.arrives_on) == ("Isla", date(2031, 5, 11))
    assert [offer.source for offer in ahead.offers] == ["Post"]
    assert choices.charges["Post", "Alba in Isla"].per_order == 15.0
    assert {choice.ahead_at for choice in seal.choices} == {"", "Isla"}


@pytest.mark.parametrize(("late", "meets"), [(26, True), (27, False)])
def test_it_must_arrive_9_times_in_10(late, meets):
    seal, _ = weigh(sources=({**POST, "late_days": late}, QUAY))
    assert bool(seal.ahead) is meets


def test_it_is_weighed_only_where_it_is_cheaper_than_taking_one_along():
    assert not weigh(home=60.0)[0].ahead
    assert weigh(home=61.0)[0].ahead
    assert weigh(home=None)[0].ahead  # nothing can be had at home


def test_nothing_meets_her_where_her_plan_ends():
    assert not weigh(sources=({**POST, "delivers_to": "Cabo"}, QUAY))[0].ahead


def test_the_plan_says_where_it_is_delivered_and_by_when_to_order():
    _, choices = weigh()
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    (carry,) = plan.carry
    assert (carry.ahead, carry.ahead_at, carry.ahead_on) == (1, "Isla", date(2031, 5, 11))
    line = next(line for line in plan.orders if line.source == "Post")
    assert (line.place, line.pieces) == ("Alba in Isla", 1)
    assert (line.arrives_by, line.order_by) == (date(2031, 5, 11), date(2031, 4, 21))
    charge = next(charge for charge in plan.charges if charge.source == "Post")
    assert (charge.place, charge.freight) == ("Alba in Isla", 15.0)
    # everything aboard at once: nothing used yet when it comes
    assert plan.boats[0].kg == 2.0 * (carry.carry + 1)


def test_the_weight_limit_holds_with_everything_aboard():
    boats = [{"boat": "Alba", "home_port": "Porto", "day_cost": 500, "spares_kg": 2}]
    _, choices = weigh(boats=boats)
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    (carry,) = plan.carry
    assert carry.carry + carry.ahead == 1


@pytest.mark.parametrize("home", [300.0, None])
def test_what_is_cheap_on_the_way_is_not_bought_for_what_it_would_be_worth_unused(home):
    # Half of the 300 asked at home is more than the 60 asked by mail.
    seal, choices = weigh(home=home, parts={"price": 300})
    assert seal.leftover == 0.5 * 60.0
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    (carry,) = plan.carry
    assert sum(line.pieces for line in plan.orders if line.source == "Post") == carry.ahead <= 2


def test_what_is_left_of_packs_on_the_way_is_worth_nothing():
    prices = [{"source": "Post", "part": "seal", "price": 60, "pack": 4}]
    seal, choices = weigh(prices=prices)
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    (carry,) = plan.carry
    assert (carry.ahead, plan.orders[0].pieces) == (1, 4)
    later = next(c for c in seal.choices if (c.carry, c.ahead) == (carry.carry, carry.ahead))
    assert plan.cost.expected_later == pytest.approx(later.later_cost)
