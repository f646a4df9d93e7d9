"""Told against seen: intervals, and which differences are more than chance."""

import numpy as np
import pytest
from scipy.stats import binomtest

from stockopt.rehearsal.compare import find_spread, see_mean, see_share


@pytest.mark.parametrize("count", [0, 1, 37, 500])
def test_shares_have_the_interval_of_wilson(count):
    happened = np.arange(500) < count
    seen = see_share(happened)
    interval = binomtest(count, 500).proportion_ci(method="wilson")
    assert seen.low == pytest.approx(interval.low, abs=1e-4)
    assert seen.high == pytest.approx(interval.high, abs=1e-4)


def test_intervals_of_means_hold_the_truth_as_often_as_they_say():
    rng = np.random.default_rng(3)
    seen = [see_mean(rng.exponential(size=400)) for _ in range(2_000)]
    held = np.mean([one.low <= 1.0 <= one.high for one in seen])
    assert held == pytest.approx(0.95, abs=0.02)


def test_the_histogram_holds_every_season():
    out = np.random.default_rng(4).lognormal(8, 0.5, size=5_000)
    spread = find_spread(out)
    assert sum(spread.seasons) == 5_000
    assert len(spread.edges) == len(spread.seasons) + 1
    assert dict(spread.quantiles)[0.9] == pytest.approx(np.quantile(out, 0.9))


def test_seasons_that_are_all_alike_have_a_histogram_too():
    assert sum(find_spread(np.full(100, 7.0)).seasons) == 100
