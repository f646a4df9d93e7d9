"""Published gamma-Poisson pooling and tests of equal rates. Sources and values: README.md.

Each pump or aircraft stands for a boat with one part: the room's boat factors of mean 1 times the
part's common rate are the gamma of two parameters that the sources fit.
"""

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from ageing_builders import aboard, fell, fit_part, lives_of_parts
from scipy.integrate import quad
from scipy.special import chdtrc, gammaln

from stockopt.ageing.between_boats import compare_boats
from stockopt.ageing.boats import collect_cells, fit_factors, log_likelihood, mean_factors
from stockopt.ageing.watched import expect_failures, watch

DATA = Path(__file__).parent / "data"


def read(name):
    with (DATA / f"{name}.csv").open(newline="") as file:
        return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]


def watched_hours(hours_by_boat):
    """Lives of one part, every one of them ended by a failure after the hours given."""
    lives = [
        life
        for boat, hours in hours_by_boat.items()
        for each in hours
        for life in aboard(boat, fell(each))
    ]
    table = lives_of_parts({"seal": lives}).lives
    return watch(table, pd.Index(["seal"]), pd.Index(list(hours_by_boat)))


def fit_gamma(watched, exposure):
    """Shape and rate of the gamma of the boats' failure rates, and their posterior means."""
    fitted = fit_factors(collect_cells(watched, np.ones(1)))
    shape = 1 / fitted.variance
    rate = watched.failed.sum() / (fitted.factor @ exposure)
    return shape, shape / rate, rate * fitted.factor


@pytest.fixture
def pumps():
    rows = read("pumps")
    failures = np.array([row["failures"] for row in rows])
    return failures, np.array([row["khours"] for row in rows])


@pytest.fixture
def aircraft():
    hours = {}
    for row in read("air_conditioning"):
        hours.setdefault(f"{row['aircraft']:.0f}", []).append(row["hours"])
    return hours


def test_ten_pumps(pumps):
    """George, Makov & Smith, Scand. J. Statist. 20 (1993); estimates from memory, data read."""
    failures, khours = pumps
    hours = {
        f"pump {number}": [1000 * run / count] * int(count)
        for number, (count, run) in enumerate(zip(failures, khours, strict=True))
    }
    shape, rate, means = fit_gamma(watched_hours(hours), khours)
    assert shape == pytest.approx(0.823, abs=5e-4)
    assert rate == pytest.approx(1.261, abs=1e-3)
    # Recomputed by us, as the log likelihood.
    assert means == pytest.approx(
        [0.0609, 0.1075, 0.0908, 0.1165, 0.588, 0.6069, 0.7886, 0.7886, 1.4347, 1.9405], abs=6e-5
    )
    expected = shape / rate * khours
    total = log_likelihood(1 / shape, failures, expected)
    total += (failures * np.log(expected) - gammaln(failures + 1)).sum()
    assert total == pytest.approx(-32.2578, abs=1e-3)


def test_ten_pumps_with_a_prior_on_the_common_rate(pumps):
    """Model of Gelfand & Smith, JASA 85 (1990), section 4.2; means recomputed by us.

    The room takes the likeliest common rate; here its likelihood and its means given that rate are
    integrated over the model's prior, Gamma(0.01, 1).
    """
    failures, khours = pumps
    shape = 1.802

    def weigh(rate, value):
        expected = shape / rate * khours
        density = log_likelihood(1 / shape, failures, expected) + failures @ np.log(expected)
        return np.exp(density - 120) * rate ** (0.01 - 1) * np.exp(-rate) * value(rate)

    def mean(value):
        return quad(weigh, 0, 30, (value,))[0] / quad(weigh, 0, 30, (lambda _: 1.0,))[0]

    def rate_of(pump):
        return lambda rate: (
            shape / rate * mean_factors(1 / shape, failures, shape / rate * khours)[pump]
        )

    assert mean(lambda rate: rate) == pytest.approx(2.473, abs=2e-3)
    assert [mean(rate_of(pump)) for pump in range(10)] == pytest.approx(
        [0.0703, 0.1544, 0.1041, 0.123, 0.6277, 0.6144, 0.8273, 0.8273, 1.2985, 1.8401], abs=1e-4
    )


def test_air_conditioning_of_fourteen_aircraft(aircraft):
    """Data of Proschan, Technometrics 5 (1963) 375-383; all values recomputed by us."""
    watched = watched_hours(aircraft)
    expected = expect_failures(watched, np.ones(1), np.ones(14))
    statistic, p_value = compare_boats(watched, expected)
    assert statistic[0] == pytest.approx(32.5526, abs=1e-3)
    assert chdtrc(13, statistic[0]) == pytest.approx(0.001988, abs=1e-5)
    # Divided by 1.016 so that the chance holds for few failures too.
    assert 0.001988 < p_value[0] < 0.003

    exposure = np.array([sum(hours) for hours in aircraft.values()])
    shape, rate, means = fit_gamma(watched, exposure)
    assert shape == pytest.approx(11.137, abs=0.01)
    assert rate == pytest.approx(990.5, abs=1.5)
    assert 1000 * shape / rate == pytest.approx(11.2434, abs=0.003)
    assert means == pytest.approx(
        (shape + np.array([len(hours) for hours in aircraft.values()])) / (rate + exposure),
        rel=1e-6,
    )


def test_air_conditioning_pooled(aircraft):
    part = fit_part([life for hours in aircraft.values() for each in hours for life in fell(each)])
    assert part.failures == 205
    assert part.exposure == 18557
    assert 1000 / part.rate_per_1000 == pytest.approx(90.52195, abs=1e-4)
