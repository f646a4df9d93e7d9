"""Published intervals of a constant rate. Sources and printed values: README.md."""

import numpy as np
import pytest
from ageing_builders import fell, fit_part, ran

from stockopt.ageing.exact import rate_interval


def mean_time_bounds(failures, exposure, confidence):
    """Lower and upper bound of the mean time between failures, two-sided."""
    low, high = rate_interval(np.array([failures]), np.array([exposure]), confidence)
    return 1 / high[0], 1 / low[0] if low[0] > 0 else np.inf


def test_two_failures_in_800_hours():
    """NIST/SEMATECH e-Handbook 8.4.5.1; the formula read, the numbers from memory."""
    part = fit_part(fell(300) + fell(200) + ran(300))
    assert (part.failures, part.exposure) == (2, 800.0)
    assert 1000 / part.rate_per_1000 == pytest.approx(400, abs=1e-9)
    assert 1000 / part.rate_high == pytest.approx(127, abs=0.5)
    assert 1000 / part.rate_low == pytest.approx(2251, abs=0.5)


@pytest.mark.parametrize(("confidence", "bound"), [(0.90, 267.046560556), (0.80, 347.435585523)])
def test_no_failure_in_800_hours(confidence, bound):
    """NIST/SEMATECH e-Handbook 8.4.5.1: T / -ln(a) without failures; 800 h and digits our own.

    The one-sided 95 % bound is the lower end of the two-sided 90 % interval.
    """
    assert mean_time_bounds(0, 800.0, confidence)[0] == pytest.approx(bound, abs=1e-8)


def test_ten_failures_of_twenty_items_replaced_until_the_tenth():
    """MIL-HDBK-338B (1998), 8.3.2.5.2; inputs and outputs from memory.

    Watched until a failure instead of until a time, the lower bound of the mean has 2r degrees of
    freedom: that of one failure fewer watched until a time.
    """
    assert 1600 / 10 == 160
    assert mean_time_bounds(9, 1600.0, 0.90)[0] == pytest.approx(101.88, abs=0.01)
    assert mean_time_bounds(9, 1600.0, 0.95)[0] == pytest.approx(93.65, abs=0.01)
    assert mean_time_bounds(10, 1600.0, 0.95)[1] == pytest.approx(333.65, abs=0.02)


def test_seven_failures_of_twenty_items_in_100_hours():
    """MIL-HDBK-338B, 8.3.2.5.2; inputs and outputs from memory.

    The printed 114.83 comes from a table of chi-square with two decimals; exact is 114.845.
    """
    part = fit_part(
        [life for age in (10, 16, 17, 25, 31, 46, 65) for life in fell(age)] + ran(100, times=13)
    )
    assert part.exposure == 1510
    assert 1000 / part.rate_per_1000 == pytest.approx(215.7, abs=0.05)
    assert 1000 / part.rate_high == pytest.approx(114.83, abs=0.03)
    assert 1000 / part.rate_high == pytest.approx(114.845370423, abs=1e-8)
    low, high = mean_time_bounds(7, 1510.0, 0.95)
    assert low == pytest.approx(104.7, abs=0.05)
    assert high == pytest.approx(536.5, abs=0.1)


@pytest.mark.parametrize(
    ("confidence", "failures", "factors"),
    [
        (0.60, 1, (0.334, 4.4814)),  # from memory
        (0.90, 2, (0.3177, 5.6281)),  # from memory
        (0.80, 3, (0.4490, 2.7222)),  # recomputed by us, as all that follow
        (0.90, 5, (0.4756, 2.5379)),
        (0.90, 10, (0.5895, 1.8432)),
        (0.95, 1, (0.1795, 39.4979)),
        (0.95, 10, (0.5438, 2.0853)),
    ],
)
def test_factors_of_the_mean_time(confidence, failures, factors):
    """NIST/SEMATECH e-Handbook 8.4.5.1, factor tables."""
    bounds = mean_time_bounds(failures, float(failures), confidence)
    assert bounds == pytest.approx(factors, abs=5e-5)
