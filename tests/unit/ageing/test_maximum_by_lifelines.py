"""Maximum likelihood against an independent package, late entry included."""

import warnings

import numpy as np
import pandas as pd
import pytest
from ageing_builders import fell, fit_part, fit_parts, ran

from stockopt.ageing.likelihood import collect_records
from stockopt.ageing.maximum import fit_maximum


def simulated(seed: int, shape: float, pieces: int):
    """Lives of one part: some failed, some cut short, a third watched from late on."""
    draw = np.random.default_rng(seed)
    entered = np.where(draw.random(pieces) < 0.33, draw.uniform(50, 400, pieces), 0.0)
    # None under the smallest age that is believed, which the other package does not know of.
    fails = 1.0 + 800 * ((entered / 800) ** shape + draw.exponential(size=pieces)) ** (1 / shape)
    cut = entered + draw.uniform(200, 900, pieces)
    return pd.DataFrame(
        {"entered": entered, "left": np.minimum(fails, cut), "failed": fails < cut, "part": "seal"}
    )


def by_lifelines(lives):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package's own, and of no concern here
        from lifelines import WeibullFitter

        fitted = WeibullFitter().fit(lives["left"], lives["failed"], entry=lives["entered"])
    return fitted.rho_, fitted.lambda_


@pytest.mark.parametrize("shape", [0.8, 1.5, 3.0])
@pytest.mark.parametrize("pieces", [30, 200])
def test_agrees(shape, pieces):
    lives = simulated(pieces, shape, pieces)
    assert lives["failed"].sum() > 3
    own_shape, own_scale = fit_maximum(collect_records(lives, pd.Index(["seal"])))
    other_shape, other_scale = by_lifelines(lives)
    assert own_shape[0] == pytest.approx(other_shape, rel=1e-6)
    assert own_scale[0] == pytest.approx(other_scale, rel=1e-6)


@pytest.mark.parametrize("shape", [0.8, 1.5, 3.0])
def test_is_where_the_likelihood_is_flat(shape):
    lives = simulated(3, shape, 40)
    own = fit_maximum(collect_records(lives, pd.Index(["seal"])))
    b, e = own[0][0], own[1][0]

    def log_likelihood(b, e):
        x, u = lives["left"], lives["entered"]
        hazard = np.log(b) - b * np.log(e) + (b - 1) * np.log(x)
        return hazard[lives["failed"]].sum() - ((x**b - u**b) / e**b).sum()

    top = log_likelihood(b, e)
    for share in (0.999, 1.001):
        assert log_likelihood(b * share, e) < top
        assert log_likelihood(b, e * share) < top
    step = 1e-5
    assert log_likelihood(b + step, e) - log_likelihood(b - step, e) == pytest.approx(0, abs=1e-8)


def test_wants_three_failures():
    two = fit_part(fell(400) + fell(600) + ran(500, times=9))
    three = fit_part(fell(400) + fell(600) + fell(700) + ran(500, times=9))
    assert (two.ml_shape, two.ml_scale) == (None, None)
    assert three.ml_shape > 1
    assert three.ml_scale > 500


def test_three_failures_of_unknown_age_are_none():
    assert fit_part(fell(400, age_known=False, times=5)).ml_shape is None


def test_none_where_the_likelihood_has_no_top():
    alike = fit_part(fell(500, times=4))  # the steeper the better
    assert (alike.ml_shape, alike.ml_scale) == (None, None)
    assert 1.5 < alike.shape < 20  # the posterior has one all the same


def test_parts_do_not_disturb_each_other():
    some = [life for age in (210, 340, 560, 720) for life in fell(age) + ran(400)]
    other = [life for age in (20, 900, 2000) for life in fell(age, 10)]
    both = fit_parts({"a": some, "b": other}, {"part": "b"}, {"part": "x"}, {"part": "a"})
    assert both.parts["a"].ml_shape == pytest.approx(fit_part(some).ml_shape, rel=1e-12)
    assert both.parts["b"].ml_shape == pytest.approx(fit_part(other).ml_shape, rel=1e-12)
    assert both.parts["x"].ml_shape is None
