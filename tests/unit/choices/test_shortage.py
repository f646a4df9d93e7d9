"""Days lost, pieces at the next port, restocking: worked by hand."""

import math
from datetime import date

import pytest
from builders import make_fleet
from choices_builders import make_stretches

from stockopt.choices.shortage import (
    FIRST_FILL_RATE,
    Base,
    find_days_lost,
    find_restock_prices,
    find_short_prices,
    find_shortage_costs,
    find_store_price,
)
from stockopt.demand.demand import Leg, Stretch
from stockopt.sourcing import price_offers

AT_SEA = Base(port="Porto", has_store=False)
IN_CHARTER = Base(port="Porto", has_store=True)


@pytest.fixture
def offers():
    """Porto: by mail 40, late 12 days; a dear shop 90, at once. Isla: twice 40, 4 days' wait."""
    return price_offers(
        make_fleet(
            boats=[{"boat": "Alba", "home_port": "Porto"}],
            parts=[{"part": "seal", "price": 60}],
            sources=[
                {
                    "source": "Far",
                    "kind": "mail",
                    "delivers_to": "Porto",
                    "lead_days": 8,
                    "late_days": 12,
                },
                {"source": "Shop", "kind": "local", "delivers_to": "Porto", "late_days": 1},
            ],
            prices=[
                {"source": "Far", "part": "seal", "price": 40},
                {"source": "Shop", "part": "seal", "price": 90},
            ],
            ports=[
                {"port": "Isla", "price_factor": 2, "wait_days": 4},
                {"port": "Rock", "wait_days": 20},
            ],
            legs=[
                {"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": port}
                for port in ("Isla",)
            ]
            + [
                {"boat": "Alba", "departs_on": "2031-06-01", "days": 10, "to_port": "Rock"},
                {"boat": "Alba", "departs_on": "2031-07-01", "days": 10, "to_port": "Porto"},
            ],
        )
    )


def test_out_of_reach_half_the_leg_and_the_wait_are_lost(offers):
    stretches = make_stretches("Isla", days=10)
    assert find_days_lost(stretches, "seal", AT_SEA, offers) == pytest.approx([5 + 4])


def test_in_reach_the_chase_and_for_some_pieces_the_quickest_source(offers):
    stretches = make_stretches("Isla", days=10, chase_days=0.5)
    expected = 0.5 + (1 - FIRST_FILL_RATE) * 1
    assert find_days_lost(stretches, "seal", IN_CHARTER, offers) == pytest.approx([expected])


def test_in_reach_a_part_nobody_sells_waits_as_long_as_the_home_port(offers):
    stretches = make_stretches("Isla", days=10, chase_days=0.5)
    expected = 0.5 + (1 - FIRST_FILL_RATE) * offers.wait_days["Porto"]
    assert find_days_lost(stretches, "odd", IN_CHARTER, offers) == pytest.approx([expected])


def test_legs_of_a_stretch_count_by_their_share_of_the_running(offers):
    legs = (
        Leg(departs_on=date(2031, 5, 1), days=8.0, to_port="Rock", chase_days=None),
        Leg(departs_on=date(2031, 5, 9), days=6.0, to_port="Isla", chase_days=None),
    )
    stretches = (Stretch(legs=legs, leg_shares=(0.25, 0.75)),)
    expected = 0.25 * (4 + 20) + 0.75 * (3 + 4)
    assert find_days_lost(stretches, "seal", AT_SEA, offers) == pytest.approx([expected])


def test_what_fails_in_port_waits_there_and_loses_no_half_leg(offers):
    legs = (Leg(departs_on=date(2031, 5, 1), days=8.0, to_port="Isla", chase_days=None),)
    stretches = (Stretch(legs=legs, leg_shares=(1.0,), sea_shares=(0.25,)),)
    expected = 0.25 * 4 + 4
    assert find_days_lost(stretches, "seal", AT_SEA, offers) == pytest.approx([expected])


def test_restocking_costs_what_the_port_asks_and_at_a_store_the_cheapest_offer(offers):
    stretches = make_stretches("Isla", "Rock", "Porto")
    at_sea = find_restock_prices(stretches, "seal", AT_SEA, offers)
    in_charter = find_restock_prices(stretches, "seal", IN_CHARTER, offers)
    assert at_sea.tolist() == pytest.approx([80.0, math.nan, 90.0], nan_ok=True)
    assert in_charter.tolist() == pytest.approx([80.0, math.nan, 40.0], nan_ok=True)


def test_a_piece_short_costs_the_piece_and_the_days(offers):
    stretches = make_stretches("Isla", "Rock", days=10)
    at_end = find_restock_prices(stretches, "seal", AT_SEA, offers)
    prices = find_short_prices(stretches, at_end, dearest=90, store_price=None)
    days = find_days_lost(stretches, "seal", AT_SEA, offers)
    costs = find_shortage_costs(prices, days, lost_day=300)
    assert costs.tolist() == pytest.approx([80 + 300 * 9, 90 + 300 * 25])


def test_a_piece_short_is_paid_to_the_store_only_where_the_store_reaches_her(offers):
    """Wherever the stretch ends: of a piece got at home after a passage the store tells nothing."""
    legs = (
        Leg(departs_on=date(2031, 5, 1), days=8.0, to_port="Rock", chase_days=None),
        Leg(departs_on=date(2031, 5, 9), days=6.0, to_port="Porto", chase_days=1.0),
    )
    passage = make_stretches("Porto", days=10)
    week = make_stretches("Isla", days=7, chase_days=0.5)
    both = (Stretch(legs=legs, leg_shares=(0.25, 0.75)),)
    stretches = (*passage, *week, *both)
    at_end = find_restock_prices(stretches, "seal", IN_CHARTER, offers)
    assert at_end.tolist() == [40, 80, 40]
    store_price = find_store_price("seal", IN_CHARTER, offers, 65.0)
    prices = find_short_prices(stretches, at_end, dearest=90, store_price=store_price)
    assert prices.tolist() == pytest.approx([40, 65, 0.25 * 40 + 0.75 * 65])


def test_the_store_s_price_is_its_own_then_its_ports_and_none_without_a_store(offers):
    assert find_store_price("seal", IN_CHARTER, offers, 65.0) == 65.0
    assert find_store_price("seal", IN_CHARTER, offers, None) == 40
    assert find_store_price("seal", AT_SEA, offers, 65.0) is None
    assert find_store_price("odd", IN_CHARTER, offers, 65.0) is None
