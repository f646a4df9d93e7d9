"""Which limits clash where there is no plan, and the least change that mends it.

Looked for where it is easiest to understand first, and what is found there is taken as mended
from then on: pieces that cannot be had, each boat by herself, boats that share a place, then the
fleet's budget. So a fleet of any size is asked boat by boat.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from stockopt.choices.choices import BoatLimits, BoatPart, Choices
from stockopt.errors import Change, Clash, NoPlanError
from stockopt.program.clash_words import join_words, tell_clash, tell_many, write_change
from stockopt.program.loosen import find_least_carried, mend
from stockopt.program.missing import find_missing_pieces
from stockopt.program.places import split_by_place
from stockopt.program.slack import Ease, Eased, Moved, OutOfTime, find_ease

#: Clashes told at most; more than that is a table to look at again.
_MOST_TOLD = 20
#: Time for all that is asked about clashes, as a share of the solver's, and at least (s).
_SHARE, _LEAST_SECONDS = 1.0 / 3.0, 5.0
#: Share of the time left that one least change may take, and at least (s).
_SLICE, _LEAST_SLICE = 0.2, 1.0
#: Choices and offers above which the fleet is asked place by place only.
_MANY = 6_000


@dataclass(slots=True, kw_only=True)
class _Search:
    """What is found so far, and the choices with that mended."""

    choices: Choices
    until: float
    clashes: list[Clash]

    @property
    def left(self) -> float:
        """Return the seconds left."""
        return self.until - time.perf_counter()

    @property
    def slice(self) -> float:
        """Return the seconds for one least change."""
        return min(self.left, max(_LEAST_SLICE, _SLICE * self.left))

    def take(self, clash: Clash) -> None:
        """Keep a clash, and go on as if its first remedy were done."""
        self.clashes.append(clash)
        if clash.remedies:
            self.choices = mend(self.choices, clash.remedies[0])


def find_clashes(choices: Choices, *, seconds: float) -> tuple[Clash, ...]:
    """Find the limits that no plan keeps, and the least that each must give.

    Parameters
    ----------
    choices
        For which it is known that there is no plan.
    seconds
        The solver's time; about a third of it, or 5 s, is spent on this at most.

    Returns
    -------
    tuple of Clash
        At least one. With no remedy where the time was up before one was known.
    """
    until = time.perf_counter() + max(_LEAST_SECONDS, _SHARE * seconds)
    search = _Search(choices=choices, until=until, clashes=[])
    for clash in find_missing_pieces(choices):
        search.take(clash)
    for boat in sorted(choices.boats):
        alone = _take_boat(search.choices, boat)
        if alone.parts and _may_clash(alone):
            _look(search, alone, boat)
    for together in split_by_place(search.choices):
        if len(together.boats) > 1:
            places = {limits.place for limits in together.boats.values()}
            _look(search, together, f"the boats of {join_words(sorted(places))}")
    if choices.budget is not None:
        _look_at_fleet(search)
    if not search.clashes:
        return (Clash(text=_list_limits(choices)),)
    return tuple(_keep_what_mends(choices, search))


def _keep_what_mends(choices: Choices, search: _Search) -> Iterator[Clash]:
    """Leave out other remedies that mend a clash only to meet the next one.

    Asked of the whole fleet, with the other clashes mended; a large fleet is not asked.
    """
    firsts = [clash.remedies[0] if clash.remedies else () for clash in search.clashes]
    for number, clash in enumerate(search.clashes):
        if len(clash.remedies) < 2 or _count(choices) > _MANY:
            yield clash
            continue
        mended = choices
        for other, first in enumerate(firsts):
            if other != number:
                mended = mend(mended, first)
        others = [
            remedy
            for remedy in clash.remedies[1:]
            if remedy[0].limit == "departs_on" or _is_mended(mend(mended, remedy), search)
        ]
        yield replace(clash, remedies=(clash.remedies[0], *others))


def _is_mended(choices: Choices, search: _Search) -> bool:
    try:
        return Eased(choices).is_possible((), seconds=search.left)
    except (OutOfTime, NoPlanError):
        return False


def _count(choices: Choices) -> int:
    return sum(len(part.choices) + len(part.offers) for part in choices.parts)


def _look(search: _Search, choices: Choices, who: str) -> None:
    """Look for a clash among some boats, and keep it."""
    if search.left > 0.0 and len(search.clashes) < _MOST_TOLD:
        try:
            clash = _find_clash(choices, who, search)
        except (OutOfTime, NoPlanError):
            return
        if clash is not None:
            search.take(clash)


def _take_boat(choices: Choices, boat: str) -> Choices:
    """Return one boat's choices, as if she had her place to herself.

    What the others want of stock and of scarce packs is left out, and so are least orders where
    others could fill them: what clashes then, clashes all the more with them.
    """
    limits = choices.boats[boat]
    charges = choices.charges
    if limits.place != boat:
        charges = {key: replace(charge, minimum_order=None) for key, charge in charges.items()}
    parts = tuple(part for part in choices.parts if part.boat == boat)
    return replace(
        choices,
        boats={boat: replace(limits, harbour="")},
        parts=parts,
        charges=charges,
        stock=_gather_stock(choices, limits),
        budget=None,
    )


def _gather_stock(choices: Choices, limits: BoatLimits) -> dict[tuple[str, str], int]:
    """Gather at a boat's place what she can have from all her harbour."""
    if not limits.harbour:
        return {key: pieces for key, pieces in choices.stock.items() if key[0] == limits.place}
    near = {each.place for each in choices.boats.values() if each.harbour == limits.harbour}
    stock: Counter[tuple[str, str]] = Counter()
    for (store, part), pieces in choices.stock.items():
        if store in near:
            stock[limits.place, part] += pieces
    for other in choices.parts:
        if other.boat != limits.boat and choices.boats[other.boat].harbour == limits.harbour:
            stock[limits.place, other.part] += other.movable
    return dict(stock)


def _may_clash(alone: Choices) -> bool:
    """Return False where it is plain that one boat can keep her limits: she has none that bind."""
    limits = next(iter(alone.boats.values()))
    minimums = any(charges.minimum_order for charges in alone.charges.values())
    return bool(
        minimums
        or alone.readiness
        or any(limit is not None for limit in (limits.kg, limits.litres, limits.budget))
    )


def _find_clash(choices: Choices, who: str, search: _Search) -> Clash | None:
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
    eased: Eased, who: str, floors: Sequence[list[Moved]], search: _Search
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


def _name_clashing(eased: Eased, known: Sequence[Ease], search: _Search) -> list[Ease]:
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
    who: str, changes: Sequence[Change], others: Sequence[Ease], eased: Eased, search: _Search
) -> str:
    first = changes[0]
    risk = ""
    if first.limit == "readiness" and not others and who in search.choices.boats:
        risk = eased.find_greatest_risk(who)
    return tell_clash(who, first, others, search.choices, risk=risk)


# --- the fleet ----------------------------------------------------------------------------------


def _look_at_fleet(search: _Search) -> None:
    """Look for a clash with the fleet's budget: as one where that is small, else by places."""
    if _count(search.choices) <= _MANY:
        _look(search, search.choices, "the fleet")
        return
    try:
        clash = _add_up_places(search)
    except (OutOfTime, NoPlanError):
        told = _say_budget(search.choices)
        clash = None if search.clashes else Clash(text=f"the fleet cannot keep {told}")
    if clash is not None:
        search.take(clash)


def _add_up_places(search: _Search) -> Clash | None:
    """Add up the least that each place must spend: nothing else joins them."""
    budget = search.choices.budget or 0.0
    ease = Ease("fleet budget")
    least = 0.0
    for place in split_by_place(search.choices):
        moved = Eased(replace(place, budget=0.0)).find_least((ease,), seconds=search.left)
        if moved is None:
            raise OutOfTime
        least += sum(each.needed for each in moved)
    if least <= budget:
        return None
    limit = Moved.of_fleet_budget(budget, least)
    change = write_change(limit, search.choices)
    others = [Ease("readiness")] if search.choices.readiness else []
    if any(find_least_carried(part) for part in search.choices.parts):
        others.append(Ease("carry_at_least"))
    text = tell_clash("the fleet", change, others, search.choices, risk="")
    return Clash(text=text, remedies=((change,),))


def _say_budget(choices: Choices) -> str:
    return f"the budget of {choices.budget or 0.0:,.2f} {choices.currency}".strip()


# --- where the time was up ----------------------------------------------------------------------


def _list_limits(choices: Choices) -> str:
    """List every limit in force, where it is not known which clash."""
    words = []
    if choices.budget is not None:
        words.append(f"{_say_budget(choices)} for the fleet")
    if choices.readiness:
        words.append(f"a readiness of {100.0 * choices.readiness:.10g} % for every boat")
    words += [words_of for boat in sorted(choices.boats) for words_of in _list_own(choices, boat)]
    minimums = sorted({source for (source, _), c in choices.charges.items() if c.minimum_order})
    words += [f"the minimum order of {source}" for source in minimums]
    return (
        "no plan keeps all of these together, and the time was up before it was known which "
        f"clash: {'; '.join(words)}"
    )


def _list_own(choices: Choices, boat: str) -> Iterator[str]:
    limits = choices.boats[boat]
    parts: list[BoatPart] = [part for part in choices.parts if part.boat == boat]
    measures = choices.measures
    own = []
    if limits.kg is not None:
        own.append(f"{measures.of_mass(limits.kg):,.1f} {measures.mass}")
    if limits.litres is not None:
        own.append(f"{measures.of_room(limits.litres):,.1f} {measures.volume}")
    if limits.budget is not None and math.isfinite(limits.budget):
        own.append(f"a budget of {limits.budget:,.2f} {choices.currency}".strip())
    floors = sum(find_least_carried(part) > 0 for part in parts)
    if floors:
        own.append(f"floors of {floors} part{'s' if floors > 1 else ''}")
    if own:
        yield f"{boat}: {', '.join(own)}"
