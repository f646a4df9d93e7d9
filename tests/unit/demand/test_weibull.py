"""Lives in closed form, against numerical integration."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad

from stockopt.demand.weibull import WeibullLives

SHAPES = [0.4, 1.0, 2.5, 9.0]


def make(shape, change_at=math.inf):
    return WeibullLives(shape=np.array([shape]), scale=np.array([700.0]), change_at=change_at)


def integrate(function, low, high):
    cuts = np.linspace(low, high, 9)
    return sum(quad(function, *ends, epsabs=0.0, epsrel=1e-10)[0] for ends in pairwise(cuts))


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("change_at", [math.inf, 900.0])
@pytest.mark.parametrize("age", [0.0, 300.0, 880.0, 2000.0])
def test_residual_life_is_the_integral_of_survival(shape, change_at, age):
    lives = make(shape, change_at)
    start = (age / 700.0) ** shape
    far = min(change_at, 700.0 * (start + 45.0) ** (1.0 / shape))
    expected = 0.0
    if far > age:
        expected = integrate(lambda y: math.exp(start - (y / 700.0) ** shape), age, far)
    found = lives.residual(np.array([min(age, change_at)]))[0, 0]
    assert found == pytest.approx(expected, rel=1e-6, abs=1e-9)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("change_at", [math.inf, 900.0])
@pytest.mark.parametrize("age", [0.0, 300.0])
def test_unknown_ages_have_the_equilibrium_law(shape, change_at, age):
    lives = make(shape, change_at)
    last = min(change_at, 700.0 * 60.0 ** (1.0 / shape))

    def survival(y):
        return math.exp(-((y / 700.0) ** shape))

    whole = integrate(survival, age, last)
    for later in (0.0, 40.0, 500.0):
        expected = integrate(survival, min(age + later, last), last) / whole
        found = lives.left_of_unknown(np.array([age]), np.array([[later]]))[0, 0, 0]
        assert found == pytest.approx(expected, abs=1e-7)
    mean = integrate(lambda y: (y - age) * survival(y), age, last) / whole
    assert lives.residual_of_unknown(np.array([age]))[0, 0] == pytest.approx(mean, rel=1e-5)


def test_very_old_pieces_overflow_nowhere():
    lives = make(9.0)
    old = np.array([7000.0])
    # Nearly constant hazard from here on: residual life 1 / hazard rate.
    rate = 9.0 / 700.0 * 10.0**8
    assert lives.residual(old)[0, 0] == pytest.approx(1.0 / rate, rel=1e-6)
    left = lives.left_of_unknown(old, np.array([[0.0, 1.0 / rate]]))[0, 0]
    assert left == pytest.approx([1.0, math.exp(-1.0)], rel=1e-5)
