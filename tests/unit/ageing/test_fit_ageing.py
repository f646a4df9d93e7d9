import math
from dataclasses import asdict

import numpy as np
import pytest
from ageing_builders import fell, fit_part, fit_parts, fleet_of_parts, lives_of_parts, ran

from stockopt.ageing.fit import fit_ageing
from stockopt.ageing.likelihood import SMALLEST_AGE


def last_on(part, age, time):
    """Chance that a piece of the age lasts the time on, mixed over the nodes."""
    shape, scale = part.nodes.shape, part.nodes.scale
    hazard = ((age + time) / scale) ** shape - (age / scale) ** shape
    return float((part.nodes.weight * np.exp(-hazard)).sum())


def test_every_part_of_the_table_has_an_entry_in_its_order():
    ageing = fit_parts({"b": fell(300)}, {"part": "c"}, {"part": "a"}, {"part": "b"})
    # a fleet's tables are in the order of their keys, however they were written
    assert list(ageing.parts) == ["a", "b", "c"]
    assert [part.prior_only for part in ageing.parts.values()] == [True, False, True]


def test_a_part_without_a_life_has_its_prior():
    part = fit_part([], wear="wears", expected_life=600)
    assert part.prior_only
    assert (part.failures, part.exposure) == (0, 0.0)
    assert (part.rate_per_1000, part.rate_low, part.rate_high) == (None, 0.0, None)
    assert part.mean_life == pytest.approx(600, rel=1e-3)
    assert part.mean_life_high / part.mean_life == pytest.approx(3.16, abs=0.01)
    assert part.mean_life / part.mean_life_low == pytest.approx(3.16, abs=0.01)
    assert part.shape == pytest.approx(2.2, rel=1e-3)
    assert part.shape_high == pytest.approx(2.2 * math.exp(1.645 * 0.35), rel=1e-3)


def test_a_fleet_without_any_life():
    ageing = fit_parts({}, {"part": "a", "expected_life": 50}, {"part": "b", "expected_life": 70})
    assert all(part.prior_only for part in ageing.parts.values())


def test_counts_and_rate():
    part = fit_part(fell(300) + fell(500, 100) + ran(1200, times=2))
    assert part.failures == 2
    assert part.exposure == pytest.approx(300 + 400 + 2400)
    assert part.rate_per_1000 == pytest.approx(2 / 3.1)
    assert part.rate_low < part.rate_per_1000 < part.rate_high


def test_lives_of_unknown_age_count_in_the_rate_alone():
    known = fell(300) + ran(500, times=3)
    unknown = fell(900, times=2, age_known=False) + ran(700, age_known=False)
    alone, both = fit_part(known), fit_part(known + unknown)
    assert both.failures == 3
    assert both.exposure == pytest.approx(alone.exposure + 2500)
    for name in ("shape", "scale", "mean_life", "mean_life_low", "shape_high", "prior_only"):
        assert getattr(both, name) == getattr(alone, name)
    only = fit_part(unknown)
    assert only.prior_only
    assert only.failures == 2


@pytest.mark.parametrize("age", [0.0, 1e-9, 0.5])
def test_a_failure_at_hardly_any_age_counts_as_one_at_the_smallest(age):
    part = fit_part(fell(age) + fell(400, times=2), expected_life=500)
    least = fit_part(fell(SMALLEST_AGE) + fell(400, times=2), expected_life=500)
    assert part.mean_life == pytest.approx(least.mean_life, rel=1e-9)
    assert part.shape == pytest.approx(least.shape, rel=1e-9)
    assert math.isfinite(part.ml_shape)


def test_a_failure_seen_the_moment_it_entered():
    part = fit_part(fell(700, 700), wear="wears", expected_life=600)
    assert part.exposure == 0.0
    assert part.rate_per_1000 is None
    assert part.mean_life < 600  # it failed, and nothing else is known
    assert part.nodes.weight.sum() == pytest.approx(1)


def test_running_of_no_length_says_nothing():
    part = fit_part(ran(0.0) + ran(800, 800), expected_life=600)
    prior = fit_part([], expected_life=600)
    assert part.mean_life == pytest.approx(prior.mean_life, rel=1e-9)
    assert not part.prior_only


@pytest.mark.parametrize(
    "lives",
    [
        fell(1e6, times=3),
        ran(1e7),
        fell(2, times=200),
        fell(500, times=500),
        [*fell(1), *fell(1e5), *fell(10, times=3)],
        ran(3000, times=5000),
        [life for age in range(1000, 3000, 10) for life in fell(age, age - 1)],
    ],
    ids=["long", "very long", "short", "alike", "spread", "never", "seen only at the end"],
)
@pytest.mark.parametrize("wear", ["wears", "random", None])
def test_extreme_records_give_finite_ordered_numbers(lives, wear):
    part = fit_part(lives, wear=wear, expected_life=600)
    assert 0.15 < part.shape_low < part.shape < part.shape_high < 25
    assert 0 < part.mean_life_low < part.mean_life < part.mean_life_high < 1e12
    assert part.scale > 0
    assert np.isfinite(part.nodes.scale).all()
    assert part.nodes.weight.sum() == pytest.approx(1)


def test_many_records_drown_the_prior():
    draw = np.random.default_rng(5)
    ages = 900 * draw.weibull(3.0, size=5000)
    part = fit_part([life for age in ages for life in fell(age)], wear=None, expected_life=90)
    assert part.shape == pytest.approx(part.ml_shape, rel=0.01)
    assert part.scale == pytest.approx(part.ml_scale, rel=0.002)
    assert part.shape_low < part.ml_shape < part.shape_high < 1.05 * part.shape_low


def test_inputs_are_unchanged():
    lives = lives_of_parts({"seal": fell(0.0) + fell(400) + ran(300, 50)})
    fleet = fleet_of_parts({"part": "seal", "expected_life": 500}, {"part": "belt"})
    before = lives.lives.copy(deep=True), fleet.parts.copy(deep=True)
    fit_ageing(lives, fleet)
    assert lives.lives.equals(before[0])
    assert fleet.parts.equals(before[1])


def test_the_same_again():
    lives = fell(400) + ran(300, 50, times=4)
    once, again = asdict(fit_part(lives)), asdict(fit_part(lives))
    for name, value in once.pop("nodes").items():
        assert (value == again["nodes"][name]).all()
    again.pop("nodes")
    assert once == again


def test_a_part_the_table_does_not_hold():
    with pytest.raises(ValueError, match="parts table"):
        fit_parts({"ghost": fell(100)}, {"part": "seal"})


@pytest.mark.parametrize("mean_life", [500, 600, 700])
def test_an_old_seal_fails_sooner_than_a_new_one(mean_life):
    """One engine's seal failed at 500 h: its twin of the same age is far likelier to go next.

    A raw-water pump's shaft seal lasts 500 to 700 running hours and wears out (common practice,
    no source).
    """
    part = fit_part(fell(500) + ran(500), wear="wears", expected_life=mean_life)
    old = 1 - last_on(part, 500, 100)
    new = 1 - last_on(part, 0, 100)
    assert old > 0.15
    assert old > 4 * new


def test_a_part_that_fails_at_random_does_not_age():
    part = fit_part([], wear="random", expected_life=600)
    old, new = 1 - last_on(part, 500, 100), 1 - last_on(part, 0, 100)
    assert old == pytest.approx(new, rel=0.25)
