"""Are 90 % intervals right 90 times in 100, and counts of a season spread as forecast?

The whole study, printed as it stands in the README (some minutes):
``pytest -n0 -s -m full tests/calibration``.
"""

import sys

import pytest
from builders import make_fleet
from calibration.study import (
    bias_from_three,
    coverage_by_band,
    run_study,
    table_of,
    tenths,
)
from calibration.world import draw_world
from pandas.testing import assert_frame_equal

from stockopt.lives.build import build_lives

FLEETS = 200


@pytest.fixture(scope="module")
def whole_study():
    study = run_study(range(FLEETS))
    sys.stdout.write("\n" + table_of(study) + "\n")
    return study


@pytest.mark.full
def test_intervals_of_mean_life_cover_as_they_say(whole_study):
    covered = coverage_by_band(whole_study.parts)["covered"]
    assert 0.85 <= covered["all"] <= 0.95
    assert covered.min() >= 0.80


@pytest.mark.full
def test_with_three_failures_the_mean_life_is_not_biased(whole_study):
    assert abs(bias_from_three(whole_study.parts)) <= 0.10


@pytest.mark.full
def test_counts_of_the_season_fall_evenly_over_what_was_forecast(whole_study):
    assert tenths(whole_study.counts).min() >= 0.08
    assert tenths(whole_study.counts).max() <= 0.12


@pytest.mark.full
@pytest.mark.parametrize("told_within", [2.5, 5.0])
def test_people_who_know_more_or_less_of_their_parts(told_within):
    # Told lives miss by up to 2.5 times either way, or by up to 5: measured, and bounded as above
    # for those with failures enough to speak for themselves.
    study = run_study(range(FLEETS), told_within=told_within, forecast=False)
    sys.stdout.write(
        f"\nTold lives within a factor {told_within:g} either way: {table_of(study)}" + "\n"
    )
    assert coverage_by_band(study.parts)["covered"]["10+"] >= 0.80
    assert abs(bias_from_three(study.parts)) <= 0.10


@pytest.mark.full
def test_boats_whose_past_is_lost():
    study = run_study(range(FLEETS), past_told=False, forecast=False)
    sys.stdout.write(f"\nNothing written down before she joined: {table_of(study)}\n")
    assert coverage_by_band(study.parts)["covered"].min() >= 0.80


def test_forty_fleets_cover_as_they_say():
    # 800 parts: the bounds of the whole study, but bands hold too few for theirs.
    study = run_study(range(40), forecast=False)
    covered = coverage_by_band(study.parts)["covered"]
    assert 0.85 <= covered["all"] <= 0.95
    assert covered.min() >= 0.75
    assert abs(bias_from_three(study.parts)) <= 0.10


def test_what_was_changed_before_she_joined_may_be_lost():
    # Were every first piece taken to be as old as its machine, 81 % of the intervals would cover.
    covered = coverage_by_band(run_study(range(40), past_told=False, forecast=False).parts)
    assert covered["covered"]["all"] >= 0.85
    assert covered["covered"].min() >= 0.75


def test_counts_of_twelve_fleets_fall_evenly_over_what_was_forecast():
    # Some 1,500 counts, alike within a part: 10 % +- 3 in a tenth, and the sum within a tenth.
    counts = run_study(range(12)).counts
    assert tenths(counts).min() >= 0.07
    assert tenths(counts).max() <= 0.13
    assert counts["needed"].sum() == pytest.approx(counts["expected"].sum(), rel=0.1)


def test_the_fleets_of_the_study_are_such_as_may_be_read():
    # The study makes its tables without the checks, for speed; they pass them, to the same lives.
    fleet = draw_world(3).fleet
    names = ("boats", "machines", "readings", "parts", "fitted", "replacements", "legs")
    rows = {name: getattr(fleet, name).to_dict("records") for name in (*names, "leg_hours")}
    read = make_fleet(settings=fleet.settings, **rows)
    assert_frame_equal(build_lives(read).lives, build_lives(fleet).lives)
