"""The plan's lines and totals, worked by hand."""

from dataclasses import replace
from datetime import date

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part, plan_of

from stockopt.errors import Note
from stockopt.program.solve import solve_program
from stockopt.sourcing import Charges

MAIL = Charges(per_order=12.0, handling=3.0, free_freight_from=None, minimum_order=None)


def plan_for(choices):
    return plan_of(solve_program(choices, gap=0.0, seconds=30.0), choices)


@pytest.fixture
def base():
    """Two boats at a store; one piece in the store, the others by mail in packs of 3."""
    mail = make_offer(landed=10.0, price=8.0, source="mail", kind="mail", pack=3, late_days=6.2)
    first = make_part(
        make_choice(
            2, 40.0, replace_now=1, restock=True, shortage_chance=0.1, expected_shortages=0.2
        ),
        boat="Alba",
        name="Shaft seal",
        on_hand=1,
        floor=1,
        kg=0.5,
        litres=0.25,
        stops=True,
        leftover=4.0,
        offers=(mail,),
    )
    second = replace(
        first, boat="Bora", choices=(make_choice(3, 30.0, shortage_chance=0.3),), on_hand=0
    )
    return make_choices(
        first,
        second,
        limits={
            "Alba": {"place": "store", "departs_on": date(2031, 5, 20), "kg": 9.0},
            "Bora": {"place": "store", "departs_on": date(2031, 5, 10), "budget": 99.0},
        },
        charges={("mail", "store"): MAIL},
        stock={("store", "seal"): 1},
        notes=(Note(table="parts", text="a note"),),
    )


def test_costs_add_up(base):
    # Wanted: 2 for Alba beside her own, 3 for Bora; 1 from the store, so 4 of 6 bought pieces.
    cost = plan_for(base).cost
    assert cost.spend_now == pytest.approx(6 * 10.0 + 12.0 + 3.0)
    assert cost.expected_later == pytest.approx(40.0 + 30.0 + 4.0 - 2 * 4.0)
    assert cost.total == pytest.approx(cost.spend_now + cost.expected_later)


def test_carry_lines_tell_what_goes_aboard(base):
    alba, bora = plan_for(base).carry
    assert (alba.on_hand, alba.carry, alba.replace_now, alba.restock) == (1, 2, 1, True)
    assert (alba.name, alba.floor, alba.kg, alba.litres) == ("Shaft seal", 1, 1.0, 0.5)
    assert alba.buy + alba.moved == 2
    assert bora.buy + bora.moved == 3
    assert alba.moved + bora.moved == 1
    assert (alba.shortage_chance, alba.expected_shortages, alba.expected_cost) == (0.1, 0.2, 40.0)


def test_order_is_placed_for_the_first_boat_that_waits(base):
    (line,) = plan_for(base).orders
    assert (line.source, line.kind, line.place, line.packs, line.pieces) == (
        "mail",
        "mail",
        "store",
        2,
        6,
    )
    assert (line.price, line.landed, line.name) == (8.0, 10.0, "Shaft seal")
    assert line.arrives_by == date(2031, 5, 10)
    assert line.order_by == date(2031, 5, 3)  # 6.2 days are 7


def test_lines_of_one_order_have_one_date():
    early = make_part(make_choice(1), boat="Alba", offers=(make_offer(late_days=4.0),))
    late = make_part(
        make_choice(1), boat="Bora", part="belt", offers=(make_offer("belt", late_days=4.0),)
    )
    limits = {
        "Alba": {"place": "store", "departs_on": date(2031, 5, 6)},
        "Bora": {"place": "store", "departs_on": date(2031, 5, 26)},
    }
    plan = plan_for(make_choices(early, late, limits=limits))
    assert {line.order_by for line in plan.orders} == {date(2031, 5, 2)}
    apart = make_choices(early, late, limits={b: {**r, "place": b} for b, r in limits.items()})
    dates = {line.place: line.order_by for line in plan_for(apart).orders}
    assert dates == {"Alba": date(2031, 5, 2), "Bora": date(2031, 5, 22)}


def test_charges_stand_once_for_each_order(base):
    (charge,) = plan_for(base).charges
    assert (charge.source, charge.place, charge.freight, charge.handling) == (
        "mail",
        "store",
        12.0,
        3.0,
    )


def test_free_freight_is_free(base):
    order = replace(MAIL, free_freight_from=48.0)
    (charge,) = plan_for(replace(base, charges={("mail", "store"): order})).charges
    assert (charge.freight, charge.handling) == (0.0, 3.0)


def test_boat_lines_total_her_own(base):
    alba, bora = plan_for(base).boats
    assert (alba.kg, alba.kg_limit, alba.litres, alba.litres_limit) == (1.0, 9.0, 0.5, None)
    assert (alba.readiness, bora.readiness) == pytest.approx((0.9, 0.7))
    assert (bora.budget, bora.departs_on) == (99.0, date(2031, 5, 10))
    assert alba.spend_now + bora.spend_now == pytest.approx(4 * 10.0)


def test_boat_alone_pays_packs_and_charges():
    offers = (make_offer(landed=10.0, pack=3, source="mail"),)
    part = make_part(make_choice(1), offers=offers)
    (boat,) = plan_for(make_choices(part, charges={("mail", "Alba"): MAIL})).boats
    assert boat.spend_now == pytest.approx(30.0 + 15.0)


def test_notes_and_names_come_along(base):
    plan = plan_for(base)
    assert plan.notes == (Note(table="parts", text="a note"),)
    assert (plan.fleet, plan.currency, plan.status) == ("test", "EUR", "optimal")
