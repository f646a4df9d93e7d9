"""The season that was, from the days and the meters."""

from datetime import date, timedelta

import pytest
from builders import PLANNED_ON, make_fleet
from lookback_builders import BEGUN, SINCE, make_past, on, usual_tables

from stockopt.demand.stretches import write_out_legs
from stockopt.errors import CommandError
from stockopt.lookback.season import find_until


def machines(*rows):
    return [
        {"boat": "Alba", "machine": "engine", "model": "M", "fitted_on": BEGUN},
        *({"machine": "engine", "model": "M"} | row for row in rows),
    ]


def readings(boat, *pairs):
    return [
        {"boat": boat, "machine": "engine", "read_on": day, "hours": hours} for day, hours in pairs
    ]


def test_legs_are_as_long_as_those_to_come_and_run_what_the_meter_showed():
    _, past = make_past()
    voyage = write_out_legs(past.fleet)["Alba"]
    assert len(voyage.legs) == 9
    assert voyage.legs[0].departs_on == SINCE
    assert voyage.days_before == 0.0
    assert {leg.to_port for leg in voyage.legs} == {"Isla"}
    assert sum(voyage.days) == pytest.approx(90.0)
    assert sum(voyage.running("engine", "hours")) == pytest.approx(900.0)


def test_a_leg_that_does_not_go_up_is_stretched_to_fill_the_season():
    legs = [{"boat": "Alba", "departs_on": PLANNED_ON, "days": 40, "to_port": "Isla"}]
    _, past = make_past(legs=legs)
    assert write_out_legs(past.fleet)["Alba"].days == (45.0, 45.0)


def test_orders_are_in_time_and_no_stock_is_there():
    sources = [{"source": "Far", "kind": "mail", "delivers_to": "Porto"}]
    sources[0] |= {"lead_days": 9, "late_days": 18.5}
    stock = [{"place": "Alba", "part": "seal", "on_hand": 3}]
    _, past = make_past(sources=sources, stock=stock)
    assert past.fleet.settings.planned_on == SINCE
    assert past.ordered.settings.planned_on == SINCE - timedelta(days=19)
    assert past.fleet.stock.empty


def test_a_boat_that_joined_later_is_left_out_and_one_sold_ends_early():
    boats = [
        {"boat": "Alba", "home_port": "Porto", "day_cost": 100, "left_on": on(30)},
        {"boat": "Brisa", "home_port": "Porto", "day_cost": 100, "joined_on": on(10)},
    ]
    tables = {
        "boats": boats,
        "machines": machines({"boat": "Brisa", "fitted_on": on(10)}),
        "readings": readings("Alba", (BEGUN, 0), (SINCE, 2000), (on(30), 2300))
        + readings("Brisa", (on(10), 0), (PLANNED_ON, 500)),
        "legs": [{"boat": "Brisa", "departs_on": PLANNED_ON, "days": 10, "to_port": "Isla"}],
    }
    _, past = make_past(**tables)
    voyages = write_out_legs(past.fleet)
    assert set(voyages) == {"Alba"}
    assert sum(voyages["Alba"].days) == pytest.approx(30.0)
    assert sum(voyages["Alba"].running("engine", "hours")) == pytest.approx(300.0)
    # She has no leg to come: as long as those of the fleet, ending at home.
    assert {leg.to_port for leg in voyages["Alba"].legs} == {"Porto"}
    assert any("Brisa has no record" in note.text for note in past.notes)
    assert any("Alba left on" in note.text for note in past.notes)


def test_a_machine_replaced_whole_runs_until_then():
    swapped = {"boat": "Alba", "fitted_on": on(40), "hours_at_fitting": 0}
    seen = readings("Alba", (BEGUN, 0), (SINCE, 2000), (on(39), 2390), (PLANNED_ON, 500))
    _, past = make_past(machines=machines(swapped), readings=seen)
    assert past.meters["Alba", "engine"].last == past.begins + 40
    assert past.meters["Alba", "engine"].run(past.begins, past.begins + 90) == pytest.approx(400.0)
    assert any("replaced whole" in note.text for note in past.notes)


@pytest.mark.parametrize(
    ("since", "until", "words"),
    [
        (date(2020, 1, 1), None, "the first record is of"),
        (PLANNED_ON, None, "the last record is of"),
        (SINCE, SINCE, "is not after"),
    ],
)
def test_a_day_with_nothing_on_one_side_is_refused(since, until, words):
    with pytest.raises(CommandError, match=words):
        find_until(make_fleet(**usual_tables()), since, until)


def test_a_season_is_a_year_or_as_long_as_there_are_records():
    now = make_fleet(**usual_tables())
    assert find_until(now, SINCE, None) == PLANNED_ON
    assert find_until(now, BEGUN, None) == PLANNED_ON
    assert find_until(now, SINCE, on(20)) == on(20)
    long = make_fleet(
        **usual_tables(readings=readings("Alba", (date(2025, 1, 1), 0), (PLANNED_ON, 900)))
    )
    assert find_until(long, date(2026, 1, 1), None) == date(2027, 1, 1)


def test_no_boat_there_is_refused():
    with pytest.raises(CommandError, match="no boat has a record"):
        make_past(since=on(5), readings=readings("Alba", (on(6), 0), (PLANNED_ON, 900)))


def test_a_fleet_that_plans_no_legs_sailed_by_the_week_and_came_home():
    _, past = make_past(legs=[])
    (leg, *_), days = (voyage := write_out_legs(past.fleet)["Alba"]).legs, voyage.days
    assert len(days) == round(90 / 7)
    assert (leg.to_port, leg.chase_days) == ("Porto", None)
