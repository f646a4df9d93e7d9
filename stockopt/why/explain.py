"""The verb: from a plan to its reasons."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from stockopt.choices.choices import Choices
from stockopt.plan import Plan
from stockopt.program.solution import Solution
from stockopt.why.asking import weigh_limits
from stockopt.why.curves import draw_curves
from stockopt.why.ledger import add_up
from stockopt.why.limits import list_held, list_unasked, reach_next_piece
from stockopt.why.lines import explain_lines, explain_shelves
from stockopt.why.why import NO_WHY, Why

OnStep = Callable[[str], None]

#: Choices and offers, counted over every boat's parts, up to which limits are asked about by
#: themselves: about twice the charter base among the samples, whose plan takes a second.
FEW = 5_000
#: Longest time for that, in seconds, where nobody asked for it.
BRIEFLY = 10.0


def explain_plan(plan: Plan, solution: Solution, choices: Choices) -> Why:
    """Say why every line of the plan is as it is, and which limits hold it back.

    Parameters
    ----------
    plan, solution, choices
        A plan that was checked, and what it was made from.

    Returns
    -------
    Why
        Nothing is solved again: limits that hold something back are 'not asked'.
    """
    if not solution.picked:
        return NO_WHY
    ledger = add_up(plan, solution, choices)
    lines = explain_lines(ledger)
    held = list_held(ledger, None if is_small(choices) else lines)
    held = reach_next_piece(held, lines, choices)
    return Why(lines=lines, shelves=explain_shelves(ledger), limits=list_unasked(held))


def ask_limits(
    why: Why,
    plan: Plan,
    solution: Solution,
    choices: Choices,
    *,
    gap: float,
    seconds: float,
    on_step: OnStep,
) -> Why:
    """Solve again with a little more of each limit that holds something back.

    Parameters
    ----------
    why
        From :func:`explain_plan`.
    plan, solution, choices
        As there.
    gap
        At which the plan was allowed to stop.
    seconds
        For all of it.
    on_step
        Called with what is done next.
    """
    if not solution.picked:
        return why
    started = time.perf_counter()
    held = list_held(add_up(plan, solution, choices), None if is_small(choices) else why.lines)
    held = reach_next_piece(held, why.lines, choices)
    limits, solves = weigh_limits(
        held, solution, choices, gap=gap, seconds=seconds, on_step=on_step
    )
    spent = time.perf_counter() - started
    return replace(why, limits=limits, asked=True, solves=solves, seconds=spent)


def ask_curves(
    why: Why,
    solution: Solution,
    choices: Choices,
    *,
    gap: float,
    seconds: float,
    on_step: OnStep,
) -> Why:
    """Add the curves of cost and readiness against money and kilos; parameters as above."""
    if not solution.picked:
        return why
    curves = draw_curves(solution, choices, gap=gap, seconds=seconds, on_step=on_step)
    return replace(why, curves=curves)


def is_small(choices: Choices) -> bool:
    """Return whether a fleet is small enough to be asked about without being told to."""
    return choices.size <= FEW
