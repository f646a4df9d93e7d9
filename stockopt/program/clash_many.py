"""What clashes among more boats than one program with eased limits can hold.

Only what is asked of the program as it stands is known here: whether there is a plan, what the
places spend at least, and how ready the boats can be. So a change told is enough, and a smaller
one may do; it says so.
"""

from __future__ import annotations

from stockopt.choices.choices import Choices
from stockopt.errors import Clash, LimitKind, NoPlanError
from stockopt.program.clash_search import Search
from stockopt.program.clash_words import (
    say_readiness,
    tell_clash,
    tell_many,
    tell_unmended,
    write_change,
)
from stockopt.program.least import find_safest
from stockopt.program.loosen import find_least_carried, mend
from stockopt.program.missing import find_scarce_parts
from stockopt.program.rows import Limit
from stockopt.program.slack import Ease, Moved, OutOfTime

#: Of the time in which the whole program was seen to have no plan: what building one of as many
#: choices takes, and what it takes to ask both whether these boats clash and what mends it.
_BUILDING, _BOTH = 0.5, 2.0


def look_at_many(search: Search, choices: Choices, who: str) -> None:
    """Look for a clash among boats that share supplies, without the fleet's budget."""
    if not search.may_go_on:
        return
    for clash in find_scarce_parts(choices, who):
        search.take(clash)
        choices = mend(choices, clash.remedies[0])
    large = 2 * choices.size > search.choices.size
    if large and search.left < _BUILDING * search.whole:
        # Building the program takes about as long as before, and cannot be stopped.
        search.leave_out()
    elif large and search.left < _BOTH * search.whole:
        search.leave_out()
        _take(search, _find_readiness(search, choices, who, known=False))
    else:
        try:
            search.spending.find_least(choices, until=search.until)
        except OutOfTime:
            search.leave_out()
        except NoPlanError:
            _take(search, _find_readiness(search, choices, who, known=True))


def _take(search: Search, clash: Clash | None) -> None:
    if clash is not None:
        search.take(clash)


def _find_readiness(search: Search, choices: Choices, who: str, *, known: bool) -> Clash | None:
    """Find how ready the boats can be with all else as it is, where that is not what is asked.

    Where it is not `known` whether these boats clash at all, None unless that shows it.
    """
    eases = _list_eases(choices)
    if choices.readiness:
        try:
            safest = find_safest(choices, until=search.until)
        except OutOfTime:
            return Clash(text=tell_unmended(who, eases, choices)) if known else None
        except NoPlanError:
            eases = [ease for ease in eases if ease.kind != "readiness"]
        else:
            if safest.readiness >= choices.readiness:
                return None
            moved = Moved(
                Limit(kind="readiness"), "", "", choices.readiness, safest.readiness, proven=False
            )
            change = write_change(moved, choices)
            text = (
                f"with all else as it is, {who} reach a readiness of "
                f"{say_readiness(change.needed)} in the safest plan known, "
                f"{say_readiness(choices.readiness)} is asked; {safest.boat} is the least ready"
            )
            return Clash(text=text, remedies=((change,),))
    elif not known:
        return None
    return Clash(text=tell_many(who, eases, choices))


def _list_eases(choices: Choices) -> list[Ease]:
    """List every limit in force but the fleet's budget."""
    kinds: dict[LimitKind, bool] = {
        "carry_at_least": any(find_least_carried(part) for part in choices.parts),
        "minimum_order": any(each.minimum_order for each in choices.charges.values()),
        "most": any(offer.most is not None for part in choices.parts for offer in part.offers),
        "readiness": bool(choices.readiness),
        "stock": any(choices.stock.values()),
    }
    eases = []
    for limits in choices.boats.values():
        own: dict[LimitKind, float | None] = {
            "boat budget": limits.budget,
            "kg": limits.kg,
            "litres": limits.litres,
        }
        eases += [Ease(kind, limits.boat) for kind, limit in own.items() if limit is not None]
    return sorted([*eases, *(Ease(kind) for kind, there in kinds.items() if there)])


def add_up_places(search: Search) -> None:
    """Look for a clash with the fleet's budget: add up the least that each place must spend."""
    choices, budget = search.choices, search.choices.budget
    if budget is None or not search.may_go_on or (search.rest and not search.clashes):
        return
    try:
        least = search.spending.find_least(choices, until=search.until)
    except (OutOfTime, NoPlanError):
        if search.clashes:
            search.leave_out()
        else:
            search.take(Clash(text=tell_unmended("the fleet", [Ease("fleet budget")], choices)))
        return
    if least.known <= budget * (1.0 + 1e-9):
        return
    # Half of the time is left for asking which other remedies hold.
    least = search.spending.refine(choices, until=search.until - 0.5 * search.left)
    if least.known <= budget * (1.0 + 1e-9):
        return
    moved = Moved.of_fleet_budget(budget, least.known)._replace(proven=least.is_near)
    change = write_change(moved, choices)
    others = [Ease("readiness")] if choices.readiness else []
    if any(find_least_carried(part) for part in choices.parts):
        others.append(Ease("carry_at_least"))
    text = tell_clash("the fleet", change, others, choices, risk="")
    search.take(Clash(text=text, remedies=((change,),)))
