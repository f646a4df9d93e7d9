"""Legs written out, and cut at chances to restock."""

from datetime import date

import numpy as np
import pytest
from demand_builders import make_voyage

from stockopt.demand.stretches import (
    cut_legs,
    find_restocking,
    make_stretches,
    write_out_legs,
)

LEGS = [
    (date(2031, 5, 1), 10, "Isla", 40.0),
    (date(2031, 5, 11), 20, "Cabo", 90.0, {"chase_days": 4}),
    (date(2031, 6, 10), 7, "Porto", 14.0, {"times": 3}),
]


def write_out(legs, **tables):
    return write_out_legs(make_voyage({"seal": {}}, legs, **tables))["Alba"]


def test_a_repeat_departs_when_the_one_before_it_ends():
    voyage = write_out(LEGS)
    assert [leg.departs_on.isoformat() for leg in voyage.legs] == [
        "2031-05-01",
        "2031-05-11",
        "2031-06-10",
        "2031-06-17",
        "2031-06-24",
    ]
    assert [leg.to_port for leg in voyage.legs] == ["Isla", "Cabo", "Porto", "Porto", "Porto"]
    assert [leg.chase_days for leg in voyage.legs] == [None, 4.0, None, None, None]
    assert voyage.days_before == 30.0


def test_the_calendar_runs_in_port_and_the_meter_does_not():
    voyage = write_out(LEGS)
    assert voyage.running("port engine", "hours") == (40.0, 90.0, 14.0, 14.0, 14.0)
    # 11 May to 10 June is 30 days, 20 of them at sea.
    assert voyage.running("port engine", "days") == (10.0, 30.0, 7.0, 7.0, 7.0)


def test_hours_of_one_machine_hold_for_every_repeat():
    own = {"boat": "Alba", "departs_on": date(2031, 6, 10), "machine": "port engine", "hours": 9}
    voyage = write_out(LEGS, leg_hours=[own])
    assert voyage.running("port engine", "hours") == (40.0, 90.0, 9.0, 9.0, 9.0)
    assert voyage.running("starboard engine", "hours")[2:] == (14.0, 14.0, 14.0)


def test_part_days_repeat_without_drifting():
    voyage = write_out([(date(2031, 5, 1), 3.5, "Isla", 10.0, {"times": 4})])
    assert [leg.departs_on.day for leg in voyage.legs] == [1, 4, 8, 11]
    assert voyage.running("port engine", "days") == (3.5, 3.5, 3.5, 3.5)


@pytest.mark.parametrize(
    ("tables", "cuts"),
    [
        ({}, (5,)),
        (
            {"ports": [{"port": "Isla", "price_factor": 1.5}, {"port": "Cabo"}, {"port": "Porto"}]},
            (1, 5),
        ),
        (
            {
                "sources": [
                    {"source": "chandler", "kind": "local", "delivers_to": "Cabo"},
                    {"source": "post", "kind": "mail", "delivers_to": "Isla", "lead_days": 9},
                ],
                "prices": [
                    {"source": "chandler", "part": "seal", "price": 9},
                    {"source": "post", "part": "seal", "price": 5},
                ],
            },
            (2, 5),
        ),
        (
            {
                "sources": [{"source": "chandler", "kind": "local", "delivers_to": "Cabo"}],
                "prices": [{"source": "chandler", "part": "belt", "price": 9}],
            },
            (5,),
        ),
        ({"boats": [{"boat": "Alba", "home_port": "Porto", "store": "shed"}]}, (3, 4, 5)),
        ({"boats": [{"boat": "Alba", "home_port": "Porto"}]}, (5,)),
    ],
)
def test_legs_are_cut_where_the_part_can_be_had(tables, cuts):
    fleet = make_voyage({"seal": {}, "belt": {}}, LEGS, **tables)
    voyage = write_out_legs(fleet)["Alba"]
    assert cut_legs("Alba", "seal", voyage.legs, find_restocking(fleet)) == cuts


def test_leg_shares_are_shares_of_the_running_of_all_machines():
    voyage = write_out(LEGS)
    running = np.array([[40.0, 60.0, 0.0, 0.0, 0.0], [20.0, 30.0, 0.0, 0.0, 0.0]])
    first, last = make_stretches(voyage.legs, (2, 5), running, running)
    assert first.leg_shares == pytest.approx((0.4, 0.6))
    # Nothing runs: by days.
    assert last.leg_shares == pytest.approx((1 / 3, 1 / 3, 1 / 3))
    assert [len(stretch.legs) for stretch in (first, last)] == [2, 3]


def test_the_calendar_goes_on_in_port_and_meters_do_not():
    voyage = write_out([(date(2031, 5, 1), 10, "Isla", 40.0), (date(2031, 6, 10), 7, "Porto", 14)])
    for clock, expected in (("days", (10 / 40, 1.0)), ("hours", (1.0, 1.0))):
        running, under_way = (
            np.array([which("engine", clock)]) for which in (voyage.running, voyage.under_way)
        )
        (stretch,) = make_stretches(voyage.legs, (2,), running, under_way)
        assert stretch.sea_shares == pytest.approx(expected)
