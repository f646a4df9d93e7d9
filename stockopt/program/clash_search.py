"""What is found so far where limits clash, and which remedies hold against the whole fleet."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from stockopt.choices.choices import Choices
from stockopt.errors import Change, Clash
from stockopt.program.least import Spending
from stockopt.program.loosen import mend
from stockopt.program.slack import OutOfTime

#: Clashes told at most; more than that is a table to look at again.
_MOST_TOLD = 20
#: Share of the time left that one least change may take, and at least (s).
_SLICE, _LEAST_SLICE = 0.2, 1.0


@dataclass(slots=True, kw_only=True)
class Search:
    """What is found so far, and the choices with that mended.

    Parameters
    ----------
    choices
        With the first remedy of every clash found done.
    until
        When to stop, by :func:`time.perf_counter`.
    clashes
        Found so far.
    spending
        What places must spend, as far as it was asked.
    whole
        Seconds that the whole program took to be seen to have no plan.
    rest
        Why more may clash than was found, as a sentence without a full stop; "" where all is known.
    """

    choices: Choices
    until: float
    clashes: list[Clash] = field(default_factory=list)
    spending: Spending = field(default_factory=Spending)
    whole: float = 0.0
    rest: str = ""

    @property
    def left(self) -> float:
        """Return the seconds left."""
        return self.until - time.perf_counter()

    @property
    def slice(self) -> float:
        """Return the seconds for one least change."""
        return min(self.left, max(_LEAST_SLICE, _SLICE * self.left))

    @property
    def may_go_on(self) -> bool:
        """Return whether to look further; where not, say that the rest is not known."""
        if self.left <= 0.0:
            self.leave_out()
            return False
        if len(self.clashes) >= _MOST_TOLD:
            self.rest = f"more may clash: these are the first {len(self.clashes)} found"
            return False
        return True

    def leave_out(self) -> None:
        """Say that something was not asked about."""
        self.rest = (
            "more may clash: the time was up before every limit was asked about (allow more with "
            "--seconds)"
        )

    def take(self, clash: Clash) -> None:
        """Keep a clash, and go on as if its first remedy were done."""
        self.clashes.append(clash)
        if clash.remedies:
            self.choices = mend(self.choices, clash.remedies[0])


def keep_what_mends(choices: Choices, search: Search) -> Iterator[Clash]:
    """Leave out other remedies that mend a clash only to meet the next one.

    Asked of the whole fleet, with the other clashes mended. Where the answer is not known in the
    time, the remedy stays and says so; so does a later departure, with which everything is to be
    weighed anew, see :mod:`stockopt.program.departures`.
    """
    firsts = [clash.remedies[0] if clash.remedies else () for clash in search.clashes]
    for number, clash in enumerate(search.clashes):
        if len(clash.remedies) < 2:
            yield clash
            continue
        mended = choices
        for other, first in enumerate(firsts):
            if other != number:
                mended = mend(mended, first)
        others = (_check(remedy, mended, search) for remedy in clash.remedies[1:])
        kept = tuple(remedy for remedy in others if remedy)
        yield replace(clash, remedies=(clash.remedies[0], *kept))


def _check(remedy: tuple[Change, ...], mended: Choices, search: Search) -> tuple[Change, ...]:
    """Return a remedy that mends it, or of which that is not known; else nothing."""
    if any(change.limit == "departs_on" for change in remedy):
        return leave_unchecked(remedy)
    if search.rest or not all(clash.remedies for clash in search.clashes):
        return leave_unchecked(remedy)
    try:
        possible = search.spending.is_possible(mend(mended, remedy), until=search.until)
    except OutOfTime:
        return leave_unchecked(remedy)
    return remedy if possible else ()


def leave_unchecked(remedy: tuple[Change, ...]) -> tuple[Change, ...]:
    """Return a remedy that says that it was not asked whether a plan with it keeps all else."""
    return tuple(replace(change, checked=False) for change in remedy)
