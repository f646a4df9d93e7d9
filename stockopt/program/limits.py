"""The limits that people set, one function a limit: the limit in words first, then the formula.

Symbols: z take, q pieces, P packs, y order, w free freight (see
:class:`~stockopt.program.columns.Columns`); n is what a choice carries, a what meets her on her
way.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Set

from stockopt.program.objective import list_order_charges
from stockopt.program.rows import Limit, Program, Sense, Term

#: Shares of the risk below this are left out: the solver takes no smaller factor, and thousands
#: of them are still far below its tolerance.
_SMALLEST_SHARE = 1e-9


def keep_weight(program: Program) -> None:
    """Load no more weight than she takes: sum kg (n + a) z <= kg limit.

    Only what is carried counts; what is replaced before departure is fitted. Pieces that meet her
    on the way count as if none were used by then.
    """
    for boat, needs in program.by_boat.items():
        each = {i: program.needs[i].part.kg for i in needs}
        limit = Limit(kind="kg", boat=boat)
        _keep_load(program, limit, each, program.choices.boats[boat].kg)


def keep_stowage(program: Program) -> None:
    """Stow no more than she has room for: sum litres (n + a) z <= litres limit."""
    for boat, needs in program.by_boat.items():
        each = {i: program.needs[i].part.litres for i in needs}
        limit = Limit(kind="litres", boat=boat)
        _keep_load(program, limit, each, program.choices.boats[boat].litres)


def _keep_load(
    program: Program, limit: Limit, each: Mapping[int, float], most: float | None
) -> None:
    if most is None:
        return
    terms = [
        (program.columns.take[i, j], load * option.choice.aboard)
        for i, load in each.items()
        for j, option in enumerate(program.needs[i].options)
        if load * option.choice.aboard > 0.0
    ]
    program.add(f"{limit.kind}_{limit.boat}", terms, Sense.AT_MOST, most, keeps=limit)


def keep_boat_budgets(program: Program) -> None:
    """Keep what is spent now for each boat within her budget.

    From a shared store: sum landed q. Delivered to her alone, at home or on her way: whole packs
    and the order's charges, sum landed pack P + freight (y - w) + handling y.
    """
    for boat, needs in program.by_boat.items():
        limits = program.choices.boats[boat]
        if limits.budget is None:
            continue
        alone = {program.needs[i].place for i in needs if program.needs[i].port}
        terms: list[Term] = []
        if limits.place == boat:
            alone.add(boat)
        else:
            terms += [
                (program.columns.pieces[i, s], supply.find_landed(program.needs[i].part.part))
                for i in needs
                for s, supply in enumerate(program.needs[i].supplies)
                if supply is not None and not program.needs[i].port and program.needs[i].most_wanted
            ]
        terms += _list_spending(program, alone)
        kept = Limit(kind="boat budget", boat=boat)
        program.add(f"budget_{boat}", terms, Sense.AT_MOST, limits.budget, keeps=kept)


def keep_fleet_budget(program: Program) -> None:
    """Keep everything spent now within the fleet's budget: packs and order charges."""
    if program.choices.budget is not None:
        terms = _list_spending(program, {place for place, _ in program.columns.packs})
        kept = Limit(kind="fleet budget")
        program.add("budget", terms, Sense.AT_MOST, program.choices.budget, keeps=kept)


def _list_spending(program: Program, places: Set[str]) -> list[Term]:
    """List what is spent now on orders to some places."""
    terms = [
        (packs, offer.landed * offer.pack)
        for (place, offer), packs in program.columns.packs.items()
        if place in places
    ]
    charges = list_order_charges(program.columns, program.choices)
    return terms + [term for (_, place), term in charges if place in places]


def keep_readiness(program: Program) -> None:
    """Keep each boat's chance of no shortage of a part that stops her at least as asked.

    The chances multiply, so each choice uses up a share of the risk allowed:
    sum z log(1 - chance) / log(readiness) <= 1.
    """
    readiness = program.choices.readiness
    if not readiness:
        return
    for boat, needs in program.by_boat.items():
        terms = [
            (program.columns.take[i, j], share)
            for i in needs
            if program.needs[i].part.stops
            for j, option in enumerate(program.needs[i].options)
            if (share := find_risk_share(option.choice.shortage_chance, readiness))
            > _SMALLEST_SHARE
        ]
        kept = Limit(kind="readiness", boat=boat)
        program.add(f"readiness_{boat}", terms, Sense.AT_MOST, 1.0, keeps=kept)


def find_risk_share(chance: float, readiness: float) -> float:
    """Return the share of the allowed risk that a chance of a shortage uses up.

    Cut at 2, as any share above 1 by itself is too much.

    Examples
    --------
    >>> round(find_risk_share(0.05, 0.9025), 6)
    0.5
    >>> find_risk_share(1.0, 0.95), find_risk_share(0.1, 1.0), find_risk_share(0.0, 1.0)
    (2.0, 2.0, 0.0)
    """
    if chance <= 0.0:
        return 0.0
    if chance >= 1.0 or readiness >= 1.0:
        return 2.0
    return min(2.0, math.log1p(-chance) / math.log(readiness))
