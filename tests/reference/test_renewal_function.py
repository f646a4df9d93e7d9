"""The Weibull renewal function: expected failures of a piece fitted new."""

import numpy as np
import pytest

from stockopt.demand.counts import NEW, count_needs
from stockopt.demand.weibull import WeibullLives

# Tijms, A First Course in Stochastic Models (2003), table 8.1.1, page 312, read: mean 1, squared
# coefficient of variation 0.25.
SHAPE, SCALE = 2.101349, 1.129063
TIMES = [0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.5, 2.0, 2.5]
PRINTED = [0.0061, 0.0261, 0.1087, 0.2422, 0.4141, 0.6091, 0.8143, 1.124, 1.627, 2.125]
HALF_A_DIGIT = [5e-5] * 7 + [5e-4] * 3
# Own recomputation with Xie's scheme (1989) on 4,000 steps.
FINER = [0.00612, 0.02609, 0.10866, 0.24224, 0.41405, 0.60909, 0.81434, 1.12374, 1.62667, 2.12482]


@pytest.mark.parametrize("row", range(len(TIMES)))
def test_expected_failures_are_the_published_ones(row):
    life = WeibullLives(shape=np.array([SHAPE]), scale=np.array([SCALE]))
    plan = (0.0, TIMES[row])
    counts = count_needs(life, np.ones(1), [plan, plan], [NEW])
    found = counts.failures[0, 0]
    assert found == pytest.approx(PRINTED[row], abs=HALF_A_DIGIT[row] + 1e-6)
    assert found == pytest.approx(FINER[row], abs=6e-6)
    # The chances of 1, 2 ... needs or more add to the same.
    assert counts.at_least[1][0, 0].sum() == pytest.approx(found, abs=1e-5)


def test_every_second_failure_follows_the_closed_form_of_two_stages():
    # Cox, Renewal Theory (1962), section 4.3: lives of two exponential stages of rate l have
    # M(t) = l t / 2 - (1 - exp(-2 l t)) / 4; at rate 2 and t = 3 that is 2.7500015 (own
    # recomputation). The room knows Weibull lives only: shape 1 is one stage, and every second of
    # its failures ends a life of two.
    rate, time = 2.0, 3.0
    life = WeibullLives(shape=np.ones(1), scale=np.array([1.0 / rate]))
    plan = (0.0, time)
    counts = count_needs(life, np.ones(1), [plan, plan], [NEW])
    every_second = counts.at_least[1][0, 0][1::2].sum()
    closed = rate * time / 2.0 - (1.0 - np.exp(-2.0 * rate * time)) / 4.0
    assert closed == pytest.approx(2.7500015, abs=1e-7)
    assert every_second == pytest.approx(closed, abs=2e-5)
