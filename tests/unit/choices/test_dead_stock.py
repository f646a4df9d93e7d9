"""Stock that nothing is likely to need: the rule, place by place."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from builders import make_fleet
from choices_builders import make_demand, make_poisson_need, make_stretches
from scipy.stats import poisson

from stockopt.choices.choices import BoatLimits
from stockopt.choices.dead_stock import find_most_needed, list_dead_stock
from stockopt.demand.demand import LIFE_CLASSES

BOATS = [
    {"boat": "Alba", "store": "Shed"},
    {"boat": "Brisa", "store": "Shed"},
    {"boat": "Sold", "left_on": "2030-12-31"},
]
LIMITS = {
    boat: BoatLimits(
        boat=boat,
        place="Shed",
        departs_on=date(2031, 5, 1),
        kg=None,
        litres=None,
        budget=None,
        harbour="",
    )
    for boat in ("Alba", "Brisa")
}


def need_of(boat, mean=0.5):
    """Return a season of 73 days with a need of so many pieces, for certain at random."""
    stretches = make_stretches("Porto", days=73)
    return make_poisson_need([mean], [1.0], [1.0], boat=boat, stretches=stretches)


def list_dead(stock, *needs, legs=("Alba", "Brisa"), **tables):
    fleet = make_fleet(
        boats=BOATS,
        machines=[
            {"boat": "Alba", "machine": "engine", "model": "M"},
            {"boat": "Brisa", "machine": "engine", "model": "M"},
            {"boat": "Sold", "machine": "heater", "model": "H"},
        ],
        parts=[
            {"part": "seal", "price": 40, "clock": "days", **tables.pop("seal", {})},
            {"part": "wick", "price": 7, "clock": "days"},
            {"part": "oar", "price": 25, "clock": "days"},
        ],
        fitted=[{"model": "M", "part": "seal"}, {"model": "H", "part": "wick"}],
        stock=stock,
        **tables,
    )
    demand = make_demand(*(needs or [need_of(boat) for boat in legs]))
    return list_dead_stock(demand, fleet, LIMITS, {"seal": 40.0, "wick": 7.0, "oar": 25.0})


def row(place, on_hand, part="seal", **more):
    return {"place": place, "part": part, "on_hand": on_hand, **more}


def test_what_no_machine_uses_is_dead_whole():
    dead = list_dead([row("Shed", 3, "oar"), row("Alba", 2, "wick")])
    assert [(d.place, d.part, d.pieces, d.money, d.why) for d in dead] == [
        ("Alba", "wick", 2, 14.0, "no machine uses it"),
        ("Shed", "oar", 3, 75.0, "no machine uses it"),
    ]


def test_what_is_used_up_with_a_fitted_part_is_in_use():
    used_with = [{"part": "oar", "with_part": "seal"}]
    assert list_dead([row("Shed", 3, "oar")], used_with=used_with) == ()


def test_what_is_out_of_date_is_dead():
    (dead,) = list_dead([row("Shed", 1, expires_on="2031-03-31"), row("Shed", 1)])
    assert (dead.pieces, dead.money) == (1, 40.0)
    assert dead.why == "out of date since 2031-03-31"


def test_what_goes_beyond_the_need_of_the_plan_and_a_year():
    # two boats, 0.5 pieces each in 73 days: 6 pieces in that time and a year, exceeded 1 in 100
    most = int(poisson.ppf(0.99, 2 * 0.5 * (1 + 365 / 73)))
    (dead,) = list_dead([row("Shed", most + 2), row("Alba", 1)])
    assert (dead.place, dead.pieces) == ("Shed", 3)
    assert dead.why == f"over {most}, all needed in this plan and a year"
    assert list_dead([row("Shed", most - 1), row("Alba", 1)]) == ()


def test_a_store_s_surplus_is_named_before_the_boats():
    most = int(poisson.ppf(0.99, 6.0))
    dead = list_dead([row("Shed", 1), row("Brisa", most), row("Alba", 3)])
    assert [(d.place, d.pieces) for d in dead] == [("Alba", 3), ("Shed", 1)]


def test_what_must_be_carried_is_never_surplus():
    most = int(poisson.ppf(0.99, 6.0))
    stock = [row("Shed", most + 4)]
    assert list_dead(stock, seal={"carry_at_least": 2}) == ()


def test_nothing_is_said_of_too_many_where_a_boat_that_uses_it_has_no_legs():
    assert list_dead([row("Shed", 99)], need_of("Alba")) == ()


def test_the_need_is_mixed_over_what_is_not_known_of_lives():
    by_class = np.array([0.1, 0.2, 0.5, 1.0, 3.0, 8.0])
    need = replace(need_of("Alba"), by_class=by_class)
    most = find_most_needed([need])
    means = by_class * (1 + 365 / 73)
    chance = float(np.array(LIFE_CLASSES) @ poisson.sf(most, means))
    assert chance <= 0.01 < float(np.array(LIFE_CLASSES) @ poisson.sf(most - 1, means))


@pytest.mark.parametrize("pieces", [0, 1])
def test_no_stock_no_dead_stock(pieces):
    assert list_dead([row("Shed", pieces)]) == ()
