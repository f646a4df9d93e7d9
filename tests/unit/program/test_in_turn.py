"""Boats and stores in turn: a base of two boats, from its tables to its store lines."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from builders import make_fleet
from choices_builders import make_demand, make_lives, make_poisson_need, make_stretches

import stockopt.program.solve as solve
from stockopt.choices.settled import Settled, Taken
from stockopt.choices.store_draws import find_draws
from stockopt.choices.weigh import weigh_choices
from stockopt.plan import make_plan
from stockopt.plan_check import PlanCheckError, check_plan
from stockopt.program.in_turn import (
    AGREED_DAYS,
    MOST_ROUNDS,
    hold,
    list_changed,
    read_settled,
    solve_in_turn,
)
from stockopt.sourcing import price_offers

CHARTERS = 12
RATES, WEIGHTS = [0.002, 0.006], [0.6, 0.4]


def make_base(*, pieces_in_stock=0, sources=None, prices=None, part=None):
    """Return a base of two boats that sail a week at a time, and its demand."""
    boats = [
        {"boat": boat, "home_port": "Porto", "store": "Shed", "day_cost": 400, "spares_kg": 2}
        for boat in ("Alba", "Brisa")
    ]
    fleet = make_fleet(
        boats=boats,
        parts=[{"part": "seal", "price": 60, "kg": 1, "consequence": "stops", **(part or {})}],
        sources=sources
        or [
            {
                "source": "Far",
                "kind": "mail",
                "delivers_to": "Porto",
                "lead_days": 8,
                "late_days": 13,
                "per_order": 20,
            }
        ],
        prices=prices or [{"source": "Far", "part": "seal", "price": 40}],
        legs=[
            {
                "boat": boat["boat"],
                "departs_on": "2031-05-01",
                "days": 7,
                "to_port": "Porto",
                "times": CHARTERS,
                "chase_days": 1,
            }
            for boat in boats
        ],
        stock=[{"place": "Shed", "part": "seal", "on_hand": pieces_in_stock}],
        settings={"carry_over": 0.5},
    )
    stretches = make_stretches(*["Porto"] * CHARTERS, days=7, chase_days=1.0)
    needs = [
        replace(
            make_poisson_need(
                RATES, WEIGHTS, [100.0] * CHARTERS, boat=boat["boat"], stretches=stretches
            ),
            by_class=np.array([2.4, 2.4, 3.0, 7.2, 7.2, 7.2]),
        )
        for boat in boats
    ]
    return fleet, make_demand(*needs)


def plan_base(fleet, demand):
    offers, lives = price_offers(fleet), make_lives("Alba", "Brisa")
    choices, solution = solve_in_turn(
        lambda settled: weigh_choices(demand, offers, lives, fleet, settled=settled),
        gap=1e-6,
        seconds=60.0,
    )
    return choices, solution, make_plan(solution, choices, fleet)


@pytest.fixture(scope="module")
def base():
    fleet, demand = make_base(pieces_in_stock=3)
    return plan_base(fleet, demand)


def test_boats_and_store_agree(base):
    choices, solution, plan = base
    rounds = solution.rounds
    assert rounds.agreed
    assert 2 <= rounds.number <= MOST_ROUNDS
    assert rounds.days <= AGREED_DAYS
    assert plan.rounds == rounds
    told = read_settled(choices, solution)
    assert {line.fill_rate for line in plan.stores} == set(told.fill_rates.values())


def test_the_bound_holds_for_the_choices_that_stand_beside_the_plan(base):
    choices, solution, _ = base
    again = solve.solve_program(choices, gap=1e-6, seconds=60.0)
    assert again.objective == pytest.approx(solution.objective, rel=2e-6)
    assert solution.bound <= again.objective + 1e-6
    held = [part for part in choices.parts if len(part.choices) < len(part.weighed)]
    assert solution.rounds.held == len(held)


def test_store_lines_add_up_and_are_checked(base):
    choices, solution, plan = base
    check_plan(plan, solution, choices)
    (line,) = plan.stores
    assert (line.store, line.part, line.on_hand) == ("Shed", "seal", 3)
    kept = line.on_hand - line.moved_out
    assert line.level <= kept + line.buy + line.moved_in
    assert line.expected_asked > 1.0
    assert [(boat.boat) for boat in plan.boats] == ["Alba", "Brisa"]
    assert {carry.boat for carry in plan.carry} == {"Alba", "Brisa"}


@pytest.mark.parametrize(
    ("field", "value"),
    [("level", 40), ("moved_out", 9), ("reorder_point", 7), ("expected_cost", 1e6)],
)
def test_a_wrong_store_line_is_found(base, field, value):
    choices, solution, plan = base
    (line,) = plan.stores
    wrong = replace(plan, stores=(replace(line, **{field: value}),))
    with pytest.raises(PlanCheckError, match="Shed, seal"):
        check_plan(wrong, solution, choices)


def test_the_store_s_shelf_shares_the_fleets_budget():
    fleet, demand = make_base()
    free = plan_base(fleet, demand)[2]
    assert free.cost.spend_now > 0.0
    poor = replace(fleet, settings=replace(fleet.settings, budget=free.cost.spend_now - 50.0))
    tight = plan_base(poor, demand)[2]
    assert tight.cost.spend_now <= free.cost.spend_now - 50.0 + 1e-6


@pytest.mark.parametrize("share", [0.0, 0.4, 0.8])
def test_no_order_of_the_first_day_escapes_the_budget(share):
    """However little money there is: what would be ordered at once is bought now, or not at all."""
    fleet, demand = make_base()
    free = plan_base(fleet, demand)[2]
    poor = replace(fleet, settings=replace(fleet.settings, budget=share * free.cost.spend_now))
    choices, solution, plan = plan_base(poor, demand)
    check_plan(plan, solution, choices)
    (line,) = plan.stores
    assert not line.source or line.level > line.reorder_point
    wrong = replace(plan, stores=(replace(line, source="Far", level=1, reorder_point=1),))
    with pytest.raises(PlanCheckError, match="ordered on the first day, where Far brings it"):
        check_plan(wrong, solution, choices)


@pytest.mark.full
def test_what_no_source_brings_before_is_ordered_on_the_first_day():
    fleet, demand = make_base()
    late = replace(fleet, settings=replace(fleet.settings, planned_on=date(2031, 4, 25)))
    choices, solution, plan = plan_base(late, demand)
    check_plan(plan, solution, choices)
    (line,) = plan.stores
    assert (line.source, line.level, line.buy) == ("Far", 0, 0)


def test_what_a_boat_has_too_much_of_is_moved_to_the_shelf_and_shown():
    fleet, demand = make_base()
    stock = fleet.stock.assign(place="Alba", on_hand=9)
    choices, solution, plan = plan_base(replace(fleet, stock=stock), demand)
    check_plan(plan, solution, choices)
    (line,) = plan.stores
    from_alba = dict(line.moved_from)["Alba"]
    assert 0 < from_alba == line.moved_in
    given = next(carry.given for carry in plan.carry if carry.boat == "Alba")
    assert given >= from_alba
    wrong = replace(plan, stores=(replace(line, moved_from=()),))
    with pytest.raises(PlanCheckError, match="Shed, seal: moved from"):
        check_plan(wrong, solution, choices)


def test_a_shop_that_sells_at_once_for_no_more_leaves_nothing_to_keep():
    fleet, demand = make_base(
        sources=[{"source": "Quay", "kind": "local", "delivers_to": "Porto"}],
        prices=[{"source": "Quay", "part": "seal", "price": 40}],
    )
    (line,) = plan_base(fleet, demand)[2].stores
    assert (line.level, line.source, line.order_quantity) == (0, "", 0)


def test_draws_follow_what_the_boat_does():
    _, demand = make_base()
    need = demand.parts["Alba", "seal"]
    used = float(need.whole[0] @ np.arange(need.whole.shape[-1]))
    everything = find_draws(need, "Porto", None)
    assert everything.pieces == pytest.approx(
        float(np.array([0.2, 0.3, 0.25, 0.15, 0.08, 0.02]) @ need.by_class)
    )
    made_up = find_draws(need, "Porto", Taken(carry=2, replace_now=0, restock=True))
    assert made_up.pieces == pytest.approx(everything.pieces * (CHARTERS - 1) / CHARTERS, rel=0.02)
    assert 0.0 < made_up.waiting < 0.2
    kept = find_draws(need, "Porto", Taken(carry=30, replace_now=0, restock=False))
    assert kept.pieces == pytest.approx(0.0, abs=1e-3)
    bare = find_draws(need, "Porto", Taken(carry=0, replace_now=0, restock=False))
    assert bare.waiting == pytest.approx(used, rel=1e-3)


def test_a_held_line_has_nothing_left_to_choose(base):
    choices, solution, _ = base
    told = read_settled(choices, solution)
    held = hold(choices, {("Alba", "seal"): told.taken["Alba", "seal"]})
    sizes = {part.boat: len(part.choices) for part in held.parts}
    assert sizes["Alba"] == 1
    assert sizes["Brisa"] > 1
    assert list_changed(told, told) == {}
    assert list_changed(Settled(), told) == dict(told.taken)


def test_two_stores_taken_apart_are_the_same_plan(monkeypatch):
    """Place by place or as one model: the same cost, and a checked plan."""
    fleet, demand = make_base(pieces_in_stock=2)
    boats = fleet.boats.assign(
        store=["Shed", "Barn"], home_port=["Porto", "Villa"], spares_kg=[2.0, 2.0]
    )
    sources = pd.concat([fleet.sources, fleet.sources.assign(delivers_to="Villa")])
    apart = replace(fleet, boats=boats, sources=sources)
    choices, whole, _ = plan_base(apart, demand)
    assert [(part.store, part.part) for part in choices.stores] == [
        ("Barn", "seal"),
        ("Shed", "seal"),
    ]
    monkeypatch.setattr(solve, "MANY", 0)
    again, split, plan = plan_base(apart, demand)
    check_plan(plan, split, again)
    assert split.objective == pytest.approx(whole.objective, rel=1e-6)
