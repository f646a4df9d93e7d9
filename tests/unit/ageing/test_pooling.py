import numpy as np
import pandas as pd
import pytest
from ageing_builders import fell, fit_parts, fleet_of_parts, lives_of_parts, ran
from ageing_plain import plain_evidence
from scipy.special import gamma

from stockopt.ageing.likelihood import collect_records
from stockopt.ageing.pooling import SHARED, WORTH, pool_groups
from stockopt.ageing.prior import default_priors, line_up


def pool(lives, parts, group=None):
    fleet = fleet_of_parts(*parts)
    names = pd.Index(fleet.parts["part"])
    records = collect_records(lives_of_parts(lives).lives, names)
    priors = line_up([default_priors(fleet.parts)[0][part] for part in names])
    group = np.zeros(len(names), dtype=np.int64) if group is None else np.array(group)
    return pool_groups(records, priors, group, int(group.max()) + 1)


def believed(lives, parts, life, life_variance, shape, shape_variance):
    """The group's log marginal likelihood plus belief, by plain integration, part after part."""
    total = sum(
        plain_evidence(
            lives[part["part"]],
            np.log(part["expected_life"]) + 0.7 * life,
            0.7 * life_variance**0.5,
            np.log(2.2) + 0.35 * shape,
            0.35 * shape_variance**0.5,
        )
        for part in parts
    )
    for centre, variance in ((life, life_variance), (shape, shape_variance)):
        total -= 0.5 * centre**2 / SHARED
        total -= 0.5 * WORTH * (np.log(variance) + (1 - SHARED) / variance)
    return total


PARTS = [{"part": name, "wear": "wears", "expected_life": 1000} for name in ("a", "b", "c")]
LIVES = {
    "a": fell(500) + fell(610) + ran(400) + fell(720, 100),
    "b": fell(450) + ran(900),
    "c": ran(300) + ran(700),
}


def test_centre_and_spread_are_the_likeliest_by_plain_integration():
    pools = pool(LIVES, PARTS)
    found = [
        float(each[0])
        for each in (pools.life, pools.life_variance, pools.shape, pools.shape_variance)
    ]
    best = believed(LIVES, PARTS, *found)
    for place, step in ((0, 0.05), (1, 0.04), (2, 0.05), (3, 0.04)):
        around = []
        for shift in (-step, step):
            moved = list(found)
            moved[place] += shift
            around.append(believed(LIVES, PARTS, *moved))
        assert max(around) < best
        # The peak of the parabola through the three lies within a fifth of a step.
        peak = step * 0.5 * (around[0] - around[1]) / (around[0] - 2 * best + around[1])
        assert abs(peak) < 0.2 * step


def test_doubt_about_the_centre_falls_with_members():
    lives = {f"p{number}": fell(800) + fell(900) + fell(1000) for number in range(8)}
    parts = [{"part": part, "wear": "wears", "expected_life": 1000} for part in lives]
    few = pool({part: lives[part] for part in ("p0", "p1")}, parts[:2])
    many = pool(lives, parts)
    assert many.life_doubt[0] < few.life_doubt[0] < SHARED
    assert many.life_variance[0] < few.life_variance[0] < 1 - SHARED


def test_groups_are_pooled_as_if_each_were_alone():
    other = {
        "x": fell(2000) + ran(900),
        "y": fell(1800, 200) + fell(2500),
    }
    others = [{"part": name, "wear": "random", "expected_life": 900} for name in other]
    both = pool({**LIVES, **other}, PARTS + others, [1, 1, 1, 0, 0])
    alone, apart = pool(LIVES, PARTS), pool(other, others)
    for name in ("life", "life_variance", "life_doubt", "shape", "shape_variance", "shape_doubt"):
        assert getattr(both, name)[1] == pytest.approx(getattr(alone, name)[0], abs=1e-6)
        assert getattr(both, name)[0] == pytest.approx(getattr(apart, name)[0], abs=1e-6)


def test_true_centres_and_spreads_are_found_again():
    draw = np.random.default_rng(5)
    lives, parts = {}, []
    for number in range(60):
        name = f"p{number}"
        shape = np.exp(np.log(2.2) + 0.35 * draw.normal(1.0, 0.5))
        mean = 1000 * np.exp(0.7 * draw.normal(-0.8, 0.4))
        ages = mean / gamma(1 + 1 / shape) * draw.exponential(size=25) ** (1 / shape)
        cut = draw.uniform(300, 900, 25)
        lives[name] = [
            life
            for age, end in zip(ages, cut, strict=True)
            for life in (fell(age) if age < end else ran(end))
        ]
        parts.append({"part": name, "wear": "wears", "expected_life": 1000})
    pools = pool(lives, parts)
    assert pools.life[0] == pytest.approx(-0.8, abs=0.15)
    assert pools.life_variance[0] ** 0.5 == pytest.approx(0.4, abs=0.1)
    assert pools.shape[0] == pytest.approx(1.0, abs=0.2)
    assert pools.shape_variance[0] ** 0.5 == pytest.approx(0.5, abs=0.15)


def family_of(**more):
    """Three seals that last half their expected life, and one more seal."""
    lives = {
        "a": fell(480) + fell(520) + fell(610),
        "b": fell(1000) + fell(900) + ran(300),
        "c": fell(450) + fell(700) + ran(200),
    }
    expected = {"a": 1000, "b": 2000, "c": 1000}
    parts = [
        {"part": part, "family": "seals", "wear": "wears", "expected_life": life}
        for part, life in expected.items()
    ]
    return lives, [*parts, {"part": "d", "wear": "wears", "family": "seals", **more}]


def test_a_member_with_an_expected_life_takes_the_familys_ratio():
    lives, parts = family_of(expected_life=3000)
    ageing = fit_parts(lives, *parts)
    new, alone = ageing.parts["d"], fit_parts(lives, *parts[:3], {**parts[3], "family": ""})
    assert alone.parts["d"].mean_life == pytest.approx(3000, rel=1e-3)
    assert 1400 < new.mean_life < 2100
    spread = new.mean_life_high / new.mean_life_low
    assert spread < alone.parts["d"].mean_life_high / alone.parts["d"].mean_life_low
    assert "its expected life and family seals: 3 parts, 7 failures" in new.prior
    family = ageing.families[0]
    assert (family.parts, family.with_failures, family.failures) == (3, 3, 7)
    assert family.by_expected_life
    assert 0.45 < family.life < 0.7


def test_a_member_without_borrows_the_familys_mean_life_and_says_so():
    lives, parts = family_of()
    ageing = fit_parts(lives, *parts)
    new = ageing.parts["d"]
    assert new.prior.startswith("no failures yet: borrowed from seals (3 parts, 7 failures); ")
    assert 450 < new.mean_life < 1000
    assert ageing.notes == ()
    assert [family.by_expected_life for family in ageing.families] == [True, False]


def test_with_failures_of_its_own_nothing_is_borrowed_alone():
    lives, parts = family_of()
    part = fit_parts({**lives, "d": fell(700)}, *parts).parts["d"]
    assert "borrowed" not in part.prior
    assert "family seals: 4 parts, 8 failures" in part.prior


def test_one_member_with_failures_is_no_family_yet():
    lives, parts = family_of()
    ageing = fit_parts({"a": lives["a"], "b": ran(500)}, *parts)
    assert ageing.families == ()
    assert "the expected lives of family seals" in ageing.parts["d"].prior


def test_members_on_another_clock_are_not_pooled():
    lives, parts = family_of(clock="days")
    ageing = fit_parts(lives, *parts)
    assert {family.clock for family in ageing.families} == {"hours"}
    assert "borrowed" not in ageing.parts["d"].prior
    assert len(ageing.notes) == 1


def test_unlike_members_leave_the_spread_wide():
    lives, parts = family_of(expected_life=1000)
    unlike = {**lives, "b": fell(9000) + fell(12000) + fell(8000)}
    alike = fit_parts(lives, *parts).parts["d"]
    apart = fit_parts(unlike, *parts).parts["d"]
    assert apart.mean_life_high / apart.mean_life_low > alike.mean_life_high / alike.mean_life_low


def makers(factor, count=12, seed=2):
    draw = np.random.default_rng(seed)
    lives, parts = {}, []
    for number in range(count):
        name, expected = f"p{number}", draw.uniform(300, 3000)
        mean = expected * factor * np.exp(draw.normal(0, 0.3))
        ages = mean / gamma(1.5) * draw.exponential(size=6) ** 0.5
        lives[name] = [life for age in ages for life in fell(age)]
        parts.append({"part": name, "wear": "wears", "expected_life": expected})
    return lives, [*parts, {"part": "new", "wear": "wears", "expected_life": 1000}]


def test_expected_lives_too_long_on_the_whole_are_corrected_and_noted():
    lives, parts = makers(0.5)
    ageing = fit_parts(lives, *parts)
    assert ageing.life_factor == pytest.approx(0.5, rel=0.25)
    assert ageing.parts["new"].mean_life == pytest.approx(1000 * ageing.life_factor, rel=0.01)
    (note,) = ageing.notes
    assert note.column == "expected_life"
    assert f"last {ageing.life_factor:.2f} times their expected lives" in note.text


def test_expected_lives_right_on_the_whole_are_left_alone():
    lives, parts = makers(1.0)
    ageing = fit_parts(lives, *parts)
    assert ageing.life_factor == 1.0
    assert ageing.notes == ()


def test_few_witnesses_prove_nothing_of_the_whole_fleet():
    lives, parts = makers(0.4, count=5)
    assert fit_parts(lives, *parts).life_factor == 1.0
