"""Best ages to replace, as recomputed from the published formula. Sources: README.md."""

import csv
from math import gamma
from pathlib import Path

import numpy as np
import pytest

from stockopt.ageing.ageing import Nodes
from stockopt.ageing.best_age import cost_rates, find_best_age
from stockopt.ageing.change_costs import ChangeCosts

DATA = Path(__file__).parent / "data" / "age_replacement.csv"


def certain(shape):
    """A part whose shape is known and whose scale is 1."""
    return Nodes(shape=np.array([shape]), scale=np.ones(1), weight=np.ones(1))


def cases():
    with DATA.open(newline="") as file:
        return [
            tuple(float(row[key]) for key in ("shape", "ratio", "age", "cost"))
            for row in csv.DictReader(file)
        ]


@pytest.mark.parametrize(("shape", "ratio", "age", "cost"), cases())
def test_age_and_cost(shape, ratio, age, cost):
    """Barlow & Proschan (1965), chapter 4, equation 2.6, from memory; numbers recomputed by us."""
    costs = ChangeCosts(planned=1.0, failing=ratio)
    part = certain(shape)
    best = find_best_age(part, costs, "hours", known=True)
    assert cost_rates(part, np.array([age]), costs)[0] == pytest.approx(cost, abs=2e-5)
    if cost > 0.99 * best.cost_to_failure / 1000:  # shape 1.5, ratio 2: too little to save
        assert best.age is None
    else:
        assert best.age == pytest.approx(age, abs=2e-5)
        assert best.cost / 1000 == pytest.approx(cost, abs=2e-5)
        # At the best age the cost is what failing costs more, times the hazard.
        assert best.cost / 1000 == pytest.approx(
            (ratio - 1) * shape * best.age ** (shape - 1), rel=1e-6
        )


def test_running_to_failure():
    """Shape 2, ratio 5: 5 / Gamma(1.5), recomputed by us."""
    costs = ChangeCosts(planned=1.0, failing=5.0)
    best = find_best_age(certain(2.0), costs, "hours", known=True)
    assert best.cost_to_failure / 1000 == pytest.approx(5.6419, abs=1e-5)
    assert 5 / gamma(1.5) == pytest.approx(5.6419, abs=1e-5)


@pytest.mark.parametrize("shape", [0.7, 1.0])
def test_what_does_not_wear_is_run_to_failure(shape):
    """No best age exists for a shape of 1 or less."""
    costs = ChangeCosts(planned=1.0, failing=20.0)
    best = find_best_age(certain(shape), costs, "hours", known=True)
    assert best.age is None
    assert best.saving == 0
