"""What is still to be filled in before there is anything to plan: all of it at once."""

from datetime import date

from builders import make_fleet

from stockopt.fleet.unfilled import find_unfilled

FULL = {
    "machines": [{"boat": "Alba", "machine": "engine", "model": "M", "fitted_on": "2030-01-01"}],
    "parts": [{"part": "seal", "clock": "days", "price": 25}],
    "fitted": [{"model": "M", "part": "seal"}],
    "legs": [{"boat": "Alba", "departs_on": "2031-05-01", "days": 7, "to_port": "Bay"}],
}
SETTINGS = {"planned_on": date(2031, 4, 1)}


def unfilled(**tables):
    return [str(one) for one in find_unfilled(make_fleet(settings=SETTINGS, **tables))]


def test_nothing_is_asked_of_full_tables():
    assert unfilled(**FULL) == []


def test_all_that_is_empty_is_told_at_once():
    assert [line.split(":")[0] for line in unfilled()] == [
        "boats",
        "machines",
        "parts",
        "fitted",
        "legs, column departs_on",
    ]


def test_a_leg_that_is_past_is_none_to_plan():
    past = [FULL["legs"][0] | {"departs_on": "2031-03-01"}]
    (line,) = unfilled(**FULL | {"legs": past})
    assert line.startswith(
        "legs, column departs_on: no leg departs on 2031-04-01, the day of the plan, or later"
    )
