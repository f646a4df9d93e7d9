"""Published Weibull fits of censored lives. Sources and printed values: README.md."""

import csv
from math import exp, gamma, log, sqrt
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from ageing_builders import fell, fit_part, lives_of_parts, ran

from stockopt.ageing.likelihood import collect_records, power_sums

DATA = Path(__file__).parent / "data"


def read_lives(name):
    """Lives of a data set whose columns are age, failed (1 or 0) and count."""
    with (DATA / f"{name}.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return [
        life
        for row in rows
        for life in (fell if row["failed"] == "1" else ran)(
            float(row["age"]), times=int(row["count"])
        )
    ]


def power_sum(lives, shape):
    """Sum of x^b - u^b by the package, in the data's own unit."""
    records = collect_records(lives_of_parts({"x": lives}).lives, pd.Index(["x"]))
    own = power_sums(records, np.array([[shape]]))[0, 0]
    return own * exp(shape * records.log_unit[0])


def log_likelihood(lives, shape, scale):
    ages = [life["left"] for life in lives if life["failed"]]
    rate = sum(log(shape) - shape * log(scale) + (shape - 1) * log(age) for age in ages)
    return rate - power_sum(lives, shape) / scale**shape


def test_twenty_units_to_500_hours():
    """NIST/SEMATECH e-Handbook 8.4.1.3, data of 8.2.2.1; read."""
    lives = read_lives("nist_units")
    part = fit_part(lives)
    b, e = part.ml_shape, part.ml_scale
    assert e == pytest.approx(606.528, abs=0.002)
    assert b == pytest.approx(1.7208, abs=5e-5)
    top = log_likelihood(lives, b, e)
    assert top == pytest.approx(-75.135, abs=5e-4)
    assert 4 - 2 * top == pytest.approx(154.27, abs=0.005)
    mean = e * gamma(1 + 1 / b)
    assert mean == pytest.approx(540.737, abs=0.01)
    assert sqrt(e**2 * gamma(1 + 2 / b) - mean**2) == pytest.approx(323.806, abs=0.01)


def test_shock_absorbers():
    """Meeker & Escobar, Statistical Methods for Reliability Data (1998), table C.2; read.

    One censored distance stands as 18,420 in some copies; that moves the scale by 1.3 km.
    """
    lives = read_lives("shock_absorbers")
    part = fit_part(lives)
    assert len(lives) == 38
    assert log(part.ml_scale) == pytest.approx(10.2298631, abs=1e-6)
    assert 1 / part.ml_shape == pytest.approx(0.3164092, abs=1e-6)
    assert log_likelihood(lives, part.ml_shape, part.ml_scale) == pytest.approx(-123.9954, abs=5e-5)


def test_bearing_cages():
    """USAF Weibull Analysis Handbook, AFWAL-TR-83-2079 (1983); data read, estimates from memory."""
    lives = read_lives("bearing_cages")
    part = fit_part(lives)
    assert len(lives) == 1703
    assert part.ml_shape == pytest.approx(2.035, abs=5e-4)
    assert part.ml_scale == pytest.approx(11792, abs=0.5)
    assert log(part.ml_scale) == pytest.approx(9.375, abs=5e-4)
    assert 1 / part.ml_shape == pytest.approx(0.4913, abs=5e-5)
    tenth = part.ml_scale * (-log(0.9)) ** (1 / part.ml_shape)
    assert tenth == pytest.approx(3903, abs=0.5)


def test_generator_fans():
    """Nelson, Applied Life Data Analysis (1982), p. 133; data read, totals from memory.

    The Weibull estimates are recomputed by us.
    """
    lives = read_lives("generator_fans")
    part = fit_part(lives)
    assert len(lives) == 70
    assert part.exposure == 344440
    assert 1000 / part.rate_per_1000 == pytest.approx(28703.3, abs=0.1)
    assert part.rate_per_1000 * 1000 == pytest.approx(34.8, abs=0.05)
    assert part.ml_shape == pytest.approx(1.0584, abs=5e-4)
    assert part.ml_scale == pytest.approx(26297, abs=2)
    assert log_likelihood(lives, part.ml_shape, part.ml_scale) == pytest.approx(-135.153, abs=0.001)


def test_component_a_with_no_failure():
    """Meeker & Escobar (1998), chapter 8; inputs and outputs from memory.

    With the shape given as 2 and no failure, the lower bound of the scale is the root of
    sum(x^b) / -ln(0.05).
    """
    scale = sqrt(power_sum(read_lives("component_a"), 2.0) / -log(0.05))
    assert scale == pytest.approx(10250, abs=0.5)
    assert scale * sqrt(-log(0.9)) == pytest.approx(3327, abs=0.5)


def test_late_entries():
    """The 20 units with made-up ages of entry; recomputed by us, and by another package.

    Likelihood: Lawless, Statistical Models and Methods for Lifetime Data (2003), section 2.4.
    """
    failures = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
    entered = [0, 0, 100, 100, 150, 0, 200, 200, 0, 300]
    running = [0, 0, 0, 0, 0, 250, 250, 250, 400, 400]
    lives = [
        *(life for age, u in zip(failures, entered, strict=True) for life in fell(age, u)),
        *(life for u in running for life in ran(500, u)),
    ]
    part = fit_part(lives)
    assert 1000 / part.rate_per_1000 == pytest.approx(517.1, abs=1e-9)
    assert part.ml_shape == pytest.approx(1.35507, abs=1e-5)
    assert part.ml_scale == pytest.approx(518.655, abs=1e-3)
    assert log_likelihood(lives, part.ml_shape, part.ml_scale) == pytest.approx(-72.11269, abs=1e-5)
