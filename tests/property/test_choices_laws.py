"""Laws that every list of choices and offers keeps."""

import dataclasses
from itertools import pairwise

import numpy as np
from builders import make_fleet
from choices_builders import make_demand, make_lives, make_need, make_stretches, make_terms
from hypothesis import given, settings
from hypothesis import strategies as st

from stockopt.choices.aboard import list_choices
from stockopt.choices.weigh import weigh_choices
from stockopt.sourcing import price_offers

MONEY = st.floats(0.0, 5000.0)
#: The same examples every time; no deadline, as the machine may be busy.
LAW = settings(max_examples=60, deadline=None, derandomize=True)


@st.composite
def needs(draw):
    """Draw chances for up to 3 positions, 3 stretches and 4 pieces a stretch, and unspent lives."""
    shape = draw(st.tuples(st.integers(1, 4), st.integers(1, 3), st.integers(1, 5)))
    weights = draw(
        st.lists(st.integers(0, 20), min_size=int(np.prod(shape)), max_size=int(np.prod(shape)))
    )
    chances = np.array(weights, dtype=float).reshape(shape)
    chances[..., 0] += 1.0
    chances /= chances.sum(axis=-1, keepdims=True)
    remaining = draw(st.lists(st.floats(0, 3), min_size=shape[0], max_size=shape[0]))
    stretches = make_stretches(*["Isla"] * shape[1])
    return make_need(chances, remaining=remaining, stretches=stretches)


@st.composite
def terms_for(draw, need):
    count = len(need.stretches)
    costs = draw(st.lists(MONEY, min_size=count, max_size=count))
    prices = draw(st.lists(MONEY, min_size=count, max_size=count))
    return make_terms(
        count,
        floor=draw(st.integers(0, 6)),
        on_hand=draw(st.integers(0, 4)),
        credit=draw(st.floats(0.0, 100.0)),
        failing_cost=draw(MONEY),
        fitting_cost=draw(MONEY),
        shortage_costs=costs,
        restock_prices=prices,
        stops=draw(st.booleans()),
        bulky=draw(st.booleans()),
    )


@LAW
@given(st.data())
def test_more_spares_never_raise_the_chance_of_a_shortage(data):
    need = data.draw(needs())
    choices = list_choices(need, data.draw(terms_for(need)))
    by_kind = {}
    for choice in sorted(choices, key=lambda choice: choice.carry):
        by_kind.setdefault((choice.replace_now, choice.restock), []).append(choice)
    for row in by_kind.values():
        for fewer, more in pairwise(row):
            assert more.shortage_chance <= fewer.shortage_chance + 1e-12
            assert more.expected_shortages <= fewer.expected_shortages + 1e-12


@LAW
@given(st.data())
def test_every_choice_keeps_the_floor_and_chances_are_chances(data):
    need = data.draw(needs())
    terms = data.draw(terms_for(need))
    choices = list_choices(need, terms)
    assert choices
    for choice in choices:
        assert choice.carry >= terms.floor
        assert 0 <= choice.replace_now <= need.positions
        assert 0.0 <= choice.shortage_chance <= 1.0
        assert choice.expected_shortages >= -1e-12
        assert choice.shortage_chance <= choice.expected_shortages + 1e-9
        assert np.isfinite(choice.later_cost)


@LAW
@given(st.data())
def test_the_choice_that_needs_least_is_always_there(data):
    need = data.draw(needs())
    terms = data.draw(terms_for(need))
    fewest = min(choice.pieces for choice in list_choices(need, terms))
    assert fewest == terms.floor


@LAW
@given(st.data(), st.floats(0.0, 3000.0))
def test_dearer_failures_and_shortages_never_lower_the_cost_of_a_choice(data, more):
    need = data.draw(needs())
    cheap = data.draw(terms_for(need))
    dear = dataclasses.replace(
        cheap, failing_cost=cheap.failing_cost + more, shortage_costs=cheap.shortage_costs + more
    )

    def cost_by_key(terms):
        return {
            (choice.carry, choice.replace_now, choice.restock): choice.later_cost
            for choice in list_choices(need, terms)
        }

    before, after = cost_by_key(cheap), cost_by_key(dear)
    for key in before.keys() & after.keys():
        assert after[key] >= before[key] - 1e-9


@LAW
@given(st.data())
def test_no_choice_beats_another_in_everything(data):
    need = data.draw(needs())
    choices = list_choices(need, data.draw(terms_for(need)))
    criteria = [
        (choice.pieces, choice.carry, choice.later_cost, choice.shortage_chance)
        for choice in choices
    ]
    for i, one in enumerate(criteria):
        for j, other in enumerate(criteria):
            if i != j:
                assert any(a > b for a, b in zip(one, other, strict=True)) or one == other


@settings(LAW, max_examples=15)  # each reads a fleet
@given(
    price=st.floats(0.5, 500.0),
    usual=st.none() | st.floats(0.5, 500.0),
    pack=st.integers(1, 12),
    freight=st.floats(0.0, 50.0),
    duty=st.floats(0.0, 0.5),
    tax=st.floats(0.0, 0.3),
    rate=st.floats(0.2, 3.0),
    on_price=st.booleans(),
    carry_over=st.floats(0.0, 0.95),
)
def test_a_spare_left_over_is_worth_less_than_any_landed_cost(
    price, usual, pack, freight, duty, tax, rate, on_price, carry_over
):
    fleet = make_fleet(
        settings={"rates": {"USD": rate}, "carry_over": carry_over},
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[{"part": "seal", "price": usual, "kg": 0.3}],
        sources=[
            {
                "source": "Far",
                "kind": "mail",
                "lead_days": 5,
                "delivers_to": "Porto",
                "per_kg": freight,
                "duty": duty,
                "tax": tax,
                "duty_on": "price" if on_price else "landed",
                "currency": "USD",
            }
        ],
        prices=[{"source": "Far", "part": "seal", "price": price, "pack": pack}],
    )
    offers = price_offers(fleet)
    need = make_need([[[0.5, 0.5]]] * 2)
    (seal,) = weigh_choices(make_demand(need), offers, make_lives("Alba"), fleet).parts
    (offer,) = seal.offers
    assert offer.landed >= offer.price * (1 - 1e-12)
    assert seal.leftover < offer.landed
    assert seal.leftover <= carry_over * offers.price["seal"]
