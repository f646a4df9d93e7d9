"""How near the best a plan is that was told again with what it settles itself.

Boats and stores count on each other, so no program holds both ways at once: the one weighed with
what this plan settles may prefer other lines, which would settle something else. Those lines are
held as they are, and what is left is proven. What is proven so is the best plan with these lines as
they stand, not over every line; the plan says how many they are.
"""

from __future__ import annotations

import time
from collections.abc import Set
from dataclasses import replace

from stockopt.choices.choices import Choices
from stockopt.choices.shelves import name_shelf
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.restate import restate
from stockopt.program.solution import Solution
from stockopt.program.solve import find_status, solve_program

Line = tuple[str, str]

#: Least seconds for one more program.
_LEAST_SECONDS = 0.5


def prove_settled(
    choices: Choices,
    solution: Solution,
    *,
    gap: float,
    seconds: float,
    doubted: Set[Line] = frozenset(),
) -> tuple[Choices, Solution] | None:
    """Hold what this program would do otherwise, until it has no better plan than the one given.

    Parameters
    ----------
    choices, solution
        The plan, and what can be chosen, both weighed with what the plan settles.
    gap
        Share within which a plan is not better.
    seconds
        Longest time.
    doubted
        Lines to hold at once: those that a later round did otherwise, counting on the same.

    Returns
    -------
    tuple of (Choices, Solution), or None
        The choices with held lines left one choice, and the plan with a bound proven for them. None
        where there was no time for any bound.
    """
    until = time.perf_counter() + seconds
    held = set(doubted)
    holding = _hold(choices, solution, held)
    if holding is None:
        return None
    tight, stood = holding
    bound: float | None = None
    while (left := until - time.perf_counter()) > _LEAST_SECONDS:
        try:
            found = solve_program(tight, gap=gap, seconds=left, start=stood)
        except (NoPlanError, SolverError):
            break
        # Fewer choices never lower the least cost: an earlier bound holds for what is left.
        bound = found.bound if bound is None else max(bound, found.bound)
        if found.objective >= stood.objective - gap * max(1.0, abs(stood.objective)):
            break
        changed = _list_differing(tight, stood, found) - held
        if not changed:  # the same deeds, brought more cheaply: nothing else is settled by that
            return tight, found
        held |= changed
        holding = _hold(choices, solution, held)
        if holding is None:
            break
        tight, stood = holding
    return None if bound is None else (tight, _bounded(stood, bound, gap))


def _hold(choices: Choices, solution: Solution, held: Set[Line]) -> tuple[Choices, Solution] | None:
    """Return the choices with lines held, and the plan among them."""
    if not held:
        return choices, solution
    tight = hold_lines(choices, solution, held)
    again = restate(solution, choices, tight)
    return None if again is None else (tight, again)


def hold_lines(choices: Choices, solution: Solution, held: Set[Line]) -> Choices:
    """Return the choices with nothing left to choose in some lines, boats' and shelves'."""
    picked = {(pick.boat, pick.part): pick.choice for pick in solution.picked}
    parts = tuple(
        replace(
            part,
            choices=(part.choices[picked[part.boat, part.part]],),
            weighed=part.weighed or part.choices,
        )
        if (part.boat, part.part) in held
        else part
        for part in choices.parts
    )
    stores = tuple(
        replace(part, choices=(part.choices[picked[name_shelf(part.store), part.part]],))
        if (name_shelf(part.store), part.part) in held
        else part
        for part in choices.stores
    )
    return replace(choices, parts=parts, stores=stores)


def _list_differing(choices: Choices, one: Solution, other: Solution) -> set[Line]:
    """List the lines of which two plans do not pick the same choice."""
    first = {(pick.boat, pick.part): pick.choice for pick in one.picked}
    return {
        (pick.boat, pick.part)
        for pick in other.picked
        if first[pick.boat, pick.part] != pick.choice
    }


def _bounded(solution: Solution, bound: float, gap: float) -> Solution:
    bound = min(bound, solution.objective)
    reached = (solution.objective - bound) / max(1.0, abs(solution.objective))
    return replace(solution, bound=bound, gap=reached, status=find_status(reached, gap))
