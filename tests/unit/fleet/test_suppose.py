"""What is supposed for one plan: names compared with the tables, legs moved."""

from datetime import date

import pandas as pd
import pytest
from builders import make_fleet
from fleet_builders import SETTINGS, sound_tables

from stockopt.errors import CommandError
from stockopt.fleet.suppose import suppose
from stockopt.fleet.what_if import Wanted, WhatIf


def sound_fleet(**changes):
    return make_fleet(settings=SETTINGS, **{**sound_tables(), **changes})


def wrong_of(fleet=None, **wanted):
    with pytest.raises(CommandError) as caught:
        suppose(Wanted(**wanted), fleet or sound_fleet())
    assert caught.value.exit_code == 2
    return list(caught.value.wrong)


def legs_of(fleet, boat):
    rows = fleet.legs[fleet.legs["boat"] == boat]
    return [day.date() for day in rows["departs_on"]]


def test_nothing_supposed_is_the_same_fleet():
    fleet = sound_fleet()
    what_if, same = suppose(Wanted(), fleet)
    assert what_if == WhatIf()
    assert what_if.list_options() == ()
    assert same is fleet


def test_names_are_taken_in_any_capitals_and_by_other_numbers():
    what_if, _ = suppose(
        Wanted(
            without=("quay", "POST ", "Quay"),
            departs=(("alba", date(2031, 5, 8)),),
            rates=(("SEVEN", 1.5),),
            pins=(("BRISA:b-2", 3),),
        ),
        sound_fleet(),
    )
    assert what_if == WhatIf(
        without=("Quay", "Post"),
        departs={"Alba": date(2031, 5, 8)},
        rates={"007": 1.5},
        pins={("Brisa", "B-2"): 3},
    )
    assert [text for _, _, text in what_if.list_options()] == [
        "nothing from Post",
        "nothing from Quay",
        "Alba departs on 2031-05-08, her later legs follow",
        "007 fails 1.5 times as often at every age",
        "Brisa carries exactly 3 x B-2",
    ]


def test_every_unknown_name_is_told_with_the_nearest():
    assert wrong_of(
        without=("Quai",),
        departs=(("Albaa", date(2031, 5, 8)),),
        rates=(("B2", 2.0),),
        pins=(("Brissa:B-2", 1), ("Alba:zzz", 1)),
    ) == [
        "--without: there is no source 'Quai': is 'Quay' meant?",
        "--departs: there is no boat 'Albaa': is 'Alba' meant?",
        "--rate: there is no part 'B2': is 'B-2' meant?",
        "--pin: there is no boat 'Brissa': is 'Brisa' meant?",
        "--pin: there is no part 'zzz'; there are 007, B-2, G-3",
    ]


def test_the_same_asked_twice_with_two_values_is_wrong_but_not_with_one():
    day = date(2031, 5, 8)
    suppose(Wanted(departs=(("Alba", day), ("alba", day))), sound_fleet())
    assert wrong_of(
        rates=(("007", 2.0), ("seven", 3.0)), pins=(("Alba:B-2", 1), ("alba:b-2", 2))
    ) == [
        "--rate: 007 is asked twice: 2.0 and 3.0",
        "--pin: Alba:B-2 is asked twice: 1 and 2",
    ]


def test_a_boat_or_part_may_have_a_colon_in_its_name():
    tables = sound_tables()
    for rows in tables.values():
        for row in rows:
            for key, value in row.items():
                row[key] = {"Alba": "S:Y Alba", "B-2": "B:2"}.get(value, value)
    what_if, _ = suppose(
        Wanted(pins=(("s:y alba:B:2", 1),)), make_fleet(settings=SETTINGS, **tables)
    )
    assert what_if.pins == {("S:Y Alba", "B:2"): 1}


def test_a_pin_below_the_floor_is_wrong():
    parts = sound_tables()["parts"]
    parts[1]["carry_at_least"] = 2
    fleet = sound_fleet(parts=parts)
    assert wrong_of(fleet, pins=(("Alba:B-2", 1),)) == [
        "--pin: Alba:B-2=1 is below carry_at_least, which is 2 and is never traded away"
    ]
    suppose(Wanted(pins=(("Alba:B-2", 2),)), fleet)


def test_all_legs_of_a_boat_move_by_the_same_days_and_nobody_elses():
    legs = [
        {"boat": "Alba", "departs_on": "2031-05-20", "days": 7, "to_port": "Hafen"},
        {"boat": "Alba", "departs_on": "2031-05-01", "days": 7, "to_port": "Hafen"},
        {"boat": "Brisa", "departs_on": "2031-05-02", "days": 20, "to_port": "Isla"},
    ]
    fleet = sound_fleet(legs=legs)
    _, moved = suppose(Wanted(departs=(("Alba", date(2031, 4, 26)),)), fleet)
    assert sorted(legs_of(moved, "Alba")) == [date(2031, 4, 26), date(2031, 5, 15)]
    assert legs_of(moved, "Brisa") == [date(2031, 5, 2)]
    assert list(moved.leg_hours["departs_on"]) == [pd.Timestamp("2031-04-26")]
    assert sorted(legs_of(fleet, "Alba")) == [date(2031, 5, 1), date(2031, 5, 20)]
    assert moved.legs.dtypes.equals(fleet.legs.dtypes)
    assert moved.leg_hours.dtypes.equals(fleet.leg_hours.dtypes)


def test_moving_the_legs_is_as_if_they_had_been_written_so():
    tables = sound_tables()
    tables["legs"][0]["departs_on"] = tables["leg_hours"][0]["departs_on"] = "2031-06-01"
    written = make_fleet(settings=SETTINGS, **tables)
    _, moved = suppose(Wanted(departs=(("Alba", date(2031, 6, 1)),)), sound_fleet())
    pd.testing.assert_frame_equal(moved.legs, written.legs)
    pd.testing.assert_frame_equal(moved.leg_hours, written.leg_hours)


def test_days_that_cannot_be_are_told():
    boats = sound_tables()["boats"]
    boats[0]["left_on"] = "2031-06-01"
    legs = [row for row in sound_tables()["legs"] if row["boat"] == "Alba"]
    fleet = sound_fleet(boats=boats, legs=legs)
    assert wrong_of(fleet, departs=(("Alba", date(2031, 3, 31)), ("Brisa", date(2031, 5, 1)))) == [
        "--departs: Alba=2031-03-31 is before 2031-04-01, the day of the plan",
        "--departs: Brisa has no legs to come",
    ]
    assert wrong_of(fleet, departs=(("Alba", date(2031, 6, 1)),)) == [
        "--departs: Alba=2031-06-01 moves a leg to 2031-06-01 or later, when she has left the fleet"
    ]


def test_the_rate_of_a_part_that_is_fitted_nowhere_is_refused():
    tables = sound_tables()
    spare = {"part": "X-9", "name": "Not fitted"}
    told = wrong_of(
        sound_fleet(parts=[*tables["parts"], spare]), rates=(("G-3", 2.0), ("X-9", 2.0))
    )
    assert told == [
        "--rate: G-3 is fitted to no machine, so that no rate changes what is needed; it is used "
        "up with 007: ask for that",
        "--rate: X-9 is fitted to no machine, so that no rate changes what is needed",
    ]
