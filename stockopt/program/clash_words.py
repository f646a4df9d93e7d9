"""Clashes and what mends them, in words, with their units."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

from stockopt.choices.choices import Choices
from stockopt.errors import Change, LimitKind
from stockopt.program.loosen import find_least_carried
from stockopt.program.slack import Ease, Moved
from stockopt.units import Measures

#: Digits after the point that a change of each unit is rounded to, to the safe side.
_DIGITS: Final = {"kg": 3, "litres": 3, "money": 2}
#: Most of a kind that are named one by one; of more, one fewer is named and the rest counted.
_MOST_NAMED = 4
#: Most digits after the point of a readiness in percent.
_MOST_DIGITS = 12


def write_change(moved: Moved, choices: Choices) -> Change:
    """Return a limit that must give as a change, rounded to the safe side, with its words."""
    limit = moved.limit
    if limit is None:
        return _lower_floor(moved)
    kind: LimitKind = limit.kind
    boat, value = limit.boat, moved.value
    unit = find_unit(kind, choices.currency)
    needed = _round(moved, kind, choices.measures)
    over = abs(needed - value)
    now, then, more = (_say(kind, number, choices) for number in (value, needed, over))
    texts: dict[str, str] = {
        "kg": f"let {boat} carry {then} of spares, {more} more than her limit of {now}",
        "litres": f"give {boat} {then} for spares, {more} more than her limit of {now}",
        "boat budget": f"give {boat} a budget of {then}, {more} more than {now}",
        "fleet budget": f"raise the budget of the fleet to {then}, {more} more than {now}",
        "readiness": "ask for no readiness"
        if needed <= 0.0
        else f"ask for a readiness of {say_readiness(needed)} instead of {say_readiness(value)}",
        "most": f"have {limit.source} sell {_packs(needed, limit.pack)} of {limit.part}, "
        f"{more} more than it has",
        "stock": f"bring {more} more of {limit.part} to {limit.place} ({then} instead of {now})",
        "minimum_order": f"have {limit.source} take an order of {then}, {more} below its minimum",
    }
    return Change(
        limit=kind,
        boat=boat,
        source=limit.source,
        place=limit.place,
        part=limit.part,
        pack=limit.pack,
        unit=unit,
        value=value,
        needed=needed,
        text=texts[kind] if moved.proven else f"{texts[kind]} (a smaller change may do)",
        proven=moved.proven,
    )


def _lower_floor(moved: Moved) -> Change:
    instead = f"at least {moved.value:g}, only where rules and safety allow it"
    if moved.pinned:
        instead = f"the {moved.value:g} asked for"
    return Change(
        limit="carry_at_least",
        boat=moved.boat,
        part=moved.part,
        unit="pieces",
        value=moved.value,
        needed=moved.needed,
        text=f"let {moved.boat} carry {moved.needed:g} of {moved.part} instead of {instead}",
    )


def find_unit(kind: LimitKind, currency: str) -> str:
    """Return the unit of a kind of limit."""
    units = {
        "kg": "kg",
        "litres": "litres",
        "readiness": "share",
        "most": "packs",
        "stock": "pieces",
        "carry_at_least": "pieces",
        "departs_on": "days",
    }
    return units.get(kind, currency)


def _round(moved: Moved, kind: LimitKind, measures: Measures) -> float:
    """Round what is needed so that it is enough, and no more than it must be.

    A mass or room is rounded in the unit in which people read it: what they read is enough.
    """
    if kind == "readiness":
        return floor_readiness(moved.needed, moved.value)
    if kind in ("most", "stock"):
        return float(round(moved.needed))
    digits = _DIGITS.get(kind, _DIGITS["money"])
    away = math.floor if kind == "minimum_order" else math.ceil
    unit = {"kg": measures.kg_each, "litres": measures.litres_each}.get(kind, 1.0)
    return float(away(round(moved.needed / unit * 10**digits, 6)) / 10**digits) * unit


def floor_readiness(reached: float, asked: float) -> float:
    """Return a readiness rounded down, near enough to tell it from the one asked.

    Examples
    --------
    >>> floor_readiness(0.8126, 0.95), floor_readiness(0.99999951, 0.9999999)
    (0.812, 0.9999995)
    """
    if reached <= 1e-9:
        return 0.0
    for digits in range(1, _MOST_DIGITS + 1):
        step = 10.0 ** (digits + 2)
        floored = math.floor(reached * step * (1.0 + 1e-15)) / step
        if floored > 0.0 and reached - floored <= 0.1 * (asked - reached):
            return floored
    return reached


def say_readiness(share: float) -> str:
    """Return a readiness as it is, with every digit that it has.

    Examples
    --------
    >>> say_readiness(0.95), say_readiness(0.9999995)
    ('95 %', '99.99995 %')
    """
    return f"{100.0 * share:.{_MOST_DIGITS}g} %"


def _say(kind: LimitKind, number: float, choices: Choices) -> str:
    return say(kind, number, choices.currency, choices.measures)


def say(kind: LimitKind, number: float, currency: str, measures: Measures) -> str:
    """Return a number with the unit of its kind of limit.

    Examples
    --------
    >>> say("kg", 131.0, "EUR", Measures()), say("kg", 45.359237, "EUR", Measures(mass="lb"))
    ('131 kg', '100 lb')
    >>> say("fleet budget", 1234.5, "EUR", Measures()), say("stock", 2.0, "EUR", Measures())
    ('1,234.50 EUR', '2')
    """
    if kind == "kg":
        return f"{_trim(f'{measures.of_mass(number):,.3f}')} {measures.mass}"
    if kind == "litres":
        return f"{_trim(f'{measures.of_room(number):,.3f}')} {measures.volume}"
    if kind in ("boat budget", "fleet budget", "minimum_order"):
        return f"{number + 0.0:,.2f} {currency}".strip()  # + 0.0: no -0.00
    if kind == "readiness":
        return say_readiness(number)
    return f"{number:,.0f}"


def _trim(text: str) -> str:
    return text.rstrip("0").rstrip(".")


def _packs(count: float, pack: int) -> str:
    return f"{count:.0f}" if pack == 1 else f"{count:.0f} packs of {pack}"


def tell_clash(
    who: str, primary: Change, others: Sequence[Ease], choices: Choices, *, risk: str
) -> str:
    """Say which limits clash, and by how much the first misses.

    Parameters
    ----------
    who
        The boat, the boats of a store, or the fleet.
    primary
        The least change that mends it by itself.
    others
        The other limits that have part in it.
    choices
        For what each limit is.
    risk
        The part likeliest to run short, where readiness by itself is out of reach.
    """
    whose = primary.boat or who
    given = join_words(_name_eases(others, choices))
    now, then = (_say(primary.limit, n, choices) for n in (primary.value, primary.needed))
    more = _say(primary.limit, primary.over, choices)
    floors_only = {ease.kind for ease in others} <= {"carry_at_least"}
    what = f"the floors of {whose}" if others else f"the least for {whose}"
    load = {"kg": "weigh", "litres": "fill"}.get(primary.limit, "cost")
    over = f"{more} over the limit of {now}"
    if load == "cost":
        over = f"{more} over the budget of {now}"
    if primary.limit in ("kg", "litres", "boat budget", "fleet budget"):
        if floors_only:
            return f"{what} {load if others else load + 's'} {then}, {over}"
        verb = {"kg": "must carry", "litres": "must stow"}.get(primary.limit, "must spend")
        kept = f"to keep {given} with all else as it is, " if given else ""
        return f"{kept}{whose} {verb} {then}, {over}"
    if primary.limit == "readiness":
        kept = f"with {given}, " if given else ""
        worst = f"; {risk} is the greatest risk" if risk else ""
        verb = "reach" if whose.startswith("the boats") else "reaches"
        return f"{kept}{whose} {verb} a readiness of at most {then}, {now} is asked{worst}"
    kept = f" to keep {given}" if given else ""
    if primary.limit == "carry_at_least":
        return (
            f"{whose} can carry only {primary.needed:g} of {primary.part}{kept}, "
            f"at least {primary.value:g} must be carried"
        )
    if primary.limit == "minimum_order":
        return (
            f"{who} can order for {then} at most from {primary.source}{kept}, "
            f"{more} below its minimum of {now}"
        )
    where = primary.source or primary.place
    return (
        f"{who} needs {then} of {primary.part} from {where}{kept}, {more} more than the {now} there"
    )


def tell_many(who: str, eases: Sequence[Ease], choices: Choices) -> str:
    """Say which limits clash where no change of one alone mends it."""
    return f"{who} cannot keep {join_words(_name_eases(eases, choices))} together"


def tell_unmended(who: str, eases: Sequence[Ease], choices: Choices) -> str:
    """Say which limits no plan keeps, where the time was up before it was known what mends it."""
    together = " together" if len(eases) > 1 else " with all else as it is"
    return (
        f"{who} cannot keep {join_words(_name_eases(eases, choices))}{together}; the time was up "
        "before it was known what mends it"
    )


def _name_eases(eases: Sequence[Ease], choices: Choices) -> list[str]:
    """Name limits, those of one kind together where many boats have their own."""
    boats: dict[LimitKind, list[str]] = defaultdict(list)
    for ease in eases:
        if ease.boat in choices.boats:
            boats[ease.kind].append(ease.boat)
    measures = choices.measures
    units = {"kg": f"limits in {measures.mass}", "litres": f"limits in {measures.volume}"}
    words = []
    for ease in eases:
        alike = boats[ease.kind] if ease.boat in choices.boats else []
        if len(alike) < _MOST_NAMED:
            words.append(name_ease(ease, choices))
        elif ease.boat == alike[0]:
            words.append(f"the {units.get(ease.kind, 'budgets')} of {join_few(alike)}")
    return words


def name_ease(ease: Ease, choices: Choices) -> str:
    """Name a limit, or the limits that are eased as one."""
    limits = choices.boats.get(ease.boat)
    if limits is not None:
        values = {"kg": limits.kg, "litres": limits.litres, "boat budget": limits.budget}
        told = _say(ease.kind, values[ease.kind] or 0.0, choices)
        kind = "the budget" if ease.kind == "boat budget" else "the limit"
        return f"{kind} of {told} of {ease.boat}"
    if ease.kind == "fleet budget":
        return f"the budget of {_say(ease.kind, choices.budget or 0.0, choices)}"
    if ease.kind == "readiness":
        return f"a readiness of {say_readiness(choices.readiness or 0.0)}"
    names: dict[str, str] = {
        "carry_at_least": "the floors",
        "most": "what the sources have",
        "stock": "what is in stock",
        "minimum_order": "the least orders of the sources",
    }
    return names[ease.kind]


def list_limits(choices: Choices) -> str:
    """List the limits in force, where it is not known which clash."""
    words = []
    if choices.budget is not None:
        words.append(f"the budget of {_say('fleet budget', choices.budget, choices)} for the fleet")
    if choices.readiness:
        words.append(f"a readiness of {say_readiness(choices.readiness)} for every boat")
    own = [words_of for boat in sorted(choices.boats) for words_of in _list_own(choices, boat)]
    words += _cut(own, "more boats with limits of their own")
    minimums = sorted({source for (source, _), c in choices.charges.items() if c.minimum_order})
    words += _cut([f"the minimum order of {source}" for source in minimums], "more sources")
    return (
        "no plan keeps all of these together, and the time was up before it was known which "
        f"clash: {'; '.join(words)}"
    )


def _list_own(choices: Choices, boat: str) -> Iterator[str]:
    limits = choices.boats[boat]
    measures = choices.measures
    own = []
    if limits.kg is not None:
        own.append(f"{measures.of_mass(limits.kg):,.1f} {measures.mass}")
    if limits.litres is not None:
        own.append(f"{measures.of_room(limits.litres):,.1f} {measures.volume}")
    if limits.budget is not None and math.isfinite(limits.budget):
        own.append(f"a budget of {_say('boat budget', limits.budget, choices)}")
    floors = sum(part.boat == boat and find_least_carried(part) > 0 for part in choices.parts)
    if floors:
        own.append(f"floors of {floors} part{'s' if floors > 1 else ''}")
    if own:
        yield f"{boat}: {', '.join(own)}"


def _cut(words: Sequence[str], more: str) -> list[str]:
    """Return the first few words, and how many more there are."""
    if len(words) <= _MOST_NAMED:
        return list(words)
    named = _MOST_NAMED - 1
    return [*words[:named], f"{len(words) - named:,} {more}"]


def join_few(names: Sequence[str]) -> str:
    """Join names to a list, of many only the first few and how many more there are.

    Examples
    --------
    >>> join_few(["a", "b"]), join_few(["a", "b", "c", "d", "e"])
    ('a and b', 'a, b, c and 2 more')
    """
    return join_words(_cut(names, "more"))


def join_words(words: Sequence[str]) -> str:
    """Join words to a list.

    Examples
    --------
    >>> join_words(["a"]), join_words(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
