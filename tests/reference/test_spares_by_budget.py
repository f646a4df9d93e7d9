"""Two items, pipelines of 1 and 4 pieces, unit costs 5 and 1: the best stock at every budget.

Method: C. C. Sherbrooke, Optimal Inventory Modeling of Systems, chapter 2, and B. Fox, Discrete
optimization via marginal analysis, Management Science 13 (1966). The example's costs are from
memory and the curve was recomputed, not printed: regression values (grade D).
Buying one piece at a time, the most backorders saved per money first, misses the best stock at
many budgets; the program must not.
"""

import math

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part, plan_of

from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program

PIPELINES = (1.0, 4.0)
COSTS = (5.0, 1.0)
# Budget, expected backorders, pieces of the first and of the second item.
BEST = [
    (0, 5.0, 0, 0),
    (1, 4.01832, 0, 1),
    (2, 3.10989, 0, 2),
    (3, 2.348, 0, 3),
    (4, 1.78147, 0, 4),
    (5, 1.4103, 0, 5),
    (6, 1.19543, 0, 6),
    (7, 1.08476, 0, 7),
    (8, 1.03363, 0, 8),
    (9, 1.01226, 0, 9),
    (10, 0.77818, 1, 5),
    (11, 0.56331, 1, 6),
    (12, 0.45264, 1, 7),
    (13, 0.40151, 1, 8),
    (14, 0.38014, 1, 9),
    (15, 0.37201, 1, 10),
    (16, 0.29907, 2, 6),
    (17, 0.1884, 2, 7),
    (18, 0.13727, 2, 8),
    (19, 0.1159, 2, 9),
    (20, 0.10777, 2, 10),
    (21, 0.10493, 2, 11),
    (22, 0.10401, 2, 12),
    (23, 0.05696, 3, 8),
    (24, 0.0356, 3, 9),
    (25, 0.02747, 3, 10),
]


def backorders(mean: float, stock: int) -> float:
    """Return E[(N - s)+], N Poisson, by plain summation."""
    chance = math.exp(-mean)
    total = 0.0
    for n in range(1, 80):
        chance *= mean / n
        total += max(0, n - stock) * chance
    return total


def choices_for(budget: float):
    """Return two parts whose cost in all, price and later cost, is their expected backorders."""
    parts = [
        make_part(
            *(make_choice(n, backorders(mean, n) - cost * n) for n in range(13)),
            part=name,
            leftover=0.0,
            offers=(make_offer(name, cost),),
        )
        for name, mean, cost in zip(("first", "second"), PIPELINES, COSTS, strict=True)
    ]
    return make_choices(*parts, budget=budget)


@pytest.mark.parametrize(("budget", "expected", "first", "second"), BEST)
def test_best_stock_at_every_budget(budget, expected, first, second):
    choices = choices_for(budget)
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    assert [line.carry for line in plan.carry] == [first, second]
    assert plan.cost.total == pytest.approx(expected, abs=1e-5)


def test_one_piece_at_a_time_misses_the_best():
    stock, spent, path = [0, 0], 0.0, {}
    while spent <= 25:
        path[spent] = sum(map(backorders, PIPELINES, stock))
        gains = [
            (backorders(mean, n) - backorders(mean, n + 1)) / cost
            for mean, n, cost in zip(PIPELINES, stock, COSTS, strict=True)
        ]
        item = gains.index(max(gains))
        stock[item] += 1
        spent += COSTS[item]
    best = {budget: value for budget, value, _, _ in BEST}
    missed = {
        budget
        for budget, value in best.items()
        if min(cost for at, cost in path.items() if at <= budget) > value + 1e-4
    }
    assert {7, 8, 9, 10} <= missed
    assert path[6.0] == pytest.approx(1.1954, abs=1e-4)
