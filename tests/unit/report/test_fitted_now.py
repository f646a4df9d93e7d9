"""The oldest piece of each part, and its chance of failing."""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from builders import make_fleet
from report_builders import make_positions, make_run

from stockopt.ageing.outlook import chance_of_failing
from stockopt.demand.stretches import write_out_legs
from stockopt.report.fitted_now import chance_on_plan, find_oldest, oldest_first


def with_positions(places):
    run = make_run()
    return replace(run, lives=replace(run.lives, positions=places))


def test_the_piece_seen_to_run_longest():
    found = find_oldest(make_run())
    assert set(found) == {"IMP-1", "SEAL-7"}
    seal = found["SEAL-7"]
    assert (seal.boat, seal.machine, seal.slot) == ("Osprey / west", "port engine", None)
    assert (seal.age, seal.age_known, seal.span) == (512.0, True, 100.0)
    assert seal.where == "Osprey / west, port engine"
    assert seal.age_words == "512 h"


def test_of_two_seen_equally_long_the_one_of_unknown_age():
    places = make_positions().iloc[1:].copy()
    places["age_at_least"] = 498.0
    places["age"] = [498.0, np.nan, 498.0]
    seal = find_oldest(with_positions(places))["SEAL-7"]
    assert seal.where == "Osprey / west, starboard engine no. 1"
    assert seal.age_words == "at least 498 h"
    nodes = make_run().ageing.parts["SEAL-7"].nodes
    chance = chance_of_failing(nodes, 498.0, 100.0, age_known=False, factor=0.7)
    assert seal.chance == pytest.approx(chance)


def test_a_boat_that_no_factor_is_known_of():
    run = make_run()
    run = replace(run, ageing=replace(run.ageing, boat_factors={}))
    hazard = (520**2 - 420**2) / 700**2
    assert find_oldest(run)["IMP-1"].chance == pytest.approx(1 - math.exp(-hazard))


def test_replaced_first_are_unknown_ages_then_the_oldest():
    seals = make_positions().iloc[1:]
    assert [place["age_at_least"] for place in oldest_first(seals)] == [498.0, 512.0, 30.0]


@pytest.mark.parametrize(("clock", "now", "later"), [("hours", 420, 480), ("days", 452, 473)])
def test_the_chance_on_the_plan_is_from_departure_to_the_end(clock, now, later):
    """By the calendar a piece ages in port too, and the wait of 32 days makes it older."""
    run = make_run()
    legs = [
        {
            "boat": "Heron",
            "departs_on": date(2031, 5, 3),
            "days": 7,
            "hours": 20,
            "times": 3,
            "to_port": "Amber",
        }
    ]
    voyage = write_out_legs(make_fleet(legs=legs))["Heron"]
    place = {**make_positions().iloc[0].to_dict(), "clock": clock}
    chance = 1 - math.exp(-1.4 * (later**2 - now**2) / 700**2)
    assert chance_on_plan(place, voyage, run.ageing) == pytest.approx(chance)
