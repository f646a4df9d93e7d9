"""A machine's running hours by date, worked by hand; days count from any day."""

import numpy as np
import pytest

from stockopt.lives.machines import Machine
from stockopt.lives.meters import CALENDAR, Sighting, read_clock


def follow(*sightings, fitted_on=None, hours_at_fitting=None):
    """Return the clock and its notes from (day, hours) or (day, hours, new meter's hours)."""
    machine = Machine(
        boat="Alba",
        machine="engine",
        model="M",
        fitted_on=fitted_on,
        hours_at_fitting=hours_at_fitting,
        joined_on=None,
        left_on=None,
        replaced_on=None,
    )
    seen = [
        Sighting(day, bool(new), float(hours), float(new[0] if new else hours), "readings", row)
        for row, (day, hours, *new) in enumerate(sightings, start=2)
    ]
    return read_clock(machine, seen)


def hours_on(days, *sightings, **machine):
    clock, notes = follow(*sightings, **machine)
    return clock.at(days).tolist(), [note.text.split("; ")[-1] for note in notes]


def test_hours_are_linear_between_readings():
    assert hours_on([0, 5, 10, 15, 20], (0, 100), (10, 200), (20, 220)) == (
        [100, 150, 200, 210, 220],
        [],
    )


def test_readings_may_come_in_any_order():
    assert hours_on([5, 15], (20, 220), (0, 100), (10, 200)) == ([150, 210], [])


def test_before_the_first_reading_the_hours_are_unknown():
    hours, _ = hours_on([-1, 0], (0, 100), (10, 200))
    assert np.isnan(hours[0])
    assert hours[1] == 100


def test_after_the_last_reading_the_rate_of_its_last_year_goes_on():
    # The last year runs from day 365 at 100 h to day 730 at 830 h: 2 h a day, of late or not.
    assert hours_on([740], (0, 0), (365, 100), (630, 330), (730, 830)) == ([850], [])


def test_the_last_year_may_begin_between_two_readings():
    # Day 65 lies halfway between 0 h on day 0 and 130 h on day 130: 65 h; then 430 - 65 = 365 h
    # in 365 days.
    assert hours_on([440], (0, 0), (130, 130), (430, 430)) == ([440], [])


def test_a_meter_seen_once_is_known_for_as_long_as_a_usual_gap():
    hours, _ = hours_on([100, 145, 146], (100, 700))
    assert hours[:2] == [700, 700]
    assert np.isnan(hours[2])


def test_a_meter_never_seen_gives_no_clock():
    assert follow() == (None, [])
    assert follow(fitted_on=3) == (None, [])
    assert follow(hours_at_fitting=0.0) == (None, [])


def test_hours_at_fitting_are_a_known_point():
    assert hours_on([0, 50], (100, 900), fitted_on=0, hours_at_fitting=800.0) == ([800, 850], [])


def test_a_reading_on_the_day_of_fitting_tells_what_the_meter_showed():
    # A new engine below the old meter, which shows 1,500 h: it has run 100 h by day 100.
    clock = hours_on([0, 100], (0, 1500), (100, 1600), fitted_on=0, hours_at_fitting=0.0)
    assert clock == ([0, 100], [])


def test_a_meter_changed_on_the_day_of_fitting_shows_its_own_hours():
    clock = hours_on([0, 100], (0, 1500, 20), (100, 120), fitted_on=0, hours_at_fitting=0.0)
    assert clock == ([0, 100], [])


def test_a_first_reading_below_the_hours_at_fitting_counts_from_zero():
    clock = hours_on([50, 100], (50, 60), (100, 160), fitted_on=0, hours_at_fitting=800.0)
    assert clock == ([860, 960], ["the meter is taken to have started from 0 then"])


def test_the_same_without_a_day_of_fitting():
    clock = hours_on([50, 100], (50, 60), (100, 160), hours_at_fitting=800.0)
    assert clock == ([860, 960], ["the meter is taken to have started from 0 then"])


def test_a_changed_meter_carries_on():
    assert hours_on([10, 20], (0, 100), (10, 200, 7), (20, 37)) == ([200, 230], [])


def test_a_changed_meter_that_was_dead_adds_nothing():
    # The old one still shows 90 h when it is taken off: nobody knows what was run.
    hours, notes = hours_on([0, 10, 20], (0, 100), (10, 90, 0), (20, 30))
    assert hours == [100, 100, 130]
    assert notes == ["hours run since then are not counted"]


def test_a_changed_meter_misread_too_high_adds_nothing():
    hours, notes = hours_on([0, 10, 20], (0, 100), (10, 9999, 0), (20, 30))
    assert hours == [100, 100, 130]
    assert notes == ["hours run since then are not counted"]


def test_a_meter_that_runs_backwards_is_taken_for_a_new_one():
    # 200 h stand on day 20 as on day 10; then 150 - 50 = 100 h more.
    hours, notes = hours_on([0, 10, 20, 30], (0, 100), (10, 200), (20, 50), (30, 150))
    assert hours == [100, 200, 200, 300]
    assert notes == [
        "taken for a new meter, hours carry on from there "
        "(if it was not changed, look at readings, row 3, too)"
    ]


def test_a_last_reading_that_runs_backwards_is_taken_for_a_new_meter():
    hours, notes = hours_on([10, 20], (0, 100), (10, 200), (20, 50))
    assert hours == [200, 200]
    assert len(notes) == 1


def test_a_low_reading_between_two_that_fit_is_kept_out():
    hours, notes = hours_on([10, 20, 30], (0, 100), (10, 200), (20, 20), (30, 300))
    assert hours == [200, 250, 300]
    assert notes == ["kept out"]


def test_more_than_24_hours_a_day_is_kept_out():
    hours, notes = hours_on([10, 20], (0, 100), (10, 1000), (20, 200))
    assert hours == [150, 200]
    assert notes == ["kept out"]


def test_a_last_reading_of_more_than_24_hours_a_day_is_kept_out():
    hours, notes = hours_on([10, 20], (0, 100), (10, 200), (20, 2000))
    assert hours == [200, 300]
    assert notes == ["kept out"]


@pytest.mark.parametrize(("hours", "kept"), [(340, True), (341, False)])
def test_24_hours_a_day_can_be_run(hours, kept):
    _, notes = follow((0, 100), (10, hours))
    assert (not notes) is kept


@pytest.mark.parametrize(("hours", "kept"), [(124, True), (125, False)])
def test_two_readings_of_one_day_can_be_a_day_apart(hours, kept):
    clock, notes = follow((0, 100), (0, hours), (10, 130))
    assert (not notes) is kept
    assert clock.at([0]) == [hours if kept else 100]


def test_one_day_to_the_next_can_be_24_hours():
    assert not follow((0, 100), (1, 124))[1]
    assert follow((0, 100), (1, 125))[1]


def test_a_jump_that_the_next_reading_confirms_is_a_new_meter():
    hours, notes = hours_on([0, 10, 20], (0, 100), (10, 3000), (20, 3100))
    assert hours == [100, 100, 200]
    assert notes == ["taken for a new meter, hours carry on from there"]


def test_notes_name_the_row_and_what_was_found():
    _, (note,) = follow((0, 100), (10, 200), (20, 50), (30, 150))
    assert (note.table, note.row, note.column) == ("readings", 4, "hours")
    assert note.text == (
        "Alba, engine: meter at 50 h on 1970-01-21 is below the 200 h before it; "
        "taken for a new meter, hours carry on from there "
        "(if it was not changed, look at readings, row 3, too)"
    )


def test_the_calendar_gains_a_day_a_day():
    assert CALENDAR.at([-20000, 0, 20000]).tolist() == [-20000, 0, 20000]
