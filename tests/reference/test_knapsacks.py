"""Published knapsacks through the program: what to carry within one limit, or several.

One limit: J. Burkardt, KNAPSACK_01 data sets p01 to p08 (p06 and p07 from Kreher & Stinson and
from Martello & Toth). The optima of p04 and p05 are from memory (grade C), the others were read.
Several limits: J. E. Beasley, OR-Library, mknap1, problem 1; Petersen, Management Science 13
(1967). Optimum read.
`data/knapsacks.csv` holds the items and the printed selections.
"""

import csv
import math
from pathlib import Path

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part, plan_of

from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program

DATA = Path(__file__).parent / "data" / "knapsacks.csv"
OPTIMA = {
    "p01": 309,
    "p02": 51,
    "p03": 150,
    "p04": 107,
    "p05": 900,
    "p06": 1735,
    "p07": 1458,
    "p08": 13549094,
}

PROFITS = [100, 600, 1200, 2400, 500, 2000]
LIMITS = [
    ([8, 12, 13, 64, 22, 41], 80),
    ([8, 12, 13, 75, 22, 41], 96),
    ([3, 6, 4, 18, 6, 4], 20),
    ([5, 10, 8, 32, 6, 12], 36),
    ([5, 13, 8, 42, 6, 20], 44),
    ([5, 13, 8, 48, 6, 20], 48),
    ([0, 0, 0, 0, 8, 0], 10),
    ([3, 0, 4, 0, 8, 0], 18),
    ([3, 2, 4, 0, 8, 4], 22),
    ([3, 2, 4, 8, 8, 4], 24),
]
# Limits that are enough for the printed optimum; the others are then kept by themselves.
KILOS, LITRES, MONEY, RISK = 0, 2, 3, 4


def solve(choices):
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    return plan


@pytest.mark.parametrize("limit", ["kg", "litres", "boat budget", "fleet budget"])
@pytest.mark.parametrize("name", OPTIMA)
def test_knapsack_with_one_limit(name, limit):
    with DATA.open(encoding="utf-8") as file:
        items = [row for row in csv.DictReader(file) if row["problem"] == name]
    capacity = float(items[0]["capacity"])
    money = limit.endswith("budget")
    parts = [
        make_part(
            make_choice(0),
            make_choice(1, -profit - (weight if money else 0.0)),
            part=f"item {number:02d}",
            on_hand=0 if money else 1,
            kg=weight,
            litres=weight,
            leftover=0.0,
            offers=(make_offer(f"item {number:02d}", weight),) if money else (),
        )
        for number, item in enumerate(items)
        for weight, profit in ((float(item["weight"]), float(item["profit"])),)
    ]
    hers = "budget" if limit == "boat budget" else limit
    limits = {} if limit == "fleet budget" else {"Alba": {hers: capacity}}
    budget = capacity if limit == "fleet budget" else None
    plan = solve(make_choices(*parts, limits=limits, budget=budget))
    assert -plan.cost.total == pytest.approx(OPTIMA[name], abs=1e-3)
    assert [line.carry for line in plan.carry] == [int(item["taken"]) for item in items]


def test_knapsack_with_several_limits():
    # Four of the ten limits fit what a boat has; carrying an item lowers the chance that she is
    # never stopped by exp(-use / 100).
    parts = [
        make_part(
            make_choice(0),
            make_choice(
                1,
                float(-profit - LIMITS[MONEY][0][item]),
                shortage_chance=-math.expm1(-LIMITS[RISK][0][item] / 100.0),
            ),
            part=f"item {item}",
            kg=float(LIMITS[KILOS][0][item]),
            litres=float(LIMITS[LITRES][0][item]),
            leftover=0.0,
            stops=True,
            offers=(make_offer(f"item {item}", float(LIMITS[MONEY][0][item])),),
        )
        for item, profit in enumerate(PROFITS)
    ]
    limits = {"kg": LIMITS[KILOS][1], "litres": LIMITS[LITRES][1], "budget": LIMITS[MONEY][1]}
    readiness = math.exp(-LIMITS[RISK][1] / 100.0)
    plan = solve(make_choices(*parts, limits={"Alba": limits}, readiness=readiness))
    carried = [line.carry for line in plan.carry]
    assert -plan.cost.total == pytest.approx(3800.0, abs=1e-6)
    assert carried == [0, 1, 1, 0, 0, 1]
    for uses, most in LIMITS:
        assert sum(use * n for use, n in zip(uses, carried, strict=True)) <= most
