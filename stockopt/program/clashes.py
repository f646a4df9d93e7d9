"""Which limits clash where there is no plan, and the least change that mends it.

Looked for where it is easiest to understand first, and what is found there is taken as mended
from then on: pieces that cannot be had, each boat by herself, boats that share a place, then the
fleet's budget. So a fleet of any size is asked boat by boat.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

from stockopt.choices.choices import Choices
from stockopt.errors import Change, Clash, NoPlanError
from stockopt.program.boat_alone import may_clash, take_boat
from stockopt.program.clash_many import add_up_places, look_at_many
from stockopt.program.clash_search import Search, keep_what_mends
from stockopt.program.clash_words import (
    join_few,
    list_limits,
    tell_clash,
    tell_many,
    write_change,
)
from stockopt.program.least import MANY
from stockopt.program.missing import find_missing_pieces
from stockopt.program.places import split_by_place
from stockopt.program.slack import Ease, Eased, Moved, OutOfTime, find_ease

#: Share of the time left for boats asked one by one, where there are many.
_BOATS_SHARE = 0.5


def find_clashes(choices: Choices, *, seconds: float, whole: float = 0.0) -> tuple[Clash, ...]:
    """Find the limits that no plan keeps, and the least that each must give.

    Parameters
    ----------
    choices
        For which it is known that there is no plan.
    seconds
        Longest time for all of it; a soft limit, as the solver's.
    whole
        Seconds that it took to find that out.

    Returns
    -------
    tuple of Clash
        At least one. With no remedy where the time was up before one was known; the last says
        where more may clash.
    """
    search = Search(choices=choices, until=time.perf_counter() + seconds, whole=whole)
    for clash in find_missing_pieces(choices):
        search.take(clash)
    _look_at_boats(search)
    for together in split_by_place(search.choices):
        if len(together.boats) > 1:
            places = {limits.place for limits in together.boats.values()}
            who = f"the boats of {join_few(sorted(places))}"
            if together.size <= MANY:
                _look(search, together, who)
            else:
                look_at_many(search, together, who)
    if choices.budget is not None and choices.size <= MANY:
        _look(search, search.choices, "the fleet")
    else:
        add_up_places(search)
    if not search.clashes:
        return (Clash(text=list_limits(choices)),)
    rest = (Clash(text=search.rest),) if search.rest else ()
    return (*keep_what_mends(choices, search), *rest)


def _look_at_boats(search: Search) -> None:
    """Look for what clashes for one boat by herself, leaving time for what follows."""
    enough = (1.0 - _BOATS_SHARE) * search.left if search.choices.size > MANY else 0.0
    for boat in sorted(search.choices.boats):
        alone = take_boat(search.choices, boat)
        if alone.parts and may_clash(alone):
            if search.left < enough:
                search.leave_out()
                return
            _look(search, alone, boat)


def _look(search: Search, choices: Choices, who: str) -> None:
    """Look for a clash among some boats, and keep it."""
    if not search.may_go_on:
        return
    try:
        clash = _find_clash(choices, who, search)
    except OutOfTime:
        search.leave_out()
    except NoPlanError:
        search.rest = f"more may clash: for {who} it is not known what would mend it"
    else:
        if clash is not None:
            search.take(clash)


def _find_clash(choices: Choices, who: str, search: Search) -> Clash | None:
    """Find what clashes among these choices; None where a plan keeps all of it.

    Raises
    ------
    OutOfTime
        It is not known.
    NoPlanError
        Not even without any limit is there a plan.
    """
    eased = Eased(choices)
    if eased.is_possible((), seconds=search.left):
        return None
    remedies: list[tuple[float, Ease, list[Moved]]] = []
    for ease in eased.eases:
        try:
            moved = eased.find_least((ease,), seconds=search.slice)
        except OutOfTime:
            continue
        if moved:
            remedies.append((eased.weigh(moved), ease, moved))
    remedies.sort(key=lambda remedy: remedy[:2])
    if all(ease.kind == "carry_at_least" for _, ease, _ in remedies):
        together = _find_together(eased, who, [moved for _, _, moved in remedies], search)
        if together is not None or not remedies:
            return together
    first = remedies[0][1]
    alone = [ease for _, ease, _ in remedies]
    others = [ease for ease in _name_clashing(eased, alone, search) if ease != first]
    told = tuple(
        tuple(write_change(each, search.choices) for each in moved) for _, _, moved in remedies
    )
    text = _tell(who, told[0], others, eased, search)
    return Clash(text=text, remedies=told)


def _find_together(
    eased: Eased, who: str, floors: Sequence[list[Moved]], search: Search
) -> Clash | None:
    """Find what several limits must give together, where none but the floors mends it alone.

    Floors stay as they are where anything else helps: two limits that people set, such as her
    weight and her room, give before a floor does. None where nothing does.
    """
    may_give = [ease for ease in eased.eases if not floors or ease.kind != "carry_at_least"]
    try:
        moved = eased.find_least(may_give, seconds=search.left)
    except OutOfTime:
        if not floors:
            raise
        return None
    if not moved:
        return None
    told = [tuple(write_change(each, search.choices) for each in one) for one in (moved, *floors)]
    gave = {find_ease(each.limit) for each in moved if each.limit is not None}
    clashing = _name_clashing(eased, (), search)
    named = [ease for ease in eased.eases if ease in gave or ease in clashing]
    text = tell_many(who, named, search.choices)
    return Clash(text=text, remedies=tuple(told))


def _name_clashing(eased: Eased, known: Sequence[Ease], search: Search) -> list[Ease]:
    """Name limits that clash together, and no longer once any one of them is left out.

    Each limit in turn is left out for good where the others clash without it. Those that mend it
    by themselves (`known`) are among them whatever is left out.
    """
    without: list[Ease] = []
    for ease in sorted(set(eased.eases) - set(known), key=lambda ease: (_rank(ease), ease)):
        try:
            if not eased.is_possible([*without, ease], seconds=search.left):
                without.append(ease)
        except OutOfTime:
            break
    return [ease for ease in eased.eases if ease not in without]


def _rank(ease: Ease) -> int:
    """Leave the market out first and floors last, so that what people set is named."""
    order = ("minimum_order", "most", "stock", "litres", "kg", "boat budget", "fleet budget")
    return order.index(ease.kind) if ease.kind in order else len(order)


def _tell(
    who: str, changes: Sequence[Change], others: Sequence[Ease], eased: Eased, search: Search
) -> str:
    first = changes[0]
    risk = ""
    if first.limit == "readiness" and not others and who in search.choices.boats:
        risk = eased.find_greatest_risk(who)
    return tell_clash(who, first, others, search.choices, risk=risk)
