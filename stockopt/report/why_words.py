"""Reasons in words: what stops one piece more, and what a little more of a limit is worth."""

from __future__ import annotations

import math

from stockopt.report.words import money_text, share_text
from stockopt.units import Measures
from stockopt.why.why import LimitWhy, LineWhy, Stop

#: Stops that are about the piece itself; any other is a limit in its way.
_OF_THE_PIECE: dict[Stop, str] = {
    "not worth its price": "not worth its price",
    "readiness reached without it": "readiness is reached without it",
    "brings nothing more": "brings nothing more",
    "nothing can bring it in time": "nothing can bring it in time",
    "needed elsewhere": "her own pieces are needed by another boat",
    "the number asked for": "the number was asked for",
    "within the gap": "would pay, by less than the plan is proven to",
}
_OF_LIMITS: dict[Stop, str] = {"most available": "the source has no more"}

#: Of its price: what a piece not carried must save to be shown as nearly worth it.
NEARLY = 0.75
#: An interval of less than this, in money, is told as one amount.
NARROW = 0.01
#: Worth less than this, in money, a limit is not said to hold anything back.
UNNOTICED = 0.5


def stops_text(why: LineWhy, measures: Measures) -> str:
    """Say what stops one more."""
    limits = [_limit_word(stop, measures) for stop in why.stopped_by if stop not in _OF_THE_PIECE]
    if limits:
        return f"would pay, but for: {', '.join(limits)}"
    return "; ".join(_OF_THE_PIECE[stop] for stop in why.stopped_by)


def _limit_word(stop: Stop, measures: Measures) -> str:
    """Name a limit that stops one more, with the unit that people read it in."""
    if stop == "her kilos":
        return f"her {measures.masses}"
    if stop == "her litres":
        return f"her {measures.volume}"
    return _OF_LIMITS.get(stop, stop)


def is_nearly_worth_it(why: LineWhy) -> bool:
    """Return whether a part not carried is kept ashore by a limit, or by little money."""
    if why.more_saves is None or why.more_cost is None or why.last_pieces or why.at_floor:
        return False
    would_pay = why.stopped_by[0] == "within the gap" or any(
        stop not in _OF_THE_PIECE for stop in why.stopped_by
    )
    return would_pay or why.more_saves >= NEARLY * why.more_cost


def limit_text(why: LimitWhy, currency: str, measures: Measures) -> str:
    """Name a limit, with its size."""
    if why.kind == "readiness":
        return f"Readiness {share_text(why.limit)}"
    amount = amount_text(why, why.limit, currency, measures)
    what = f"budget {amount}" if why.kind == "budget" else amount
    return f"{why.boat}, {what}" if why.boat else f"Fleet, {what}"


def amount_text(why: LimitWhy, amount: float, currency: str, measures: Measures) -> str:
    """Return an amount in the unit of its limit."""
    if why.kind == "budget":
        return f"{amount:,.0f} {currency}"
    if why.kind == "kg":
        return f"{measures.of_mass(amount):,.1f} {measures.mass}"
    if why.kind == "litres":
        return f"{measures.of_room(amount):,.1f} {measures.room}"
    return share_text(amount)


def step_text(why: LimitWhy, currency: str, measures: Measures) -> str:
    """Return what was added to a limit, or taken from it."""
    more = "less" if why.step < 0.0 else "more"
    if why.kind == "readiness":
        points = f"{abs(100.0 * why.step):.3g}"
        return f"{points} {'point' if points == '1' else 'points'} {more}"
    return f"{amount_text(why, abs(why.step), currency, measures)} {more}"


def worth_text(why: LimitWhy, currency: str) -> str:
    """Say what the step saves or costs, as an interval that is proven."""
    if why.state == "no plan":
        return "no plan is left"
    if why.state == "not asked" or why.saves_low is None or why.saves_high is None:
        return "not asked"
    low, high = why.saves_low, why.saves_high
    if high <= 0.0 and low < 0.0:
        return f"costs {_between(-high, -low, currency)}"
    return f"saves {_between(max(low, 0.0), high, currency)}"


def brief_worth(why: LimitWhy, currency: str) -> str:
    """Say the same on a terminal, in as few words; '?' where it was not asked.

    Examples
    --------
    >>> given = {"kind": "kg", "boat": "Heron", "limit": 40.0, "used": 39.0, "step": 5.0}
    >>> brief_worth(LimitWhy(**given, state="not asked"), "EUR")
    'saves ? EUR'
    >>> solved = {"state": "solved", "saves_low": 12.0, "saves_high": 14.5, "saves": 12.0}
    >>> brief_worth(LimitWhy(**given, **solved), "EUR")
    'saves 12 - 15 EUR'
    """
    if why.state == "no plan":
        return "no plan"
    loosens = (why.step > 0.0) != (why.kind == "readiness")
    verb = "saves" if loosens else "costs"
    if why.saves_low is None or why.saves_high is None:
        return f"{verb} ? {currency}"
    low, high = sorted((abs(why.saves_low), abs(why.saves_high)))
    one = high - low < 0.5
    amount = f"{high:,.0f}" if one else f"{math.floor(low):,} - {math.ceil(high):,}"
    return f"{verb} {amount} {currency}"


def _between(low: float, high: float, currency: str) -> str:
    if high - low < NARROW:
        return money_text(high, currency) if high >= NARROW else "nothing"
    if low < NARROW:
        return f"at most {money_text(high, currency)}, perhaps nothing"
    return f"{low:,.2f} to {money_text(high, currency)}"


def binds(why: LimitWhy) -> bool:
    """Return whether a limit is seen to hold something back."""
    return why.state != "slack" and not _is_worth_nothing(why) and not _has_room(why)


def limits_to_tell(limits: tuple[LimitWhy, ...]) -> list[LimitWhy]:
    """Return what holds the plan back.

    A step that there was no time to solve is left out where another of its limit was solved.
    """
    held = [why for why in limits if binds(why)]
    solved = {(why.kind, why.boat) for why in held if why.state != "not asked"}
    return [why for why in held if why.state != "not asked" or (why.kind, why.boat) not in solved]


def _has_room(why: LimitWhy) -> bool:
    """Return whether the plan leaves a whole step of a limit free, and more is not proven to save.

    What it might save then is no more than what the plan is not proven to.
    """
    free = why.kind != "readiness" and why.limit - why.used >= abs(why.step) > 0.0
    return free and (why.saves_low is None or why.saves_low < UNNOTICED)


def _is_worth_nothing(why: LimitWhy) -> bool:
    """Return whether a step was solved and neither saves nor costs what a person would notice."""
    if why.state != "solved" or why.saves_low is None or why.saves_high is None:
        return False
    return max(abs(why.saves_low), abs(why.saves_high)) < UNNOTICED
