"""What a little more of each limit is worth: the plan solved again, and the two compared."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.solution import Solution
from stockopt.program.solve import solve_program
from stockopt.why.changes import list_changes
from stockopt.why.limits import Held, by_urgency, change_limit, find_steps, write_limit
from stockopt.why.lines import LEAST
from stockopt.why.why import LimitWhy, State

OnStep = Callable[[str], None]

#: How near the best a plan must be proven for differences between plans to tell something.
TIGHT = 1e-4
#: A plan this near to its bound is as near as the solver's own tolerances allow.
PROVEN = 1e-6
#: Most plans solved again for the limits of one fleet.
MOST_SOLVES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """One limit changed by a step, and the plan found then."""

    held: Held
    step: float
    state: State
    solution: Solution | None = None

    @property
    def loosens(self) -> bool:
        """Return whether the step lets more plans in."""
        return (self.step > 0.0) != (self.held.kind == "readiness")


class _Clerk:
    """Solves again as long as there is time, and counts how often."""

    def __init__(self, choices: Choices, gap: float, seconds: float, on_step: OnStep) -> None:
        self.choices = choices
        self.gap = gap
        self.solves = 0
        self._until = time.perf_counter() + seconds
        self._on_step = on_step

    def solve(self, choices: Choices, words: str) -> Solution | None:
        """Solve within the time left; None where it does not do for any plan."""
        left = self._until - time.perf_counter()
        if left <= 0.0 or self.solves >= MOST_SOLVES:
            return None
        self._on_step(words)
        self.solves += 1
        try:
            return solve_program(choices, gap=self.gap, seconds=left)
        except SolverError:
            return None

    def ask(self, held: Held, step: float) -> _Tried:
        """Solve with one limit changed."""
        words = f"What a little more is worth: {held.kind} {held.boat}".rstrip()
        try:
            solution = self.solve(change_limit(self.choices, held, step), words)
        except NoPlanError:
            return _Tried(held=held, step=step, state="no plan")
        state: State = "not asked" if solution is None else "solved"
        return _Tried(held=held, step=step, state=state, solution=solution)


def weigh_limits(
    held: Sequence[Held],
    solution: Solution,
    choices: Choices,
    *,
    gap: float,
    seconds: float,
    on_step: OnStep,
) -> tuple[tuple[LimitWhy, ...], int]:
    """Find what a little more of each limit is worth.

    Parameters
    ----------
    held
        From :func:`~stockopt.why.limits.list_held`.
    solution, choices
        The plan's.
    gap
        At which the plan itself was allowed to stop; plans are compared at :data:`TIGHT` or less.
    seconds
        For all of it; a limit whose turn does not come is left 'not asked'.
    on_step
        Called with what is done next.

    Returns
    -------
    tuple of LimitWhy
        In the order of `held`; readiness that holds something back twice, less and more.
    int
        Plans solved.

    Notes
    -----
    Limits that seem to hold nothing back are loosened all at once: what that saves is the most
    that any of them is worth. Only where it saves something each is asked about by itself.
    """
    clerk = _Clerk(choices, min(gap, TIGHT), seconds, on_step)
    base = solution
    if held and solution.gap > max(clerk.gap, PROVEN):
        base = _keep_better(base, clerk.solve(choices, "Proving the plan more closely"))
    binding = sorted((each for each in held if each.binds), key=by_urgency)
    slack = sorted((each for each in held if not each.binds), key=by_urgency)
    tried = [clerk.ask(each, find_steps(each)[0]) for each in binding]
    loose = _loosen_all(clerk, slack)
    if loose is not None and loose.objective < base.objective - LEAST:
        tried += [clerk.ask(each, find_steps(each)[0]) for each in slack]
    tried += [clerk.ask(each, step) for each in binding for step in find_steps(each)[1:]]
    base = _raise_bound(base, [loose, *(t.solution for t in tried if t.loosens)])
    limits: list[LimitWhy] = []
    for each in held:
        found = [_conclude(t, base, choices) for t in tried if t.held is each]
        told = [why for why in found if each.binds or why.state == "solved"]
        limits += told or [_write_slack(each, base, loose)]
    return tuple(limits), clerk.solves


def _loosen_all(clerk: _Clerk, slack: Sequence[Held]) -> Solution | None:
    if not slack:
        return None
    choices = clerk.choices
    for each in slack:
        choices = change_limit(choices, each, find_steps(each)[0])
    return clerk.solve(choices, "Whether any other limit holds something back")


def _keep_better(solution: Solution, other: Solution | None) -> Solution:
    """Return the cheaper of two plans for the same limits, with the better bound."""
    if other is None:
        return solution
    cheaper = other if other.objective < solution.objective else solution
    return _raise_bound(cheaper, [solution, other])


def _raise_bound(base: Solution, looser: Iterable[Solution | None]) -> Solution:
    """Return the plan with the best bound of all: none beats it with less of a limit either."""
    bounds = [base.bound, *(solution.bound for solution in looser if solution is not None)]
    return replace(base, bound=min(base.objective, max(bounds)))


def _write_slack(held: Held, base: Solution, loose: Solution | None) -> LimitWhy:
    """Write a limit that holds nothing back, with the most it could be worth where known."""
    written = write_limit(held, find_steps(held)[0], "slack")
    if loose is None:
        return written
    most = max(0.0, base.objective - loose.bound)
    return replace(written, saves_low=0.0, saves_high=most, saves=0.0)


def _conclude(tried: _Tried, base: Solution, choices: Choices) -> LimitWhy:
    """Compare the plan with the step with the best one known without it."""
    written = write_limit(tried.held, tried.step, tried.state)
    found = tried.solution
    if found is None:
        return written
    ends = (
        base.bound - found.objective,
        base.objective - found.objective,
        base.objective - found.bound,
    )
    # The plan as it is keeps a looser limit too, and one for a tighter limit the limit as it is.
    one_way = max if tried.loosens else min
    low, saves, high = (one_way(0.0, end) for end in ends)
    changes = list_changes(base, found, choices) if abs(saves) > LEAST else ()
    return replace(written, saves_low=low, saves_high=high, saves=saves, changes=changes)
