"""Later departures as remedies: told only where a plan keeps every limit with everything anew.

With the day change the offers that are in time, the stock that is due and what she needs under
way. So a remedy is weighed from the tables on, as ``--departs`` would.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from stockopt.choices.choices import Choices
from stockopt.choices.settled import Settled
from stockopt.errors import Change, Clash, CommandError, NoPlanError
from stockopt.program.in_turn import guess_in_turn, solve_in_turn
from stockopt.program.least import Spending
from stockopt.program.loosen import mend
from stockopt.program.missing import write_departure
from stockopt.program.slack import OutOfTime
from stockopt.program.solution import Solution

Weigh = Callable[[Settled], Choices]
#: Gives what everything is weighed with where a boat departs so many days later.
Later = Callable[[str, int], Weigh]

#: Most days tried for one part: the first offer may not have enough, the next may.
_MOST_DAYS = 4
#: Time for all departures, as a share of the solver's, and at least (s).
_SHARE, _LEAST_SECONDS = 1.0 / 3.0, 5.0


def solve_or_tell(
    weigh: Weigh, later: Later, *, gap: float, seconds: float
) -> tuple[Choices, Solution]:
    """Solve in turn; where there is no plan, tell only later departures that mend it.

    Parameters
    ----------
    weigh, gap, seconds
        As for :func:`~stockopt.program.in_turn.solve_in_turn`, whose result and errors are these.
    later
        Gives `weigh` anew for a boat that departs some days later; raises CommandError where she
        cannot.
    """
    spent = 0.0

    def timed(settled: Settled) -> Choices:
        nonlocal spent
        started = time.perf_counter()
        choices = weigh(settled)
        spent += time.perf_counter() - started
        return choices

    try:
        return solve_in_turn(timed, gap=gap, seconds=seconds)
    except NoPlanError as error:
        # A departure takes as long to weigh as the plan did, and that cannot be stopped.
        until = time.perf_counter() + max(_LEAST_SECONDS, _SHARE * seconds) - spent
        raise NoPlanError(check_departures(error.clashes, later, until=until)) from error


def check_departures(clashes: Sequence[Clash], later: Later, *, until: float) -> tuple[Clash, ...]:
    """Return the clashes with each later departure checked, put right, or left out.

    A departure mends its clash where a plan then keeps all limits, with the first remedy of every
    other clash done. Where the first day told is too early, the next on which the part comes is
    tried; where none does, the clash says so. What there is no time for stays as it is, unchecked.
    """
    firsts = [clash.remedies[0] if clash.remedies else () for clash in clashes]
    known = all(clash.remedies for clash in clashes)
    checked = []
    for number, clash in enumerate(clashes):
        others = [change for k, first in enumerate(firsts) if k != number for change in first]
        remedies: list[tuple[Change, ...]] = []
        text = clash.text
        for remedy in clash.remedies:
            if remedy[0].limit != "departs_on" or not known:
                remedies.append(remedy)
                continue
            try:
                departure = _find_departure(remedy[0], others, later, until)
            except OutOfTime:
                remedies.append(remedy)
                continue
            if departure is None:
                text += ", but with all else as it is no plan keeps the limits then"
            else:
                remedies.append((departure,))
        checked.append(replace(clash, text=text, remedies=tuple(remedies)))
    return tuple(checked)


def _find_departure(
    change: Change, others: Iterable[Change], later: Later, until: float
) -> Change | None:
    """Return the first later departure that mends it; None where none of those tried does."""
    boat, name, days = change.boat, change.part, round(change.needed)
    others = tuple(others)
    for _ in range(_MOST_DAYS):
        if time.perf_counter() >= until:
            raise OutOfTime
        try:
            weigh = later(boat, days)
        except CommandError:
            return None
        choices = mend(weigh(guess_in_turn(weigh)), others)
        departs_on = choices.boats[boat].departs_on
        if Spending().is_possible(choices, until=until):
            return write_departure(boat, name, days, departs_on)
        part = next(each for each in choices.parts if (each.boat, each.part) == (boat, name))
        if part.too_late is None:
            return None
        days += (part.too_late - departs_on).days
    return None
