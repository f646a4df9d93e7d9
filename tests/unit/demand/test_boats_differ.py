"""A hard-run boat needs more of the same parts than a gentle one."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from builders import make_fleet
from demand_builders import make_ageing, make_positions
from scipy.stats import poisson

from stockopt.demand.forecast import forecast_demand

BOATS = ("Alba", "Boreas", "Circe")


def forecast(shape, scale, factors, age=0.0):
    fleet = make_fleet(
        machines=[{"boat": boat, "machine": "engine", "model": "M"} for boat in BOATS],
        readings=[
            {"boat": boat, "machine": "engine", "read_on": "2031-03-31", "hours": 900}
            for boat in BOATS
        ],
        ports=[{"port": "Isla", "price_factor": 1.5}],
        parts=[{"part": "seal", "price": 10.0}],
        fitted=[{"model": "M", "part": "seal"}],
        legs=[
            {
                "boat": boat,
                "departs_on": date(2031, 5, 1),
                "days": 30,
                "to_port": "Isla",
                "hours": 400,
            }
            for boat in BOATS
        ],
    )
    ageing = replace(make_ageing(seal=(shape, scale)), boat_factors=factors)
    positions = make_positions(*((boat, "engine", "seal", age) for boat in BOATS))
    demand = forecast_demand(ageing, positions, fleet)
    return {boat: demand.parts[boat, "seal"] for boat in BOATS}


def test_failures_at_random_come_as_often_as_the_factor_says():
    found = forecast(1.0, 500.0, {"Alba": 2.0, "Boreas": 0.5, "Circe": 1.0})
    for boat, mean in (("Alba", 1.6), ("Boreas", 0.4), ("Circe", 0.8)):
        assert found[boat].failures[0] == pytest.approx(mean, abs=1e-4)
        counts = np.arange(len(found[boat].whole[0]) - 1)
        assert found[boat].whole[0, :-1] == pytest.approx(poisson.pmf(counts, mean), abs=1e-4)


def test_a_wearing_part_has_the_scale_of_its_boat():
    """z (t/e)^b is (t/e')^b with e' = e z^(-1/b): no failure on her is likelier by exp(-z H)."""
    shape, scale, age = 3.0, 900.0, 350.0
    found = forecast(shape, scale, {"Alba": 1.7, "Boreas": 0.6}, age)
    hazard = ((age + 400) / scale) ** shape - (age / scale) ** shape
    for boat, factor in (("Alba", 1.7), ("Boreas", 0.6), ("Circe", 1.0)):
        assert found[boat].whole[0, 0] == pytest.approx(np.exp(-factor * hazard), abs=1e-5)


def test_factors_of_one_change_nothing():
    alike = forecast(2.0, 700.0, dict.fromkeys(BOATS, 1.0), 200.0)
    untold = forecast(2.0, 700.0, {}, 200.0)
    for boat in BOATS:
        assert (alike[boat].whole == untold[boat].whole).all()
        assert (alike[boat].remaining == untold[boat].remaining).all()
