import numpy as np
import pandas as pd
import pytest
from ageing_builders import fell, fit_part, fit_parts, fleet_of_parts, ran
from builders import make_fleet
from scipy.integrate import quad

from stockopt.ageing.ageing import Nodes
from stockopt.ageing.best_age import cost_rates, find_best_age
from stockopt.ageing.change_costs import ChangeCosts, list_change_costs

COSTS = ChangeCosts(planned=60.0, failing=400.0)


def nodes_of(*points):
    shape, scale, weight = (np.array(each, dtype=float) for each in zip(*points, strict=True))
    return Nodes(shape=shape, scale=scale, weight=weight)


def test_cost_rate_by_integration():
    nodes = nodes_of((1.4, 700, 0.3), (2.5, 1100, 0.7))
    ages = np.array([50.0, 400.0, 3000.0])
    rates = cost_rates(nodes, ages, COSTS)
    to_failure = find_best_age(nodes, COSTS, "hours", known=True).cost_to_failure / 1000

    def rate(age):
        total = 0.0
        for b, e, w in zip(nodes.shape, nodes.scale, nodes.weight, strict=True):
            length = quad(lambda t, b=b, e=e: np.exp(-((t / e) ** b)), 0, age, limit=200)[0]
            lasts = np.exp(-((age / e) ** b))
            total += w * (60 * lasts + 400 * (1 - lasts)) / length
        return total

    assert rates == pytest.approx([rate(age) for age in ages], rel=1e-7)
    assert to_failure == pytest.approx(rate(30_000.0), rel=1e-6)


@pytest.mark.parametrize(
    ("lives", "part"),
    [
        (fell(500) + fell(640) + ran(300, times=3), {"wear": "wears", "expected_life": 700}),
        (fell(900, times=4) + fell(1100, times=4), {"wear": "wears", "expected_life": 300}),
        ([], {"wear": "wears", "expected_life": 2000}),
    ],
)
def test_best_age_by_a_fine_scan(lives, part):
    fitted = fit_part(lives, **part, failure_cost=900, price=40)
    scanned = np.geomspace(0.005, 20, 6000) * fitted.scale
    costs = ChangeCosts(planned=40, failing=940)
    rates = np.concatenate(
        [cost_rates(fitted.nodes, ages, costs) for ages in np.split(scanned, 20)]
    )
    best = fitted.best_age
    assert best.age == pytest.approx(scanned[rates.argmin()], rel=2e-3)
    assert best.cost == pytest.approx(1000 * rates.min(), rel=1e-6)
    assert best.cost <= 1000 * rates.min() * (1 + 1e-9)
    assert best.saving == pytest.approx(best.cost_to_failure - best.cost)
    assert best.words.startswith(f"change at {best.age:,.0f} hours: saves ")


def test_dearer_failures_call_for_an_earlier_change():
    lives = fell(500) + fell(640) + fell(700) + ran(300, times=3)
    ages = [
        fit_part(lives, wear="wears", price=40, failure_cost=cost).best_age.age
        for cost in (200, 1000, 5000)
    ]
    assert ages == sorted(ages, reverse=True)


def test_a_failure_that_costs_no_more_is_let_come():
    best = fit_part(fell(500) + fell(640), wear="wears", price=40).best_age
    assert best.age is None
    assert best.saving == 0
    assert best.words == "run to failure: a failure costs no more than a planned change"


def test_what_fails_at_random_is_let_fail():
    draw = np.random.default_rng(1)
    lives = [life for age in draw.exponential(800, 60) for life in fell(age)]
    best = fit_part(lives, wear="random", price=40, failure_cost=400).best_age
    assert best.age is None
    assert best.words == "run to failure: an old piece is about as good as a new one"


def test_a_saving_below_one_percent_is_none():
    wears = nodes_of((1.5, 1000.0, 1.0))
    best = find_best_age(wears, ChangeCosts(planned=100, failing=150), "hours", known=True)
    assert best.age is None
    assert best.words == "run to failure: no age saves 1 % or more"


def test_of_an_unknown_life_no_age_is_named():
    ageing = fit_parts({"b": fell(700)}, *({"part": p, "failure_cost": 900} for p in "ab"))
    assert ageing.parts["a"].best_age.age is None
    assert "too little is known" in ageing.parts["a"].best_age.words
    assert ageing.parts["b"].best_age.age is not None


def positions_of(*rows):
    return pd.DataFrame(rows, columns=["boat", "part", "consequence"])


def test_costs_of_a_change():
    fleet = make_fleet(
        boats=[{"boat": "Alba", "day_cost": 1000}, {"boat": "Boreas", "day_cost": 200}],
        machines=[{"boat": boat, "machine": "engine", "model": "M"} for boat in ("Alba", "Boreas")],
        parts=[
            {"part": "seal", "price": 30, "fitting_cost": 20, "failure_cost": 50, "days_to_fix": 2},
            {"part": "spare", "price": 30, "consequence": "nuisance"},
            {"part": "quoted"},
            {"part": "priceless"},
        ],
        sources=[
            {
                "source": "quay",
                "kind": "local",
                "delivers_to": "Porto",
                "currency": "USD",
                "lead_days": 1,
            }
        ],
        prices=[{"source": "quay", "part": "quoted", "price": 100, "pack": 5}],
        settings={"rates": {"USD": 0.9}},
    )
    positions = positions_of(
        ("Alba", "seal", "stops"), ("Alba", "seal", "limits"), ("Boreas", "seal", "stops")
    )
    costs = list_change_costs(fleet, positions)
    assert costs["seal"].planned == 50
    # 2 days of (1000 + 300 + 200) / 3 each.
    assert costs["seal"].failing == pytest.approx(50 + 50 + 1000)
    # Fitted nowhere: half a day of 0.05 of the mean boat's day.
    assert costs["spare"].failing == pytest.approx(30 + 0.5 * 0.05 * 600)
    assert costs["quoted"].planned == pytest.approx(18)
    assert "priceless" not in costs


def test_a_part_without_a_price_has_no_best_age():
    assert fit_part([], price=None).best_age is None
    assert fleet_of_parts({"part": "seal", "price": None}).parts["price"].isna().all()
