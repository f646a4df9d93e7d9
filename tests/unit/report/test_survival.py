"""Survival curves against two other implementations, worked cases and plain simulation."""

import lifelines
import numpy as np
import pytest
from report_builders import make_ageing, make_lives_table
from scipy import stats

from stockopt.ageing.ageing import Nodes
from stockopt.report.survival import draw_curves, fitted_curve, kaplan_meier


def random_lives(seed, late):
    rng = np.random.default_rng(seed)
    left = np.round(rng.weibull(2.0, 60) * 500.0) + 1.0
    entered = np.where(rng.random(60) < late, np.round(rng.uniform(0.0, 0.8, 60) * left), 0.0)
    return entered, left, rng.random(60) < 0.6


@pytest.mark.parametrize("seed", range(5))
def test_against_scipy_where_all_are_watched_from_new(seed):
    entered, left, failed = random_lives(seed, late=0.0)
    steps = kaplan_meier(entered, left, failed)
    data = stats.CensoredData(uncensored=left[failed], right=left[~failed])
    reference = stats.ecdf(data).sf
    assert steps.at(reference.quantiles) == pytest.approx(reference.probabilities, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_against_lifelines_where_some_are_watched_late(seed):
    entered, left, failed = random_lives(seed, late=0.5)
    steps = kaplan_meier(entered, left, failed)
    fitter = lifelines.KaplanMeierFitter().fit(left, failed, entry=entered)
    ages = np.arange(left.min(), left.max(), 7.0)
    reference = fitter.survival_function_at_times(ages).to_numpy()
    assert steps.at(ages) == pytest.approx(reference, abs=1e-9)


def test_by_hand():
    """Watched at 5: three; at 9: two, one of them from 6 on; the one that left at 9 counts."""
    entered = np.array([0.0, 0.0, 0.0, 6.0])
    left = np.array([5.0, 9.0, 7.0, 9.0])
    failed = np.array([True, True, False, False])
    steps = kaplan_meier(entered, left, failed)
    assert steps.age.tolist() == [5.0, 9.0]
    assert steps.survival == pytest.approx([2 / 3, 1 / 3])
    ages = np.array([0.0, 4.9, 5.0, 8.9, 9.0, 50.0])
    assert steps.at(ages) == pytest.approx([1, 1, 2 / 3, 2 / 3, 1 / 3, 1 / 3])


def test_no_failure_and_no_life():
    none = np.array([])
    assert kaplan_meier(none, none, none.astype(bool)).at(np.array([3.0])) == 1.0


def test_a_piece_that_fails_at_the_age_it_came_under_watch():
    steps = kaplan_meier(np.array([4.0]), np.array([4.0]), np.array([True]))
    assert steps.survival.tolist() == [0.0]


@pytest.mark.parametrize(
    ("shape_spread", "scale_spread", "bend", "rows", "points", "allowed"),
    [
        (0.2, 0.12, 0.3, 7, 11, 0.006),
        (0.35, 0.4, -0.3, 6, 10, 0.008),
        (0.1, 0.05, 0.0, 5, 7, 0.006),
    ],
)
def test_the_band_of_a_few_nodes_is_that_of_what_they_stand_for(
    shape_spread, scale_spread, bend, rows, points, allowed
):
    """Nodes on a coarse grid of a known posterior, against 200,000 draws from it."""
    across, along = np.meshgrid(
        np.linspace(-3.2, 3.2, rows), np.linspace(-3.2, 3.2, points), indexing="ij"
    )

    def law(first, second):
        mixed = bend * first + np.sqrt(1.0 - bend**2) * second
        return 2.2 * np.exp(shape_spread * first), 700.0 * np.exp(scale_spread * mixed)

    shape, scale = law(across.ravel(), along.ravel())
    weight = np.exp(-0.5 * (across**2 + along**2)).ravel()
    nodes = Nodes(shape=shape, scale=scale, weight=weight / weight.sum())
    age = np.linspace(0.0, 1200.0, 13)
    found = fitted_curve(nodes, age)
    shapes, scales = law(*np.random.default_rng(1).standard_normal((2, 200_000)))
    drawn = np.exp(-((age[:, None] / scales) ** shapes))
    low, high = np.quantile(drawn, [0.05, 0.95], axis=1)
    assert found.low == pytest.approx(low, abs=allowed)
    assert found.high == pytest.approx(high, abs=allowed)
    assert found.survival == pytest.approx(drawn.mean(axis=1), abs=0.002)


def test_one_node_is_its_own_band():
    nodes = Nodes(shape=np.array([2.0]), scale=np.array([700.0]), weight=np.ones(1))
    age = np.linspace(0.0, 1000.0, 9)
    curve = fitted_curve(nodes, age)
    expected = np.exp(-((age / 700.0) ** 2))
    for values in (curve.survival, curve.low, curve.high):
        assert values == pytest.approx(expected, abs=0.01)


def test_lives_of_unknown_age_are_left_out_and_the_curve_goes_on_beyond_the_last():
    lives = make_lives_table()
    curves = draw_curves(make_ageing("IMP-1"), lives[lives["part"] == "IMP-1"], 20)
    assert curves.steps.age.tolist() == [540.0]
    assert curves.unfailed.tolist() == [420.0]
    assert curves.fitted.age[[0, -1]] == pytest.approx([0.0, 1.5 * 624.0])
    unknown = draw_curves(make_ageing("SEAL-7"), lives[lives["part"] == "SEAL-7"], 20)
    assert len(unknown.unfailed) == len(unknown.steps.age) == 0
