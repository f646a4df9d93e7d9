"""The chance of failing before long, against plain integration."""

import numpy as np
import pytest
from scipy.integrate import quad

from stockopt.ageing.ageing import Nodes
from stockopt.ageing.outlook import chance_of_failing

NODES = Nodes(
    shape=np.array([0.7, 1.0, 2.3, 4.0]),
    scale=np.array([400.0, 900.0, 650.0, 800.0]),
    weight=np.array([0.1, 0.2, 0.4, 0.3]),
)


def one(shape, scale):
    return Nodes(shape=np.array([shape]), scale=np.array([scale]), weight=np.ones(1))


def by_integration(nodes, age, span, age_known, factor):
    total = 0.0
    for shape, scale, weight in zip(nodes.shape, nodes.scale, nodes.weight, strict=True):

        def hazard(x, shape=shape, scale=scale):
            return factor * (x / scale) ** shape

        def density(x, shape=shape, scale=scale):
            rate = factor * shape / scale * (x / scale) ** (shape - 1)
            return rate * np.exp(hazard(age) - hazard(x))

        def left(x):
            return np.exp(hazard(age) - hazard(x))

        if age_known:
            total += weight * quad(density, age, age + span)[0]
        else:
            most = age + scale * (40.0 ** (1.0 / shape))
            before = quad(left, age, age + span, epsabs=1e-12)[0]
            after = quad(left, age + span, most + span, epsabs=1e-12, limit=500)[0]
            total += weight * before / (before + after)
    return total


@pytest.mark.parametrize("age_known", [True, False])
@pytest.mark.parametrize(("age", "span"), [(50.0, 100.0), (420.0, 90.0), (1300.0, 400.0)])
@pytest.mark.parametrize("factor", [1.0, 2.5])
def test_against_integration(age, span, age_known, factor):
    found = chance_of_failing(NODES, age, span, age_known=age_known, factor=factor)
    expected = by_integration(NODES, age, span, age_known, factor)
    assert found == pytest.approx(expected, abs=1e-7)


def test_an_unknown_age_is_the_equilibrium_age_averaged_over():
    """The same by its other definition: the chance at each age, weighed by survival."""
    nodes, least, span = one(2.3, 650.0), 100.0, 150.0

    def survival(age):
        return np.exp(-((age / 650.0) ** 2.3))

    whole = quad(survival, least, 6000)[0]
    mixed = quad(lambda a: survival(a) * chance_of_failing(nodes, a, span), least, 6000)[0] / whole
    assert chance_of_failing(nodes, least, span, age_known=False) == pytest.approx(mixed, abs=1e-8)


def test_a_constant_rate_knows_no_age():
    for age in (0.0, 30.0, 5000.0):
        for age_known in (True, False):
            found = chance_of_failing(one(1.0, 500.0), age, 100.0, age_known=age_known)
            assert found == pytest.approx(1 - np.exp(-0.2), rel=1e-9)


def test_the_boat_factor_is_a_power_of_survival():
    for age in (0.0, 400.0):
        plain = chance_of_failing(one(2.0, 700.0), age, 100.0)
        hard = chance_of_failing(one(2.0, 700.0), age, 100.0, factor=3.0)
        assert 1 - hard == pytest.approx((1 - plain) ** 3)


@pytest.mark.parametrize("age_known", [True, False])
def test_ages_far_beyond_every_life(age_known):
    """Where survival is too small for a number it still is a chance, and grows with the span."""
    nodes = one(5.0, 100.0)
    chances = [
        chance_of_failing(nodes, 500.0, span, age_known=age_known) for span in (0, 0.01, 0.1, 50)
    ]
    assert chances[0] == 0.0
    assert chances == sorted(chances)
    assert chances[-1] == pytest.approx(1.0)
    # Hazard rate 5 / 100 x 5^4 = 31.25 an hour there.
    assert chances[1] == pytest.approx(1 - np.exp(-0.3125), rel=2e-3)


def test_nothing_fails_in_no_time():
    assert chance_of_failing(NODES, 0.0, 0.0) == 0.0
    assert chance_of_failing(NODES, 0.0, 0.0, age_known=False) == 0.0
