"""Offers without some sources: nothing becomes cheaper or quicker."""

import pytest
from builders import make_fleet

from stockopt.choices.withdrawn import withdraw_sources
from stockopt.sourcing import DEFAULT_WAIT_DAYS, USUAL_PRICE, price_offers

PARTS = [
    {"part": "seal", "price": 20},
    {"part": "belt", "price": 5},
    {"part": "lamp", "price": 30},
    {"part": "rare"},
]
SOURCES = [
    {"source": "Quay", "kind": "local", "delivers_to": "Hafen", "late_days": 1},
    {"source": "Dock", "kind": "local", "delivers_to": "Hafen", "late_days": 2},
    {"source": "Post", "kind": "mail", "delivers_to": "Hafen", "lead_days": 9, "per_order": 8},
    {"source": "Isla Shop", "kind": "local", "delivers_to": "Isla", "late_days": 3},
]
PRICES = [
    {"source": "Quay", "part": "seal", "price": 40},
    {"source": "Dock", "part": "seal", "price": 44},
    {"source": "Post", "part": "seal", "price": 12},
    {"source": "Post", "part": "rare", "price": 90},
    {"source": "Quay", "part": "belt", "price": 11},
    {"source": "Isla Shop", "part": "seal", "price": 10},
]


@pytest.fixture
def fleet():
    return make_fleet(
        boats=[{"boat": "Alba", "home_port": "Hafen"}],
        machines=[{"boat": "Alba", "machine": "engine", "model": "M"}],
        parts=PARTS,
        sources=SOURCES,
        prices=PRICES,
        ports=[{"port": "Far", "price_factor": 2, "wait_days": 4}],
        legs=[
            {"boat": "Alba", "departs_on": f"2031-05-{day:02}", "days": 2, "to_port": port}
            for day, port in ((1, "Isla"), (4, "Far"), (10, "Hafen"))
        ],
    )


def test_without_nothing_nothing_changes(fleet):
    offers = price_offers(fleet)
    assert withdraw_sources(offers, fleet, ()) is offers
    assert withdraw_sources(offers, fleet, {"nobody"}) == offers


def test_its_offers_and_charges_are_gone_and_the_others_stay(fleet):
    offers = price_offers(fleet)
    left = withdraw_sources(offers, fleet, {"Post"})
    assert [o.source for o in left.offers["Hafen", "seal"]] == ["Quay", "Dock"]
    assert ("Post", "Hafen") not in left.charges
    assert ("Quay", "Hafen") in left.charges
    assert left.offers["Hafen", "lamp"][0].source == USUAL_PRICE
    assert left.price == offers.price


def test_the_usual_price_does_not_take_its_place(fleet):
    left = withdraw_sources(price_offers(fleet), fleet, {"Quay", "Post"})
    assert ("Hafen", "belt") not in left.offers
    assert ("Hafen", "belt") not in left.at_port
    assert ("Hafen", "rare") not in left.offers


def test_on_the_way_the_next_source_is_asked_and_never_less(fleet):
    offers = price_offers(fleet)
    assert offers.at_port["Hafen", "seal"].price == 40
    assert offers.at_port["Far", "seal"].price == 20  # twice the cheapest quote, in Isla
    left = withdraw_sources(offers, fleet, {"Quay", "Isla Shop"})
    assert left.at_port["Hafen", "seal"].price == 44
    assert left.at_port["Far", "seal"].price == 24
    assert ("Isla", "seal") not in left.at_port  # no other shop there, and no factor
    cheapest_gone = withdraw_sources(offers, fleet, {"Post", "Quay", "Dock", "Isla Shop"})
    assert cheapest_gone.at_port["Far", "seal"].price == 40  # twice the usual price
    assert cheapest_gone.at_port["Far", "belt"].price == 22  # the usual price is less: as before


@pytest.mark.parametrize("gone", [{"Quay"}, {"Post"}, {"Isla Shop", "Dock"}, set("x")])
def test_nothing_is_cheaper_or_quicker(fleet, gone):
    offers = price_offers(fleet)
    left = withdraw_sources(offers, fleet, gone)
    for key, there in left.offers.items():
        assert set(there) <= set(offers.offers[key])
    for key, there in left.at_port.items():
        assert there.price >= offers.at_port[key].price
    for port, days in left.wait_days.items():
        assert days >= offers.wait_days[port]
    assert set(left.at_port) <= set(offers.at_port)


def test_waits_are_those_of_the_quickest_source_left(fleet):
    offers = price_offers(fleet)
    assert offers.wait_days["Isla"] == 3
    assert withdraw_sources(offers, fleet, {"Quay"}).wait_days["Hafen"] == 2
    left = withdraw_sources(offers, fleet, {"Isla Shop"})
    assert left.wait_days["Isla"] == DEFAULT_WAIT_DAYS
    assert left.wait_days["Far"] == 4
