import numpy as np
import pytest
from scipy.stats import chi2, poisson

from stockopt.ageing.exact import rate_interval


def interval(failures, exposure, confidence=0.9):
    low, high = rate_interval(np.array([failures]), np.array([exposure]), confidence)
    return low[0], high[0]


@pytest.mark.parametrize("failures", [1, 2, 7, 40])
@pytest.mark.parametrize("confidence", [0.6, 0.9, 0.95])
def test_is_the_chi_square_interval(failures, confidence):
    tail = (1 - confidence) / 2
    low, high = interval(failures, 1234.0, confidence)
    assert low == pytest.approx(chi2.ppf(tail, 2 * failures) / 2 / 1234.0, rel=1e-12)
    assert high == pytest.approx(chi2.ppf(1 - tail, 2 * failures + 2) / 2 / 1234.0, rel=1e-12)


@pytest.mark.parametrize("failures", [1, 3, 12])
def test_its_ends_leave_five_in_a_hundred_either_side(failures):
    low, high = interval(failures, 500.0)
    assert poisson.sf(failures - 1, low * 500.0) == pytest.approx(0.05, abs=1e-12)
    assert poisson.cdf(failures, high * 500.0) == pytest.approx(0.05, abs=1e-12)


def test_without_failures_the_rate_may_be_nought():
    low, high = interval(0, 800.0)
    assert low == 0.0
    assert high == pytest.approx(-np.log(0.05) / 800.0, rel=1e-12)


def test_without_running_the_rate_may_be_anything():
    assert interval(0, 0.0) == (0.0, np.inf)
    assert interval(2, 0.0) == (0.0, np.inf)
