"""Scores by hand."""

import math

import numpy as np
import pytest

from stockopt.lookback.foretold import Foretold
from stockopt.lookback.score import LastYear, find_places, score_count, score_parts

NAMES = {"seal": "Seal", "belt": "Belt"}


def foretold(part, chances, actual, exposure=1000.0):
    return Foretold(part=part, chances=np.array(chances), actual=actual, exposure=exposure)


def test_log_scores_are_those_of_the_chances_given():
    last_year = LastYear(failures={"seal": 2}, exposure={"seal": 2000.0})
    scores = score_parts([foretold("seal", [0.2, 0.5, 0.3], 1)], last_year, NAMES)
    (part,) = scores.parts
    assert part.forecast.log_score == pytest.approx(math.log(0.5))
    # Two failures in 2,000 hours make one in 1,000.
    assert part.last_year.log_score == pytest.approx(-1.0)
    assert scores.difference == pytest.approx(math.log(0.5) + 1.0)
    assert (part.below, part.upto) == pytest.approx((0.2, 0.7))
    assert scores.failed_before == 1
    assert scores.verdict == "too few"


def test_none_last_year_is_half_a_failure():
    last_year = LastYear(failures={}, exposure={"seal": 500.0})
    assert last_year.expect("seal", 1000.0) == pytest.approx(1.0)
    assert last_year.expect("belt", 1000.0) == pytest.approx(0.5)
    scores = score_parts([foretold("seal", [0.5, 0.5], 0)], last_year, NAMES)
    assert scores.failed_before == 0
    assert scores.of_those == 0.0


@pytest.mark.parametrize(
    ("chances", "low", "high"),
    [
        ([1.0], 0, 0),
        ([0.05, 0.9, 0.05], 0, 1),
        ([0.04, 0.92, 0.04], 1, 1),
        ([0.6, 0.3, 0.06, 0.04], 0, 2),
    ],
)
def test_intervals_leave_a_twentieth_on_either_side(chances, low, high):
    scored = score_count(np.array(chances), 0)
    assert (scored.low, scored.high) == (low, high)
    assert scored.share == pytest.approx(sum(chances[low : high + 1]))
    assert scored.inside == (low == 0)


def test_a_count_held_impossible_is_scored_low_and_not_minus_infinity():
    assert score_count(np.array([0.5, 0.5]), 7).log_score == pytest.approx(math.log(1e-8))


def test_places_are_even_for_a_count_as_likely_as_not():
    scores = score_parts(
        [foretold("seal", [1.0], 0), foretold("belt", [0.2, 0.2, 0.6], 1)],
        LastYear(failures={}, exposure={}),
        NAMES,
    )
    # The first is spread over all fifths, the second fell into the second.
    assert scores.places == pytest.approx((0.1, 0.6, 0.1, 0.1, 0.1))
    assert sum(find_places(scores.parts)) == pytest.approx(1.0)
