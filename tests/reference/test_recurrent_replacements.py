"""Published records of recurrent replacements and trends. Sources and values: README.md.

A machine whose failures follow a power law (intensity b t^(b-1) / e^b over its own age t, repairs
making nothing new) has the likelihood of Weibull lives that each enter at the age at which the one
before failed: so these fits test the room's late entry.
"""

import csv
from math import log
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from ageing_builders import aboard, fell, fit_part, lives_of_parts, ran

from stockopt.ageing.trend import find_trends
from stockopt.ageing.watched import expect_failures, watch

DATA = Path(__file__).parent / "data"
DAY_0 = pd.Timestamp("2000-01-01")

IMPROVED = [5.0, 40.0, 43.0, 175.0, 389.0, 712.0, 747.0, 795.0, 1299.0, 1478.0]


def read(name):
    with (DATA / f"{name}.csv").open(newline="") as file:
        return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]


def hours_of(name):
    return [1000 * row["khours"] for row in read(name)]


def machine(times, end):
    """Lives of one machine that ages on, its hours run day and night."""
    lives, before = [], 0.0
    for time in times:
        lives += aboard("Alba", fell(time, before), DAY_0, DAY_0 + pd.Timedelta(hours=time))
        before = time
    if end > before:
        lives += aboard("Alba", ran(end, before), DAY_0, DAY_0 + pd.Timedelta(hours=end))
    return lives


def laplace(times, end):
    """The room's statistic were the rate constant whatever the age."""
    table = lives_of_parts({"seal": machine(times, end)}).lives
    watched = watch(table, pd.Index(["seal"]), pd.Index(["Alba"]))
    constant = np.ones(1)
    z, _ = find_trends(watched, constant, expect_failures(watched, constant, constant))
    return z[0]


def test_valve_seats_of_41_engines():
    """Nelson & Doganaksoy (1989), as in Meeker & Escobar (1998), table C.8; fit from memory."""
    lives, before, engines = [], {}, set()
    for row in read("valve_seats"):
        engine, day = row["engine"], row["day"]
        lives += (fell if row["replaced"] else ran)(day, before.get(engine, 0.0))
        before[engine] = day
        engines.add(engine)
    part = fit_part(lives, clock="days")
    assert len(engines) == 41
    assert part.failures == 48
    assert part.exposure == 25363
    assert part.rate_per_1000 / 1000 == pytest.approx(0.00189252, abs=1e-8)
    assert part.ml_shape == pytest.approx(1.3996, abs=5e-5)
    assert part.ml_scale == pytest.approx(553.64, abs=0.01)


@pytest.mark.parametrize(
    ("day", "printed"),
    [(61, 0.024390), (139, 0.219512), (404, 0.683537), (604, 1.059719), (653, 1.542688)],
)
def test_valve_seats_per_engine_by_day(day, printed):
    """The mean cumulative number, recomputed by us: the room has no use for it.

    It checks the data as typed in, ties included, by a formula of its own.
    """
    rows = read("valve_seats")
    ends = [row["day"] for row in rows if not row["replaced"]]
    mean = sum(
        1 / sum(end >= row["day"] for end in ends)
        for row in rows
        if row["replaced"] and row["day"] <= day
    )
    assert mean == pytest.approx(printed, abs=1e-6)


def test_a_submarine_diesel_that_hardly_ages():
    """Data of Lee, Technometrics 22 (1980) 195-199; all values recomputed by us.

    Estimates remembered from a book (shape 1.22, scale 0.553) are not those of these data.
    """
    hours = hours_of("submarine_diesel_56")
    part = fit_part(machine(hours, 16_000))
    assert part.failures == 56
    assert part.ml_shape == pytest.approx(1.13507, abs=1e-4)
    assert part.ml_scale / 1000 == pytest.approx(0.461277, abs=1e-5)
    # 2 sum(log(T / t)) = 2 r / shape
    assert 2 * 56 / part.ml_shape == pytest.approx(98.67226, abs=1e-4)
    assert laplace(hours, 16_000) == pytest.approx(0.397379, abs=1e-5)


def test_a_submarine_diesel_that_ages():
    """Ascher & Feingold (1984), p. 75; Meeker & Escobar (1998), example 16.10: from memory."""
    hours = hours_of("submarine_diesel_71")
    part = fit_part(machine(hours, 25_518))
    assert part.failures == 71
    assert part.ml_shape == pytest.approx(2.76, abs=0.005)
    assert part.ml_scale / 1000 == pytest.approx(5.45, abs=0.005)
    assert 2 * 71 / part.ml_shape == pytest.approx(51, abs=0.5)
    # Watched to the last failure, which then does not count. Recomputed by us.
    assert laplace(hours[:-1], 25_518) == pytest.approx(7.4431, abs=5e-4)


def test_ten_failures_in_1500_hours():
    """NIST/SEMATECH e-Handbook 8.2.3.4, 8.4.5.2; formulas read, data and answers from memory.

    The handbook's shape is (r - 1) / sum(log(T / t)), the likeliest times (r - 1) / r.
    """
    part = fit_part(machine(IMPROVED, 1500))
    shape = part.ml_shape * 9 / 10
    assert 2 * 10 / part.ml_shape == pytest.approx(37.23, abs=0.005)
    assert 1 - shape == pytest.approx(0.5165, abs=5e-5)
    assert 10 / 1500**shape == pytest.approx(0.2913, abs=5e-5)
    assert 1500 / (10 * shape) == pytest.approx(310.234, abs=1e-3)
    assert laplace(IMPROVED, 1500) == pytest.approx(-1.32695, abs=1e-4)


def test_the_scale_is_where_one_failure_is_expected():
    """By hand: with T and r the scale is T / r^(1/shape)."""
    part = fit_part(machine(IMPROVED, 1500))
    assert log(part.ml_scale) == pytest.approx(log(1500) - log(10) / part.ml_shape, rel=1e-9)
