"""Seconds, gap and memory of large fleets: place by place beside one model.

Boats delivered to alone, each port with prices and order charges of its own, a budget for all that
binds, weight, room and readiness for each. One model gets the time that place by place took, and
stops at the same gap. With STOCKOPT_LARGE=1 also 500 x 200 and 1,000 x 200, place by place alone.
"""

import os
import resource
import time

import pytest
from program_builders import plan_of
from program_fleets import make_fleet_market
from program_plain import solve_plain

from stockopt.choices.choices import Choices
from stockopt.errors import SolverError
from stockopt.plan_check import check_plan
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.solve import solve_program

GAP = 1e-4
LARGE = pytest.mark.skipif(not os.environ.get("STOCKOPT_LARGE"), reason="takes many minutes")


@pytest.mark.bench
@pytest.mark.parametrize(
    ("boats", "parts", "limit"),
    [
        (8, 60, 60.0),
        (20, 100, 120.0),
        (100, 150, 300.0),
        pytest.param(500, 200, 1200.0, marks=LARGE),
        pytest.param(1000, 200, 2400.0, marks=LARGE),
    ],
)
def test_fleets_place_by_place_beside_one_model(boats, parts, limit, capsys):
    choices = make_fleet_market(boats, parts)
    wall, used = time.perf_counter(), time.process_time()
    solution = solve_program(choices, gap=GAP, seconds=limit)
    wall, used = time.perf_counter() - wall, time.process_time() - used
    lines = [
        f"{boats} x {parts}: {wall:.1f} s ({used:.1f} s of processor), gap {solution.gap:.1e}, "
        f"{solution.status}, {_peak_gigabytes():.2f} GB so far"
    ]
    check_plan(plan_of(solution, choices), solution, choices)
    if boats <= 100:
        lines.append(f"    as one model: {_measure_one_model(choices, max(wall, 5.0))}")
    with capsys.disabled():
        print("\n" + "\n".join(lines))  # noqa: T201 - what the bench is for
    assert solution.gap <= GAP


def _measure_one_model(choices: Choices, seconds: float) -> str:
    wall, used = time.perf_counter(), time.process_time()
    try:
        found = solve_plain(choices, gap=GAP, seconds=seconds)
    except SolverError:
        gap = "no plan"
    else:
        free_freight = find_free_freight(choices, found.bought)
        total = sum(find_costs(choices, found.picked, found.bought, free_freight))
        gap = f"gap {(total - found.bound) / max(1.0, abs(total)):.1e}"
    wall, used = time.perf_counter() - wall, time.process_time() - used
    memory = f"{_peak_gigabytes():.2f} GB so far"
    return f"{wall:.1f} s ({used:.1f} s of processor), {gap}, {memory}"


def _peak_gigabytes() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6


@pytest.mark.bench
@pytest.mark.parametrize(("boats", "parts", "limit"), [(10, 100, 60.0), (100, 150, 120.0)])
def test_boats_of_one_store(boats, parts, limit, capsys):
    choices = make_fleet_market(boats, parts, a_place=boats)
    wall, used = time.perf_counter(), time.process_time()
    solution = solve_program(choices, gap=GAP, seconds=limit)
    wall, used = time.perf_counter() - wall, time.process_time() - used
    line = (
        f"{boats} x {parts}, one store: {wall:.1f} s ({used:.1f} s of processor), "
        f"gap {solution.gap:.1e}, {_peak_gigabytes():.2f} GB so far"
    )
    with capsys.disabled():
        print("\n" + line)  # noqa: T201 - what the bench is for
    check_plan(plan_of(solution, choices), solution, choices)
    assert solution.gap <= 20 * GAP
