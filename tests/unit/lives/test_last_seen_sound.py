"""Pieces found worn: they failed between the day last seen sound and the day found.

Every engine here is new on day 0 and runs 2 h a day, so that hours are twice the days.
"""

from lives_builders import change, fit, lives_of, on, read, tell, told

LIFE = "slot entered sound left failed"


def lives_with(*replacements, **more):
    more.setdefault("machines", [fit(fitted_on=on(0), hours_at_fitting=0)])
    return lives_of(100, readings=[read(0, 0), read(100, 200)], replacements=replacements, **more)


def test_hours_when_last_seen_sound_are_read_from_the_meter():
    # Sound on day 40 at 80 h, found worn on day 60 at 120 h.
    lives = lives_with(change(60, reason="worn", sound_on=on(40)))
    assert told(lives, LIFE) == [(1, 0, 80, 120, True), (1, 0, 80, 80, False)]


def test_ages_count_from_the_piece_not_from_the_meter():
    # Its forerunner failed on day 30 at 60 h: 40 h old on day 50, 60 h on day 60.
    lives = lives_with(change(30), change(60, reason="worn", sound_on=on(50)))
    assert told(lives, LIFE)[1] == (1, 0, 40, 60, True)


def test_not_told_it_failed_on_the_day():
    lives = lives_with(change(60, reason="worn"), change(80))
    assert told(lives, "sound left", failed=True) == [(120, 120), (40, 40)]


def test_seen_sound_before_it_was_fitted_says_nothing_more_than_new():
    # On day 20 another piece was seen: this one, fitted on day 30, was sound then.
    lives = lives_with(change(30), change(60, reason="worn", sound_on=on(20)))
    assert told(lives, "sound left", row=3) == [(0, 60)]


def test_seen_sound_before_the_watch_counts_from_the_age_it_came_with():
    # Her records begin on day 50: the piece is 100 h old then, and was sound.
    lives = lives_with(
        change(60, reason="worn", sound_on=on(20)),
        boats=[{"boat": "Alba", "joined_on": on(50)}],
    )
    assert told(lives, LIFE)[0] == (1, 100, 100, 120, True)


def test_a_piece_that_did_not_fail_was_sound_all_along():
    lives = lives_with(change(60, reason="swapped", sound_on=on(40)))
    assert told(lives, LIFE)[0] == (1, 0, 120, 120, False)


def test_by_the_calendar_ages_are_days():
    lives = lives_with(
        change(60, reason="failed", sound_on=on(40)), parts=[{"part": "seal", "clock": "days"}]
    )
    assert told(lives, LIFE)[0] == (1, 0, 40, 60, True)


def test_seen_sound_before_the_meter_was_known_says_nothing():
    # The meter is first read on day 50; on day 40 nobody knows her hours.
    lives = lives_of(
        100,
        machines=[fit()],
        readings=[read(50, 100), read(100, 200)],
        replacements=[change(70, reason="worn", sound_on=on(40))],
    )
    assert tell(lives.lives, "sound left age_known", failed=True) == [(40, 40, False)]
