"""Probabilities mixed over the nodes against a plain fine grid, within the 1e-4 promised."""

import numpy as np
import pytest
from ageing_builders import fell, fit_part, ran
from ageing_plain import count_at_most, plain_points

from stockopt.ageing.nodes import gauss_rule

SHARES = np.array([0.05, 0.1, 0.2, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0])  # of the mean life

CASES = {
    "wears, no record": ([], "wears"),
    "random, no record": ([], "random"),
    "wear not known, no record": ([], None),
    "one failure": (fell(400) + ran(300, times=10), "wears"),
    "ran well and never failed": (ran(900, times=20), "wears"),
    "six failures": ([life for age in range(350, 950, 100) for life in fell(age) + ran(500)], None),
    "fifty failures": (
        [life for age in range(200, 1200, 20) for life in fell(age) + ran(500)],
        "wears",
    ),
}


def ages_seen(lives, mean_life):
    """Ages the records reach: of pieces older than any seen only a fleet without records knows."""
    oldest = max((life["left"] for life in lives), default=np.inf)
    return [0.0, *(age for age in SHARES * mean_life if age <= oldest)]


def last_on(shape, scale, weight, age, times):
    """Chance that a piece of the age lasts each of the times on."""
    gone = (age / scale) ** shape
    return np.array(
        [(weight * np.exp(gone - ((age + time) / scale) ** shape)).sum() for time in times]
    )


@pytest.mark.parametrize("case", CASES)
def test_chances_and_counts(case):
    lives, wear = CASES[case]
    part = fit_part(lives, wear=wear, expected_life=1000)
    fine = plain_points(lives, wear, 1000)
    nodes = (part.nodes.shape, part.nodes.scale, part.nodes.weight)
    times = SHARES * part.mean_life
    for age in ages_seen(lives, part.mean_life):
        assert last_on(*nodes, age, times) == pytest.approx(last_on(*fine, age, times), abs=1e-4), (
            age
        )
    for most in (0, 1, 3):
        by_nodes, by_fine = (
            count_at_most(shape, scale, most, times) @ weight
            for shape, scale, weight in (nodes, fine)
        )
        assert by_nodes == pytest.approx(by_fine, abs=1e-4), most


def test_nodes_are_few():
    assert len(fit_part([], wear="random", expected_life=1000).nodes.weight) < 60
    assert len(fit_part([], wear="wears", expected_life=1000).nodes.weight) < 140
    assert len(fit_part(fell(900, times=300), wear="wears", expected_life=1000).nodes.weight) < 60


def test_gauss_rule_is_right_for_polynomials():
    points = np.linspace(-3, 4, 40)[None, :]
    weight = np.exp(-(points**2) / 2) * (1 + 0.3 * np.sin(points))
    weight /= weight.sum()
    own_points, own_weight = gauss_rule(points, weight, 5)
    for degree in range(10):
        assert (own_weight * own_points**degree).sum() == pytest.approx(
            (weight * points**degree).sum(), rel=1e-10, abs=1e-10
        )
