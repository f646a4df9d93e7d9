"""The integer program from choices to solution; the solver's statuses end here."""

from __future__ import annotations

import time

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.clashes import find_clashes
from stockopt.program.decompose import solve_by_places
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.solution import Solution, SolveStatus
from stockopt.program.whole import Found, solve_whole

#: A plan this near to its bound, as a share, is called optimal: what the solver's own
#: tolerances (1e-6 of a row, 1e-9 of a cost) can tell apart.
PROVEN = 1e-7

#: Choices and offers, counted over every boat's parts, above which a fleet of several places is
#: solved place by place. Measured to a gap of 1e-4, one model against place by place: 1.5 s and
#: 0.2 s at 2,043 (4 boats of 25 parts), 14 s and 2 s at 4,084 (8 of 25).
MANY = 2_000

#: The same for boats that all share one store. Below, one model also breaks ties.
MANY_SHARED = 10_000

#: As many again as one model can still take, should the places not reach the gap.
TOO_MANY = 100_000

#: What clashes is told within so many times the time to solve: a little is left for steps that
#: cannot be stopped. It is looked for as long as this share of that time, and seconds, at least.
TOLD_BY, LEAST_TELLING, LEAST_SECONDS = 1.25, 1.0 / 3.0, 5.0


def solve_program(
    choices: Choices, *, gap: float, seconds: float, start: Solution | None = None
) -> Solution:
    """Find the plan that costs least, money now plus what is expected later.

    Parameters
    ----------
    choices
        What can be chosen, and the limits. In whatever order its parts, choices and offers
        stand, the solution is the same.
    gap
        Proven distance from the best plan at which to stop, as a share.
    seconds
        Longest time for the solver. It is a soft limit: the solver looks at the clock between
        steps.
    start
        A plan among these choices to begin from, which makes small fleets quicker; None for none.

    Returns
    -------
    Solution
        The plan, with the proven bound.

    Raises
    ------
    NoPlanError
        No plan keeps all the limits; says which clash, and the least that mends it.
    SolverError
        The solver stopped without a plan.

    Notes
    -----
    Small fleets are one model. Large ones are taken apart by place, and a store's by boat, see
    :mod:`stockopt.program.decompose`. Which it is depends on the choices alone.
    """
    started = time.perf_counter()
    try:
        return _solve(choices, gap=gap, seconds=seconds, start=start)
    except NoPlanError as error:
        whole = time.perf_counter() - started
        left = max(TOLD_BY * seconds - whole, LEAST_TELLING * seconds, LEAST_SECONDS)
        raise NoPlanError(find_clashes(choices, seconds=left, whole=whole)) from error


def _solve(choices: Choices, *, gap: float, seconds: float, start: Solution | None) -> Solution:
    if not choices.parts:
        return _conclude(choices, Found(picked=(), bought=(), bound=0.0), seconds=0.0, gap=gap)
    if _is_large(choices):
        return _solve_large(choices, gap=gap, seconds=seconds)
    started = time.perf_counter()
    found = solve_whole(choices, gap=gap, seconds=seconds, start=start)
    return _conclude(choices, found, seconds=time.perf_counter() - started, gap=gap)


def _is_large(choices: Choices) -> bool:
    places = {choices.boats[part.boat].place for part in choices.parts}
    if len(places) > 1:
        return choices.size > MANY
    return choices.size > MANY_SHARED


def _solve_large(choices: Choices, *, gap: float, seconds: float) -> Solution:
    """Solve place by place; where that falls short, as one model in the time that is left."""
    started = time.perf_counter()
    try:
        found = solve_by_places(choices, gap=gap, seconds=seconds)
    except SolverError:
        if choices.size > TOO_MANY:
            raise
        solution = None
    else:
        solution = _conclude(choices, found, seconds=time.perf_counter() - started, gap=gap)
    left = seconds - (time.perf_counter() - started)
    if solution is not None and (
        solution.gap <= max(gap, PROVEN) or left <= 0.0 or choices.size > TOO_MANY
    ):
        return solution
    return _finish_as_one(choices, solution, gap=gap, left=left, started=started)


def _finish_as_one(
    choices: Choices, solution: Solution | None, *, gap: float, left: float, started: float
) -> Solution:
    """Solve as one model, and keep the better plan and the better bound."""
    try:
        found = solve_whole(choices, gap=gap, seconds=max(left, 1.0))
    except SolverError:
        if solution is None:
            raise
        return solution
    if solution is not None:
        objective = _conclude(choices, found, seconds=0.0, gap=gap).objective
        bound = max(found.bound, solution.bound)
        better = found if objective < solution.objective else solution
        found = Found(picked=better.picked, bought=better.bought, bound=bound)
    return _conclude(choices, found, seconds=time.perf_counter() - started, gap=gap)


def find_status(reached: float, gap: float) -> SolveStatus:
    """Return what to call a plan proven to a gap, where another was asked for."""
    if reached <= PROVEN:
        return "optimal"
    return "within gap" if reached <= gap else "stopped"


def _conclude(choices: Choices, found: Found, *, seconds: float, gap: float) -> Solution:
    """Put the solution together, with its objective worked out anew from whole pieces."""
    free_freight = find_free_freight(choices, found.bought)
    objective = sum(find_costs(choices, found.picked, found.bought, free_freight))
    bound = min(found.bound, objective)
    reached = (objective - bound) / max(1.0, abs(objective))
    return Solution(
        status=find_status(reached, gap),
        objective=objective,
        bound=bound,
        gap=reached,
        seconds=seconds,
        picked=found.picked,
        bought=found.bought,
        free_freight=free_freight,
    )
