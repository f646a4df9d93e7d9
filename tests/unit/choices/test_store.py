"""The choices of a store: costs against seasons event by event, levels against the newsvendor."""

import math

import numpy as np
import pytest
from scipy.stats import poisson
from store_chain import simulate_store

from stockopt.choices.lead_time import spread_lead_time
from stockopt.choices.store import StoreTerms, list_store_choices
from stockopt.sourcing import Offer


def make_offer(source="Mail", landed=20.0, lead_days=8.0, late_days=13.0, pack=1, most=None):
    return Offer(
        source=source,
        kind="mail",
        port="Isla",
        part="seal",
        price=landed,
        landed=landed,
        pack=pack,
        most=most,
        lead_days=lead_days,
        late_days=late_days,
    )


def make_store_terms(asked, *offers, spread=(0.5, 0.9, 1.8), **more):
    """Return terms with a fleet's need that is not known well."""
    pieces = asked * np.array(spread)
    return StoreTerms(
        **{
            "days": 180.0,
            "pieces": pieces,
            "weight": np.array([0.3, 0.5, 0.2]),
            "offers": offers,
            "order_charges": {offer.source: 10.0 for offer in offers},
            "least_values": {},
            "short_cost": 300.0,
            "credit": 12.0,
            "capital_rate": 0.08,
            "paid": 0.0,
            **more,
        }
    )


@pytest.mark.parametrize("asked", [0.4, 3.0, 15.0])
def test_costs_against_seasons_event_by_event(asked):
    offer = make_offer()
    terms = make_store_terms(asked, offer)
    choices = list_store_choices(terms)
    lead, count = spread_lead_time(8.0, 13.0), 1500
    for choice in (choices[0], choices[len(choices) // 2]):
        stop = 8.0 if choice.source else math.inf
        played = simulate_store(
            np.random.default_rng(7),
            count,
            rates=terms.pieces / 180.0,
            weights=terms.weight,
            lead=(lead.days, lead.weight),
            point=choice.reorder_point,
            quantity=max(choice.order_quantity, 1),
            level=choice.level,
            days=180.0,
            stop=stop,
        )
        order_cost = 10.0 + 20.0 * choice.order_quantity
        season = order_cost * played["order"] + 300.0 * played["lost"]
        season = season + 0.08 / 365 * 20.0 * played["piece_day"]
        expected = {
            "season_cost": season,
            "later_cost": season - 12.0 * played["left"],
            "orders": played["order"],
            "reordered": played["order"] * choice.order_quantity,
            "short": played["lost"],
            "left": played["left"],
            "average_stock": played["piece_day"] / 180.0,
        }
        for name, told in expected.items():
            error = 4 * told.std() / math.sqrt(count) + 1e-9
            assert getattr(choice, name) == pytest.approx(told.mean(), abs=error), name
        assert choice.fill_rate == pytest.approx(1 - choice.short / terms.asked)


def test_no_other_way_to_reorder_is_cheaper():
    """Tried by hand: the way told costs no more than its neighbours, played alike."""
    terms = make_store_terms(6.0, make_offer())
    lead, rng_seed, count = spread_lead_time(8.0, 13.0), 3, 3000

    def cost(point, quantity, level):
        played = simulate_store(
            np.random.default_rng(rng_seed),
            count,
            rates=terms.pieces / 180.0,
            weights=terms.weight,
            lead=(lead.days, lead.weight),
            point=point,
            quantity=quantity,
            level=level,
            days=180.0,
            stop=8.0,
        )
        season = (10 + 20 * quantity) * played["order"] + 300 * played["lost"]
        season = season + 0.08 / 365 * 20 * played["piece_day"] - 12 * played["left"]
        return season.mean(), season.std() / math.sqrt(count)

    choice = list_store_choices(terms)[4]
    best, _ = cost(choice.reorder_point, choice.order_quantity, choice.level)
    for move in ((-1, 0), (1, 0), (0, -1), (0, 2), (1, 2)):
        point, quantity = choice.reorder_point + move[0], choice.order_quantity + move[1]
        if point >= 0 and quantity >= 1:
            other, error = cost(point, quantity, choice.level)
            assert best <= other + 2.0 * error


@pytest.mark.parametrize("asked", [0.2, 2.0, 12.0])
def test_without_a_source_the_levels_are_the_newsvendor_s(asked):
    terms = make_store_terms(asked, short_cost=60.0)
    choices = list_store_choices(terms)
    levels = np.array([choice.level for choice in choices])
    cost = np.array([choice.later_cost for choice in choices]) + 20.0 * levels
    below = terms.weight @ poisson.cdf(np.arange(200), terms.pieces[:, None])
    assert levels[cost.argmin()] == np.flatnonzero(below >= (60 - 20) / (60 - 12))[0]
    assert {choice.source for choice in choices} == {None}
    assert [choice.order_quantity for choice in choices] == [0] * len(choices)


def test_levels_cost_less_the_more_are_there_until_one_more_brings_nothing():
    choices = list_store_choices(make_store_terms(5.0, make_offer()))
    assert [choice.level for choice in choices] == list(range(len(choices)))
    net = [choice.later_cost + 12.0 * choice.level for choice in choices]
    assert min(net[:-1]) - net[-1] >= 0.01
    short = [choice.short for choice in choices]
    assert short[-1] < short[0]


def test_dearer_shortages_never_call_for_fewer_on_the_shelf():
    def best_fill(short_cost):
        choices = list_store_choices(make_store_terms(4.0, make_offer(), short_cost=short_cost))
        return min(choices, key=lambda choice: choice.later_cost + 20.0 * choice.level).fill_rate

    fills = [best_fill(short_cost) for short_cost in (25.0, 100.0, 1000.0, 20000.0)]
    assert fills == sorted(fills)
    assert fills[-1] > 0.999


def test_a_source_no_cheaper_than_going_without_is_not_ordered_from():
    choices = list_store_choices(make_store_terms(5.0, make_offer(landed=300.0)))
    assert {choice.source for choice in choices} == {None}


def test_orders_are_whole_packs_worth_the_least_value():
    offer = make_offer(pack=4)
    choices = list_store_choices(make_store_terms(20.0, offer, least_values={"Mail": 150.0}))
    quantities = {c.order_quantity for c in choices if c.source}
    assert quantities
    assert all(quantity % 4 == 0 and quantity * 20.0 >= 150.0 for quantity in quantities)


def test_the_cheaper_source_is_taken_where_waiting_costs_little():
    slow = make_offer("Post", landed=10.0, lead_days=30, late_days=40)
    terms = make_store_terms(20.0, make_offer(), slow, short_cost=22.0)
    assert {c.source for c in list_store_choices(terms)} <= {"Post", None}


def test_nothing_asked_for_needs_nothing():
    (choice,) = list_store_choices(make_store_terms(0.0, make_offer()))
    assert (choice.level, choice.source, choice.fill_rate) == (0, None, 1.0)


def test_what_boats_pay_is_taken_off_once():
    plain = list_store_choices(make_store_terms(3.0, make_offer()))
    paid = list_store_choices(make_store_terms(3.0, make_offer(), paid=50.0))
    for before, after in zip(plain, paid, strict=True):
        assert after.later_cost == pytest.approx(before.later_cost - 50.0)
        assert after.season_cost == pytest.approx(before.season_cost)


def test_nothing_that_could_be_bought_before_is_ordered_on_the_first_day():
    """Else a shelf of nothing, refilled at once, would cost no money now."""
    terms = [
        make_store_terms(asked, make_offer(), before=frozenset(names))
        for asked in (0.5, 3.0, 12.0)
        for names in ((), ("Other",), ("Mail",))
    ]
    at_once = [
        any(c.source and c.level <= c.reorder_point for c in list_store_choices(each))
        for each in terms
    ]
    assert at_once == [True, True, False] * 3


def test_a_level_that_orders_later_is_as_it_was():
    free = {c.level: c for c in list_store_choices(make_store_terms(6.0, make_offer()))}
    kept = list_store_choices(make_store_terms(6.0, make_offer(), before=frozenset({"Mail"})))
    same = [c for c in kept if free[c.level].level > free[c.level].reorder_point]
    assert same == [free[c.level] for c in same]
    assert len(same) > 2
    assert all(c.later_cost >= free[c.level].later_cost - 1e-9 for c in kept)
