"""Boats, parts, stock, offers and limits as the program sees them."""

from datetime import date

import numpy as np
import pytest
from builders import make_fleet
from choices_builders import (
    make_demand,
    make_lives,
    make_need,
    make_poisson_need,
    make_stretches,
)
from scipy.stats import gamma

from stockopt.choices.choices import BoatLimits
from stockopt.choices.weigh import weigh_choices
from stockopt.sourcing import USUAL_PRICE, price_offers

HALF = [[[0.5, 0.3, 0.2]]] * 2
FAR = {"source": "Far", "kind": "mail", "delivers_to": "Porto", "lead_days": 20}
SHOP = {"source": "Shop", "kind": "local", "delivers_to": "Porto"}
ALBA = {"boat": "Alba", "home_port": "Porto", "day_cost": 500}

IN_JUNE = make_stretches("Isla", departs_on=date(2031, 6, 1))


def weigh(*needs, lives=None, **tables):
    """Weigh the needs in a fleet with one seal at 100 and a port that asks twice as much."""
    fleet = make_fleet(
        **{
            "boats": [ALBA],
            "parts": [{"part": "seal", "price": 100, "kg": 0.2, "consequence": "stops"}],
            "ports": [{"port": "Isla", "price_factor": 2, "wait_days": 4}],
            "legs": [{"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": "Isla"}],
            **tables,
        }
    )
    demand = make_demand(*(needs or [make_need(HALF)]))
    return weigh_choices(demand, price_offers(fleet), lives or make_lives("Alba"), fleet)


def test_a_boat_and_part_by_hand():
    part = {
        "part": "seal",
        "name": "Seal, shaft",
        "price": 100,
        "kg": 0.2,
        "litres": 0.1,
        "failure_cost": 30,
        "days_to_fix": 1,
        "carry_at_least": 1,
    }
    need = make_need(HALF, failures=[0.6, 0.6], remaining=[0.4, 0.4])
    choices = weigh(
        need,
        parts=[part],
        stock=[{"place": "Alba", "part": "seal", "on_hand": 2}],
    )
    (seal,) = choices.parts
    assert (seal.boat, seal.part, seal.name) == ("Alba", "seal", "Seal, shaft")
    assert (seal.on_hand, seal.floor, seal.kg, seal.litres) == (2, 1, 0.2, 0.1)
    assert seal.stops
    assert seal.leftover == 50.0
    # failing: 30 and one day of 500; short: 200 at Isla and 5 + 4 days; of two spares one
    # stays ashore and half of the other is left
    one = next(c for c in seal.choices if (c.carry, c.replace_now) == (1, 0))
    failing = 0.6 * (30 + 500)
    short = 0.2 * (200 + 500 * 9)
    assert one.later_cost == pytest.approx(failing + short - 50 * (0.5 + 0.4 + 1 - 2))


def test_failing_cost_mixes_the_positions_consequences():
    need = make_need(HALF, consequence="limits", failure_shares=[0.0, 0.5, 0.5])
    (seal,) = weigh(need).parts
    none = next(c for c in seal.choices if c.carry == 0)
    # half a day to fix, shares 0.3 and 0.05; a shortage counts with the gravest, 0.3
    failing = 0.7 * 500 * 0.5 * (0.5 * 0.3 + 0.5 * 0.05)
    assert none.later_cost == pytest.approx(failing + 0.7 * (200 + 500 * 0.3 * 9))
    assert not seal.stops


@pytest.mark.parametrize(("late_days", "usable"), [(30, True), (30.5, False), (31, False)])
def test_an_offer_is_usable_when_even_late_it_arrives_by_the_departure(late_days, usable):
    # planned on 1 April, away on 1 May
    choices = weigh(
        sources=[{**FAR, "late_days": late_days}],
        prices=[{"source": "Far", "part": "seal", "price": 60}],
    )
    (seal,) = choices.parts
    assert [offer.source for offer in seal.offers] == (["Far"] if usable else [])
    # what a spare is worth at the end does not hang on the departure
    assert seal.leftover == 30.0


def test_offers_come_cheapest_first_and_from_the_home_port_only():
    choices = weigh(
        sources=[SHOP, FAR, {**SHOP, "source": "Isle", "delivers_to": "Isla"}],
        prices=[
            {"source": "Shop", "part": "seal", "price": 90},
            {"source": "Far", "part": "seal", "price": 60},
            {"source": "Isle", "part": "seal", "price": 10},
        ],
    )
    (seal,) = choices.parts
    assert [offer.source for offer in seal.offers] == ["Far", "Shop"]
    assert set(choices.charges) == {("Shop", "Alba"), ("Far", "Alba")}


def test_a_part_nobody_quotes_is_bought_at_its_usual_price():
    choices = weigh()
    assert [offer.source for offer in choices.parts[0].offers] == [USUAL_PRICE]
    assert choices.charges[USUAL_PRICE, "Alba"].per_order == 0.0


def test_limits_of_a_boat_with_and_without_a_store():
    choices = weigh(
        make_need(HALF),
        make_need(
            HALF, boat="Brisa", stretches=make_stretches("Isla", departs_on=date(2031, 6, 1))
        ),
        boats=[
            {**ALBA, "spares_kg": 120, "budget": 4000},
            {"boat": "Brisa", "home_port": "Porto", "store": "Shed", "spares_litres": 80},
        ],
        settings={"budget": 9000.0, "readiness": 0.95},
    )
    assert {boat: choices.boats[boat] for boat in choices.afloat} == {
        "Alba": BoatLimits(
            boat="Alba",
            place="Alba",
            departs_on=date(2031, 5, 1),
            kg=120.0,
            litres=None,
            budget=4000.0,
            harbour="Porto",
        ),
        "Brisa": BoatLimits(
            boat="Brisa",
            place="Shed",
            departs_on=date(2031, 6, 1),
            kg=None,
            litres=80.0,
            budget=None,
            harbour="Porto",
        ),
    }
    assert (choices.budget, choices.readiness) == (9000.0, 0.95)
    assert [(part.boat, part.part) for part in choices.parts] == [
        ("Alba", "seal"),
        ("Brisa", "seal"),
        ("Shed, shelf", "seal"),
    ]
    assert choices.boats["Shed, shelf"].shelf_of == "Shed"
    assert {place for _, place in choices.charges} == {"Alba", "Shed"}


def test_a_stores_stock_must_be_due_by_its_first_boat_and_keep_to_the_end_of_all_plans():
    boats = [{"boat": boat, "home_port": "Porto", "store": "Shed"} for boat in ("Alba", "Brisa")]
    choices = weigh(
        make_need(HALF),
        make_need(
            HALF, boat="Brisa", stretches=make_stretches("Isla", departs_on=date(2031, 6, 1))
        ),
        boats=boats,
        stock=[
            {"place": "Shed", "part": "seal", "on_hand": 1, "expires_on": "2031-06-10"},
            {"place": "Shed", "part": "seal", "on_hand": 2, "expires_on": "2031-06-11"},
            {"place": "Shed", "part": "seal", "on_order": 4, "due_on": "2031-05-01"},
            {"place": "Shed", "part": "seal", "on_order": 8, "due_on": "2031-05-02"},
            {"place": "Brisa", "part": "seal", "on_hand": 1},
        ],
    )
    assert choices.stock == {("Shed", "seal"): 6}
    afloat = [part for part in choices.parts if not choices.is_shelf(part.boat)]
    assert [part.on_hand for part in afloat] == [0, 1]
    assert len([note for note in choices.notes if note.table == "stock"]) == 2


def test_a_floor_that_nothing_can_cover_in_time_is_noted():
    late = {
        "parts": [{"part": "seal", "price": 100, "carry_at_least": 2}],
        "sources": [{**FAR, "late_days": 60}],
        "prices": [{"source": "Far", "part": "seal", "price": 60}],
    }
    (note,) = weigh(**late, stock=[{"place": "Alba", "part": "seal", "on_hand": 1}]).notes
    assert note.column == "carry_at_least"
    assert "Alba must carry 2 x seal, but 1 are in hand" in note.text
    assert weigh(**late, stock=[{"place": "Alba", "part": "seal", "on_hand": 2}]).notes == ()


def test_a_floor_is_covered_from_the_store_or_by_what_the_source_has():
    store = {"boats": [{**ALBA, "store": "Shed"}]}
    floor = {"parts": [{"part": "seal", "price": 100, "carry_at_least": 4}], "sources": [SHOP]}
    quote = {"source": "Shop", "part": "seal", "price": 60, "pack": 2, "most": 1}
    short = weigh(**floor, prices=[quote])
    enough = weigh(**floor, prices=[{**quote, "most": 2}])
    shed = weigh(
        **floor, **store, prices=[quote], stock=[{"place": "Shed", "part": "seal", "on_hand": 2}]
    )
    assert len(short.notes) == 1
    assert enough.notes == shed.notes == ()


def test_a_boat_with_parts_but_no_legs_is_noted():
    (note,) = weigh(lives=make_lives("Alba", "Brisa")).notes
    assert (note.table, note.text) == ("legs", "Brisa has no legs to come: not planned")


def test_a_store_of_boats_of_two_home_ports_is_noted_once():
    boats = [
        {"boat": boat, "home_port": port, "store": "Shed"}
        for boat, port in [("Alba", "Porto"), ("Brisa", "Rock"), ("Cala", "Rock")]
    ]
    needs = [make_need(HALF, boat=boat) for boat in ("Alba", "Brisa", "Cala")]
    choices = weigh(*needs, boats=boats)
    (note,) = choices.notes
    assert "Shed serves boats of several home ports" in note.text


def test_a_cheap_seal_that_stops_a_far_boat_is_worth_far_more_than_its_price():
    """Common practice, no source: insure against the dear stop even with no failure so far.

    No failure in 4,000 part-hours: the constant rate has a Gamma(1/2) posterior (Jeffreys),
    here on 20 points of equal weight.
    """
    rates = gamma.ppf((np.arange(20) + 0.5) / 20, 0.5) / 4000.0
    need = make_poisson_need(
        rates, np.full(20, 0.05), [400.0], stretches=make_stretches("Isla", days=20)
    )
    choices = weigh(
        need,
        boats=[{**ALBA, "day_cost": 800}],
        parts=[{"part": "seal", "price": 12, "consequence": "stops"}],
        ports=[{"port": "Isla", "price_factor": 3, "wait_days": 10}],
    )
    (seal,) = choices.parts
    costs = [c.later_cost for c in seal.choices if c.replace_now == 0]
    assert costs[0] - costs[1] > 20 * 12


def test_what_expires_under_way_is_told_and_its_leftovers_are_worth_nothing():
    part = {"part": "seal", "price": 100, "shelf_life_days": 40, "carry_at_least": 1}
    (seal,) = (
        choices := weigh(
            make_need(HALF, stretches=make_stretches("Isla", days=60.0)),
            parts=[part],
            stock=[
                {"place": "Alba", "part": "seal", "on_hand": 2, "expires_on": "2031-05-20"},
                {"place": "Alba", "part": "seal", "on_hand": 1, "expires_on": "2031-06-30"},
                {"place": "Alba", "part": "seal", "on_hand": 4, "expires_on": "2031-04-30"},
            ],
            settings={"planned_on": date(2031, 5, 1)},
        )
    ).parts
    # the plan ends on 30 June, a piece bought on 1 May keeps to 10 June
    assert (seal.on_hand, seal.expiring, seal.leftover) == (3, 2, 0.0)
    assert {choice.own_left for choice in seal.choices} <= {0, 2}
    assert any("keeps to 2031-06-10" in note.text for note in choices.notes)


def test_what_keeps_to_the_end_is_weighed_as_before():
    part = {"part": "seal", "price": 100, "kg": 0.2, "consequence": "stops"}
    stock = [{"place": "Alba", "part": "seal", "on_hand": 2, "expires_on": "2031-05-11"}]
    dated = weigh(parts=[{**part, "shelf_life_days": 400}], stock=stock)
    undated = weigh(parts=[part], stock=[{**stock[0], "expires_on": None}])
    assert dated.parts[0].choices == undated.parts[0].choices
    assert dated.parts[0].leftover == undated.parts[0].leftover > 0.0
