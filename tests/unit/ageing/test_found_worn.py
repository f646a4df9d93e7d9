"""A piece found worn failed, for the fit, half way between last seen sound and found."""

import numpy as np
import pytest
from ageing_builders import fell, fleet_of_parts, lives_of_parts, ran

from stockopt.ageing.fit import fit_ageing
from stockopt.ageing.likelihood import ages_left


def told(lives, sound):
    table = lives_of_parts({"seal": lives})
    table.lives["sound"] = sound
    return table


def test_half_way_for_failures_and_as_it_was_for_the_others():
    lives = told([*fell(120), *fell(90), *ran(150)], [80.0, 90.0, 150.0]).lives
    assert ages_left(lives).tolist() == [100, 90, 150]


def test_never_below_the_smallest_age_believed():
    assert ages_left(told(fell(1.2), [0.0]).lives).tolist() == [1]


def test_the_fit_is_that_of_a_failure_half_way():
    fleet = fleet_of_parts({"part": "seal", "expected_life": 100})
    found = fit_ageing(told([*fell(120), *ran(150)], [80.0, 150.0]), fleet).parts["seal"]
    plain = fit_ageing(lives_of_parts({"seal": [*fell(100), *ran(150)]}), fleet).parts["seal"]
    assert found.mean_life == pytest.approx(plain.mean_life, rel=1e-12)
    assert found.shape == pytest.approx(plain.shape, rel=1e-12)
    # The running watched is what it was, to the day it was found.
    assert found.exposure == 270
    assert np.isclose(plain.exposure, 250)
