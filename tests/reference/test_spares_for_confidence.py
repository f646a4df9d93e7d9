"""Spares that suffice with a given confidence: exact Poisson, and what few failures tell."""

from datetime import date

import numpy as np
import pytest
from demand_builders import make_ageing, make_positions, make_voyage
from scipy.special import gammaincinv
from scipy.stats import nbinom

from stockopt.demand.counts import NEW, count_needs
from stockopt.demand.forecast import forecast_demand
from stockopt.demand.mixture import add_positions, find_chances
from stockopt.demand.weibull import WeibullLives


def enough(chances, confidence):
    """The fewest pieces that are enough with this confidence."""
    return int(np.argmax(np.cumsum(chances) >= confidence))


def needs_at_constant_rate(mean):
    """Chances of needs at shape 1 when `mean` are expected."""
    life = WeibullLives(shape=np.ones(1), scale=np.array([1000.0 / mean]))
    counts = count_needs(life, np.ones(1), [(0.0, 1000.0)], [NEW])
    return find_chances(counts.at_least)[0, :, 0, 0]


@pytest.mark.parametrize(
    ("confidence", "spares"),
    [
        (0.90, [0, 0, 1, 1, 2, 3, 4, 5, 7, 8, 12, 14, 26]),
        (0.95, [0, 1, 1, 2, 3, 4, 5, 6, 8, 9, 13, 15, 28]),
        (0.99, [1, 1, 2, 3, 4, 5, 6, 8, 9, 11, 15, 18, 31]),
    ],
)
def test_poisson_table(confidence, spares):
    """Least s with P(Poisson(mu) <= s) >= confidence.

    The rule is that of any Poisson table (Molina 1942; Birolini, Reliability Engineering, section
    4.5, seen); the numbers are our own recomputation with scipy.stats.poisson.
    """
    means = [0.05, 0.1, 0.2, 0.5, 1, 1.5, 2, 3, 4, 5, 8, 10, 20]
    assert [enough(needs_at_constant_rate(mean), confidence) for mean in means] == spares


@pytest.mark.parametrize(("mtbf", "spares"), [(100_000.0, 3), (200_000.0, 2), (300_000.0, 1)])
def test_exact_poisson_needs_fewer_than_the_normal_approximation(mtbf, spares):
    """45 drives for 90 days at 95 %.

    Worked example of the Tcl wiki, 'Spare Parts from Normal Distribution' (2017), read: its
    normal approximation says 3, 2, 2. The exact Poisson says 3, 2, 1 (own recomputation).
    """
    life = WeibullLives(shape=np.ones(1), scale=np.array([mtbf]))
    counts = count_needs(life, np.ones(1), [(0.0, 2160.0)], [NEW])
    drive = find_chances(counts.at_least)[0]
    total = add_positions([drive] * 45, [drive] * 45, np.ones(1))[0][:, 0, 0]
    assert total @ np.arange(len(total)) == pytest.approx(45 * 2160 / mtbf, abs=1e-4)
    assert enough(total, 0.95) == spares


def rates_after(failures, hours, points=400):
    """A gamma posterior of the rate as nodes of equal weight (midpoints of its quantiles)."""
    return gammaincinv(failures, (np.arange(points) + 0.5) / points) / hours


@pytest.mark.parametrize(
    ("hours", "known", "plan", "spares"),
    [
        (32_441.0, 0.5, 90_247.0, 6),
        (32_441.0, 1.0, 90_247.0, 9),
        (251_775.0, 1.5, 270_742.0, 5),
        (251_775.0, 2.0, 270_742.0, 6),
    ],
)
def test_few_failures_give_the_negative_binomial(hours, known, plan, spares):
    """Failures to come after r failures in T hours: NB(r + a0, T / (T + t)), at 95 %.

    Inputs from a public engineering forum (unanswered there); the law is the gamma-Poisson
    predictive (Gelman et al., Bayesian Data Analysis, chapter 2); numbers are our own
    recomputation. Through the whole room: nodes, positions, legs.
    """
    rates = rates_after(known, hours)
    fleet = make_voyage({"unit": {}}, [(date(2031, 5, 1), 300, "Cabo", plan)])
    demand = forecast_demand(
        make_ageing(unit=(1.0, 1.0 / rates)),
        make_positions(("Alba", "port engine", "unit", 0)),
        fleet,
    ).parts["Alba", "unit"]
    chances = demand.whole[0]
    assert enough(chances, 0.95) == spares
    exact = nbinom.cdf(np.arange(4), known, hours / (hours + plan))
    # 400 nodes of equal weight stand for the gamma to about 0.002 where it is infinite at 0.
    assert np.cumsum(chances)[:4] == pytest.approx(exact, abs=3e-3)
    if known == 1.0:
        assert np.cumsum(chances)[:3] == pytest.approx([0.264419, 0.45892, 0.601992], abs=1e-3)
