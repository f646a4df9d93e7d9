"""What replacing a part now saves of parts used up with it."""

from datetime import date

import numpy as np
import pytest
from choices_builders import make_lives
from demand_builders import make_ageing, make_positions, make_voyage

from stockopt.choices.settled import Settled, Taken
from stockopt.choices.used_up import find_scarcity, list_costs
from stockopt.choices.weigh import weigh_choices
from stockopt.demand.forecast import forecast_demand
from stockopt.demand.used_with import count_replaced
from stockopt.sourcing import price_offers

LEGS = [(date(2031, 5, 1), 10, "Cabo", 120.0), (date(2031, 5, 11), 20, "Cabo", 200.0)]
PRICE, PER_CHANGE, ON_HAND = 20.0, 2, 3


@pytest.fixture(scope="module")
def weighed():
    """Weigh a boat with two filters that use up oil, by how many are counted as replaced."""
    fleet = make_voyage(
        {"filter": {"price": 30.0}, "oil": {"price": PRICE}, "seal": {"price": 10.0}},
        LEGS,
        boats=[{"boat": "Alba", "home_port": "Cabo", "day_cost": 300}],
        used_with=[{"part": "oil", "with_part": "filter", "quantity": PER_CHANGE}],
        sources=[{"source": "Quay", "kind": "local", "delivers_to": "Cabo"}],
        prices=[{"source": "Quay", "part": "oil", "price": PRICE}],
        stock=[{"place": "Alba", "part": "oil", "on_hand": ON_HAND}],
    )
    positions = [("Alba", f"{side} engine", "filter", 300) for side in ("port", "starboard")]
    positions.append(("Alba", "port engine", "seal", 300))
    ageing = make_ageing(filter=(4.0, 500.0), oil=(1.0, 4000.0), seal=(2.0, 500.0))
    demand = forecast_demand(ageing, make_positions(*positions), fleet)
    offers, lives = price_offers(fleet), make_lives("Alba")

    def weigh(replaced):
        taken = {("Alba", "filter"): Taken(carry=0, replace_now=replaced, restock=False)}
        settled = Settled(taken=taken) if replaced else Settled()
        choices = weigh_choices(demand, offers, lives, fleet, settled=settled)
        return {part.part: part for part in choices.parts}

    return demand, weigh


def cost_of_oil(oil, at_once):
    """Return the least cost of oil when some is used at once: every choice, piece by piece."""
    costs = []
    for choice in oil.choices:
        own = [*range(ON_HAND)]
        bought = 0
        for _ in range(choice.carry):
            bought += not own or own.pop() < 0
        lost = 0
        for _ in range(at_once):
            if own:
                own.pop()
                lost += 1
            else:
                bought += 1
        costs.append(choice.later_cost + PRICE * bought + oil.leftover * lost)
    return min(costs)


@pytest.mark.parametrize("counted", [0, 1, 2])
def test_it_is_what_the_oil_costs_less_and_nothing_at_the_number_counted(weighed, counted):
    _, weigh = weighed
    found = {c.replace_now: c.used_up_cost for c in weigh(counted)["filter"].choices}
    assert found[counted] == 0.0
    for f, cost in found.items():
        at_once = PER_CHANGE * f
        told, changed = weigh(counted)["oil"], weigh(f)["oil"]
        expected = cost_of_oil(changed, at_once) - cost_of_oil(told, at_once)
        assert cost == pytest.approx(expected, abs=1e-9)
    assert found[2] < found[1] < found[0]


def test_it_is_part_of_what_the_choice_costs_and_of_no_other_part(weighed):
    _, weigh = weighed
    first, second = weigh(0), weigh(2)
    before = {(c.carry, c.replace_now, c.restock): c for c in first["filter"].choices}
    shared = [
        (before[key], c)
        for c in second["filter"].choices
        if (key := (c.carry, c.replace_now, c.restock)) in before
    ]
    assert len({c.replace_now for c, _ in shared}) == 3
    for old, new in shared:
        assert old.later_cost - old.used_up_cost == pytest.approx(
            new.later_cost - new.used_up_cost, abs=1e-9
        )
    others = [*first["oil"].choices, *first["seal"].choices]
    assert {choice.used_up_cost for choice in others} == {0.0}


def test_what_is_saved_is_near_the_oil_that_is_needed_less(weighed):
    """Oil is on sale at every stop: each piece needed less saves about its price."""
    demand, weigh = weighed
    found = {c.replace_now: c.used_up_cost for c in weigh(0)["filter"].choices}
    pieces = []
    for f in (0, 2):
        need = count_replaced(demand, {("Alba", "filter"): f}).parts["Alba", "oil"]
        pieces.append(float(need.whole[0] @ np.arange(need.whole.shape[-1])))
    less = pieces[0] - pieces[1]
    assert less > 1.0
    assert 0.5 * PRICE * less <= -found[2] <= 3.0 * PRICE * less


def test_spares_cost_more_where_the_plan_before_could_carry_few(weighed):
    """So many are the best for her at what a spare then costs more, and not at any less."""
    _, weigh = weighed
    oil = weigh(0)["oil"]

    def best(extra):
        costs = list_costs(oil, 0)
        return min(zip(costs, oil.choices, strict=True), key=lambda c: c[0] + extra * c[1].carry)[
            1
        ].carry

    freely = best(0.0)
    assert freely > 2
    assert find_scarcity(oil, 0, None) == find_scarcity(oil, 0, freely) == 0.0
    before = 0.0
    for carry in reversed(range(freely)):
        extra = find_scarcity(oil, 0, carry)
        assert extra >= before
        assert best(extra + 1e-6) <= carry
        assert best(extra - 1e-6) > carry
        before = extra
