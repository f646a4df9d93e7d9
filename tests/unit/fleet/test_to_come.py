"""What lies on the wrong side of the day of the plan."""

import pandas as pd
from builders import make_fleet
from fleet_builders import SETTINGS, add, sound_tables, spoil

from stockopt.errors import Note


def make(tables):
    return make_fleet(settings=SETTINGS, **tables)


def test_records_after_the_day_of_the_plan_are_left_out():
    tables = add(
        "readings",
        {"boat": "Brisa", "machine": "engine", "read_on": "2031-04-01", "hours": 1400},
        {"boat": "Brisa", "machine": "engine", "read_on": "2031-04-02", "hours": 1401},
        {"boat": "Brisa", "machine": "engine", "read_on": "2031-04-03", "hours": 1402},
    )
    tables["replacements"][0]["on"] = "2031-06-01"
    fleet = make(tables)
    assert fleet.readings.index.tolist() == [2, 3, 4, 5]
    assert len(fleet.replacements) == 0
    assert fleet.notes == (
        Note(
            table="readings",
            row=6,
            column="read_on",
            text="rows 6, 7: after 2031-04-01, the day of the plan, left out",
        ),
        Note(
            table="replacements",
            row=2,
            column="on",
            text="row 2: after 2031-04-01, the day of the plan, left out",
        ),
    )


def test_legs_that_departed_are_left_out_and_their_hours_with_them():
    tables = add("legs", {"boat": "Alba", "departs_on": "2031-03-31", "days": 7, "to_port": "Isla"})
    tables["leg_hours"][0]["departs_on"] = "2031-03-31"
    fleet = make(tables)
    assert fleet.legs.index.tolist() == [2, 3]
    assert len(fleet.leg_hours) == 0
    assert fleet.notes == (
        Note(
            table="legs",
            row=4,
            column="departs_on",
            text="row 4: departed before 2031-04-01, the day of the plan, left out",
        ),
    )


def test_of_a_leg_that_repeats_only_departed_repeats_are_left_out():
    # Weeks from 18 and 25 March, 1 and 8 April: two of the four are still to come.
    tables = spoil("legs", 2, departs_on="2031-03-18", days=7, times=4)
    tables["leg_hours"][0]["departs_on"] = "2031-03-18"
    fleet = make(tables)
    leg = fleet.legs.loc[2]
    assert leg["departs_on"] == pd.Timestamp("2031-04-01")
    assert leg["times"] == 2
    assert fleet.legs["times"].dtype == "int64"
    assert fleet.leg_hours.at[2, "departs_on"] == pd.Timestamp("2031-04-01")
    assert fleet.notes == (
        Note(
            table="legs",
            row=2,
            column="departs_on",
            text="row 2: repeats that departed before 2031-04-01, the day of the plan, left out",
        ),
    )


def test_a_leg_on_the_day_of_the_plan_is_still_to_come():
    tables = spoil("legs", 2, departs_on="2031-04-01")
    tables["leg_hours"] = []
    assert make(tables).legs["times"].tolist() == [3, 1]


def test_legs_long_past_may_overlap():
    tables = sound_tables()
    for day in ("2029-01-01", "2029-01-02"):
        tables["legs"].append({"boat": "Alba", "departs_on": day, "days": 30, "to_port": "Isla"})
    assert make(tables).legs.index.tolist() == [2, 3]
