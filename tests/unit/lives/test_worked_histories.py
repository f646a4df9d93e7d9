"""Histories worked by hand. Day 0 is 2030-01-01; `on` turns days into dates."""

from builders import make_fleet
from lives_builders import (
    change,
    fit,
    lives_of,
    notes_on,
    on,
    read,
    tell,
    told,
)

from stockopt.lives.build import build_lives

LIFE = "entered left failed age_known reason"


def day(number):
    return on(number).isoformat()


def test_a_changed_meter_runs_on():
    # Meter 0 h on day 0, 200 on day 100; the new one shows 5 then, and 305 on day 200.
    # True hours: 200 on day 100, 200 + 300 = 500 on day 200, 3 h a day between: 350 on day 150.
    lives = lives_of(
        200,
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200, new_meter_hours=5), read(200, 305)],
        replacements=[change(150)],
    )
    assert told(lives, LIFE + " began_on ended_on row") == [
        (0, 350, True, True, "failed", day(0), day(150), 2),
        (0, 150, False, True, "running", day(150), day(200), 0),
    ]
    assert tell(lives.positions, "slot age age_at_least") == [(1, 150, 150)]
    assert lives.notes == ()


def test_an_engine_swapped_whole_ends_every_life():
    # The first engine: 200 h by day 100, so 2 h a day: 100 h on day 50, and 300 h on day 150, when
    # the second takes its place. That one: 1 h a day; 50 h on day 200 and 100 h on day 250.
    lives = lives_of(
        250,
        machines=[
            fit(fitted_on=on(0), hours_at_fitting=0),
            fit(fitted_on=on(150), hours_at_fitting=0),
        ],
        readings=[read(100, 200), read(150, 0), read(250, 100)],
        replacements=[change(50), change(200, reason="scheduled")],
    )
    assert told(lives, "fitted_on " + LIFE + " ended_on") == [
        (day(0), 0, 100, True, True, "failed", day(50)),
        (day(0), 0, 200, False, True, "machine replaced", day(150)),
        (day(150), 0, 50, False, True, "scheduled", day(200)),
        (day(150), 0, 50, False, True, "running", day(250)),
    ]
    assert tell(lives.positions, "machine age") == [("engine", 50)]
    # 50 days from day 100 to day 150 are long enough to be told.
    assert len(notes_on(lives, "50 days", "2 h a day")) == 1


def test_a_meter_changed_with_the_engine_gives_the_old_one_its_last_hours():
    # The old engine ends at the 400 h its meter shows on day 150; the new one has its own meter.
    lives = lives_of(
        250,
        machines=[
            fit(fitted_on=on(0), hours_at_fitting=0),
            fit(fitted_on=on(150), hours_at_fitting=0),
        ],
        readings=[read(100, 200), read(150, 400, new_meter_hours=3), read(250, 103)],
    )
    assert told(lives, LIFE) == [
        (0, 400, False, True, "machine replaced"),
        (0, 100, False, True, "running"),
    ]
    assert lives.notes == ()


def test_records_that_start_late_enter_late():
    # New 1,000 days before she joined; 1,000 h when she joined, then 2 h a day: 1,100 h on day 50.
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "joined_on": on(0)}],
        machines=[fit(fitted_on=on(-1000), hours_at_fitting=0)],
        readings=[read(0, 1000), read(100, 1200)],
        replacements=[change(50), change(60, "hose")],
        parts=[
            {"part": "seal", "expected_life": 2000},
            {"part": "hose", "clock": "days", "expected_life": 2000},
        ],
        fitted=[{"model": "M", "part": "seal"}, {"model": "M", "part": "hose"}],
    )
    assert told(lives, LIFE + " began_on", part="seal") == [
        (1000, 1100, True, True, "failed", day(-1000)),
        (0, 100, False, True, "running", day(50)),
    ]
    assert told(lives, LIFE + " began_on", part="hose") == [
        (1000, 1060, True, True, "failed", day(-1000)),
        (0, 40, False, True, "running", day(60)),
    ]


def test_an_engine_fitted_used_takes_its_age_along():
    # 800 h when fitted, its meter goes on from there: 2 h a day.
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=800)],
        readings=[read(100, 1000)],
        replacements=[change(50), change(50, part="hose")],
        parts=[
            {"part": "seal", "expected_life": 2000},
            {"part": "hose", "clock": "days", "expected_life": 2000},
        ],
        fitted=[{"model": "M", "part": part} for part in ("seal", "hose")],
    )
    assert told(lives, LIFE + " began_on", part="seal") == [
        (800, 900, True, True, "failed", None),
        (0, 100, False, True, "running", day(50)),
    ]
    # How many days the hose had been on it nobody knows.
    assert told(lives, LIFE + " began_on", part="hose") == [
        (0, 50, True, False, "failed", None),
        (0, 50, False, True, "running", day(50)),
    ]


def test_a_piece_of_an_engine_fitted_used_may_have_been_changed():
    # 800 h when fitted: more than half of the 1,500 h that a seal lasts.
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=800)],
        readings=[read(100, 1000)],
        replacements=[change(50)],
        parts=[{"part": "seal", "expected_life": 1500}],
    )
    assert told(lives, LIFE)[0] == (0, 100, True, False, "failed")
    assert len(notes_on(lives, "Alba, engine", "unknown age", "expected life: 1")) == 1


def test_a_piece_may_have_been_changed_before_the_records():
    # 1,000 h and 1,000 days when she joined and her records began. Of seals that last 1,999 h or
    # hoses that last 1,999 days, one may well have been changed by then; nobody says.
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "joined_on": on(0)}],
        machines=[fit(fitted_on=on(-1000), hours_at_fitting=0)],
        readings=[read(0, 1000), read(100, 1200)],
        replacements=[change(50)],
        parts=[
            {"part": "seal", "expected_life": 1999},
            {"part": "hose", "clock": "days", "expected_life": 1999},
            {"part": "belt"},
        ],
        fitted=[{"model": "M", "part": part} for part in ("seal", "hose", "belt")],
    )
    assert told(lives, LIFE + " began_on", part="seal")[0] == (0, 100, True, False, "failed", None)
    assert told(lives, LIFE, part="hose") == [(0, 100, False, False, "running")]
    assert tell(lives.positions, "part age age_at_least") == [
        ("belt", None, 200),
        ("hose", None, 100),
        ("seal", 100, 100),
    ]
    assert len(notes_on(lives, "Alba, engine", "unknown age", "expected life: 3")) == 1


def test_records_that_reach_back_to_a_new_machine_know_its_pieces():
    # She joined on day 0, but her meter was read since 300 days after the engine was new.
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "joined_on": on(0)}],
        machines=[fit(fitted_on=on(-1000), hours_at_fitting=0)],
        readings=[read(-700, 300), read(0, 1000), read(100, 1200)],
        replacements=[change(50)],
    )
    assert told(lives, LIFE)[0] == (1000, 1100, True, True, "failed")
    assert lives.notes == ()


def test_a_first_age_may_be_unknown():
    # Nothing is known before 700 h on day 0; 2 h a day to 900 h on day 100.
    lives = lives_of(
        100,
        machines=[fit()],
        readings=[read(0, 700), read(100, 900)],
        replacements=[change(50)],
        parts=[{"part": "seal"}, {"part": "belt"}],
        fitted=[{"model": "M", "part": "seal"}, {"model": "M", "part": "belt"}],
    )
    assert told(lives, LIFE + " began_on", part="seal") == [
        (0, 100, True, False, "failed", None),
        (0, 100, False, True, "running", day(50)),
    ]
    assert told(lives, LIFE, part="belt") == [(0, 200, False, False, "running")]
    assert tell(lives.positions, "part age age_at_least") == [
        ("belt", None, 200),
        ("seal", 100, 100),
    ]


def test_a_boat_that_joined_and_left_is_watched_between():
    # 2 h a day from new on day 0: she joins at 100 h on day 50 and leaves at 300 h on day 150.
    lives = lives_of(
        250,
        boats=[{"boat": "Alba", "joined_on": on(50), "left_on": on(150)}],
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(200, 400)],
        replacements=[change(100), change(160)],
    )
    assert told(lives, LIFE + " ended_on") == [
        (100, 200, True, True, "failed", day(100)),
        (0, 100, False, True, "boat left", day(150)),
    ]
    assert lives.positions.empty
    assert tell(lives.left_out, "row pieces failed why") == [(3, 1, True, "after the boat left")]
    assert len(notes_on(lives, "after the boat left")) == 1


def test_a_superseded_number_lives_on_under_the_current_one():
    # 2 h a day; the old number failed on day 50, the new one on day 80: 100 h and 60 h.
    fleet = make_fleet(  # the reader leads both to the current number
        settings={"planned_on": on(100)},
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200)],
        parts=[{"part": "seal-1", "replaced_by": "seal-2"}, {"part": "seal-2"}],
        fitted=[{"model": "M", "part": "seal-1"}],
        replacements=[change(50, "seal-1"), change(80, "seal-2")],
    )
    lives = build_lives(fleet)
    assert told(lives, "part entered left failed") == [
        ("seal-2", 0, 100, True),
        ("seal-2", 0, 60, True),
        ("seal-2", 0, 40, False),
    ]


def test_twins_run_on_their_own_meters():
    # Port 2 h a day, starboard 1 h a day; the same seal fails on both on day 50.
    port, starboard = ({"boat": "Alba", "machine": name} for name in ("port", "starboard"))
    lives = lives_of(
        100,
        machines=[
            {**twin, "model": "M", "fitted_on": on(0), "hours_at_fitting": 0}
            for twin in (port, starboard)
        ],
        readings=[
            {**port, "read_on": on(100), "hours": 200},
            {**starboard, "read_on": on(100), "hours": 100},
        ],
        replacements=[
            {**twin, "on": on(50), "part": "seal", "reason": "failed"} for twin in (port, starboard)
        ],
    )
    assert told(lives, "machine left failed") == [
        ("port", 100, True),
        ("port", 100, False),
        ("starboard", 50, True),
        ("starboard", 50, False),
    ]
    assert not notes_on(lives, "slot")  # one position on each: nothing had to be assumed


def test_parts_of_the_calendar_age_while_the_boat_lies_idle():
    # Her engine stands at 100 h from day 0 to day 100; the hose is 50 days old when it fails.
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=100)],
        readings=[read(100, 100)],
        parts=[{"part": "seal", "expected_life": 200}, {"part": "hose", "clock": "days"}],
        fitted=[{"model": "M", "part": "seal"}, {"model": "M", "part": "hose"}],
        replacements=[change(50, "hose"), change(60, "seal"), change(70, "seal")],
    )
    assert told(lives, "left failed", part="hose") == [(50, True), (50, False)]
    # The seal failed at 100 h on day 60, at the hours it came with. Its successor never ran.
    assert told(lives, "entered left failed", part="seal") == [(100, 100, True)]
    assert tell(lives.left_out, "row why") == [(4, "no running since it was fitted")]
    assert tell(lives.positions, "part age") == [("hose", 50), ("seal", 0)]


def test_only_failed_worn_and_unknown_are_failures():
    # 1 h a day; a change every 10 days.
    reasons = ["failed", "worn", "unknown", "scheduled", "swapped", "borrowed"]
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 100)],
        replacements=[
            change(10 * number, reason=reason) for number, reason in enumerate(reasons, start=1)
        ],
    )
    assert told(lives, "left failed reason") == [
        (10, True, "failed"),
        (10, True, "worn"),
        (10, True, "unknown"),
        (10, False, "scheduled"),
        (10, False, "swapped"),
        (10, False, "borrowed"),
        (40, False, "running"),
    ]
    assert len(notes_on(lives, "seal", "reason unknown for 1 ")) == 1


def test_a_change_before_the_watch_sets_the_age():
    # 2 h a day from new on day 0; changed at 40 h on day 20; she joins at 100 h on day 50.
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "joined_on": on(50)}],
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200)],
        replacements=[change(20)],
    )
    assert told(lives, LIFE + " began_on") == [(60, 160, False, True, "running", day(20))]
    assert tell(lives.left_out, "row failed why") == [(2, True, "before the watch begins")]
    assert len(notes_on(lives, "Alba, engine", "set ages", "1")) == 1


def test_a_change_before_the_first_reading_leaves_the_hours_unknown():
    # Changed on day 10, but the meter is first read on day 50: hours since the change unknown,
    # days known.
    lives = lives_of(
        100,
        machines=[fit()],
        readings=[read(50, 700), read(100, 800)],
        parts=[{"part": "seal"}, {"part": "hose", "clock": "days"}],
        fitted=[{"model": "M", "part": "seal"}, {"model": "M", "part": "hose"}],
        replacements=[change(10), change(10, "hose")],
    )
    assert told(lives, LIFE, part="seal") == [(0, 100, False, False, "running")]
    assert told(lives, LIFE, part="hose") == [(0, 90, False, True, "running")]
    assert tell(lives.positions, "part age age_at_least") == [
        ("hose", 90, 90),
        ("seal", None, 100),
    ]


def test_hours_typed_at_a_change_are_a_reading():
    # The line from 0 to 200 h would give 100 h on day 50; the meter showed 130.
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200)],
        replacements=[change(50, hours=130)],
    )
    assert told(lives, "left failed") == [(130, True), (70, False)]


def test_hours_typed_on_the_day_of_a_new_meter_are_not_used():
    # 7 h were read from the new meter, whose first reading was 5; the old one ended at 200 h.
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(50, 200, new_meter_hours=5), read(100, 105)],
        replacements=[change(50, hours=7)],
    )
    assert told(lives, "left failed") == [(200, True), (100, False)]
    assert lives.notes == ()


def test_an_engine_fitted_and_never_read_leaves_its_age_open():
    # 400 h when fitted 100 days ago: at least that, and nobody knows how much more.
    lives = lives_of(
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=400)],
        parts=[{"part": "seal", "expected_life": 800}],
    )
    assert lives.lives.empty
    assert tell(lives.positions, "age age_at_least") == [(None, 400)]
    assert len(notes_on(lives, "known on 2030-01-01 only")) == 1


def test_an_engine_fitted_a_short_while_ago_stands_at_its_hours():
    lives = lives_of(40, machines=[fit(fitted_on=on(0), hours_at_fitting=0)])
    assert tell(lives.positions, "age age_at_least") == [(0, 0)]
    assert lives.notes == ()


def test_a_boat_that_leaves_on_the_day_of_the_plan_has_left():
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "left_on": on(100)}],
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200)],
    )
    assert told(lives, LIFE) == [(0, 200, False, True, "boat left")]
    assert lives.positions.empty


def test_a_boat_that_leaves_after_it_is_still_there():
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "left_on": on(101)}],
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200)],
    )
    assert told(lives, LIFE) == [(0, 200, False, True, "running")]
    assert tell(lives.positions, "age") == [(200,)]


def test_a_planned_change_of_a_piece_that_never_ran_is_nothing_to_doubt():
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "joined_on": on(30)}],
        machines=[fit(fitted_on=on(0), hours_at_fitting=100)],
        readings=[read(100, 100)],
        parts=[{"part": "seal", "expected_life": 200}],
        replacements=[change(60, reason="scheduled"), change(70, reason="swapped")],
    )
    assert lives.lives.empty
    assert set(lives.left_out["why"]) == {"no running since it was fitted"}
    assert lives.notes == ()


def test_a_machine_without_readings_is_watched_by_the_calendar_alone():
    lives = lives_of(  # the reader would ask for a reading
        100,
        machines=[fit()],
        parts=[{"part": "seal"}, {"part": "hose", "clock": "days"}],
        fitted=[{"model": "M", "part": "seal"}, {"model": "M", "part": "hose"}],
        replacements=[change(20, "hose"), change(50, "hose"), change(60, "seal")],
    )
    # Watched from the first record, the change on day 20; that one ends no life.
    assert told(lives, "part left failed age_known") == [
        ("hose", 30, True, True),
        ("hose", 50, False, True),
    ]
    assert tell(lives.positions, "part age age_at_least") == [("hose", 50, 50), ("seal", None, 0)]
    assert tell(lives.left_out, "row part why") == [
        (2, "hose", "before the watch begins"),
        (4, "seal", "hours of the machine not known"),
    ]
    assert len(notes_on(lives, "no reading of its hours")) == 1


def test_records_after_the_day_of_the_plan_are_not_used():
    lives = lives_of(  # the reader leaves them out already
        100,
        machines=[fit(fitted_on=on(0), hours_at_fitting=0), fit(fitted_on=on(200))],
        parts=[{"part": "seal"}],
        fitted=[{"model": "M", "part": "seal"}],
        readings=[read(100, 200), read(150, 2000)],
        replacements=[change(120)],
    )
    assert told(lives, LIFE) == [(0, 200, False, True, "running")]
    assert tell(lives.left_out, "row why") == [(2, "after the day of the plan")]
    assert [note.table for note in lives.notes if "the day of the plan" in note.text] == [
        "machines",
        "readings",
        "replacements",
    ]


def test_a_boat_that_joins_later_has_positions_but_no_lives_yet():
    lives = lives_of(
        100,
        boats=[{"boat": "Alba", "joined_on": on(130)}],
        machines=[fit(fitted_on=on(0), hours_at_fitting=0)],
        readings=[read(100, 200)],
        replacements=[change(50)],
    )
    assert lives.lives.empty
    assert tell(lives.positions, "boat age") == [("Alba", 100)]
