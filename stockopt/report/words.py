"""Numbers in words: the few phrases that every form of the report shares."""

from __future__ import annotations

import math

from stockopt.ageing.ageing import PartAgeing
from stockopt.plan import Plan

#: A gap below this is the solver's own rounding.
NO_GAP = 5e-7


def money_text(value: float, currency: str) -> str:
    """Return money with thousands separated and its currency code.

    Examples
    --------
    >>> money_text(12345.678, "EUR")
    '12,345.68 EUR'
    """
    return f"{value:,.2f} {currency}"


def share_text(share: float) -> str:
    """Return a chance or share as a percentage that never rounds to a certainty.

    Examples
    --------
    >>> share_text(0.0312), share_text(0.99999), share_text(0.00001), share_text(1.0)
    ('3.1 %', 'over 99.9 %', 'under 0.1 %', '100 %')
    """
    percent = 100.0 * share
    if percent in (0.0, 100.0):
        return f"{percent:.0f} %"
    if percent > 99.9:
        return "over 99.9 %"
    if percent < 0.1:
        return "under 0.1 %"
    return f"{percent:.1f} %"


def gap_text(gap: float) -> str:
    """Return a gap as a percentage, rounded up so that it never claims too much.

    Examples
    --------
    >>> gap_text(0.00081), gap_text(0.0301)
    ('0.09 %', '3.01 %')
    """
    return f"{math.ceil(round(gap * 1e4, 6)) / 1e2:g} %"


def sureness(plan: Plan) -> str:
    """Say how sure it is that no better plan exists.

    The distance from the best is given in money as well as as a share: the total is what is spent
    less what is left over, so that a share of it alone may look better or worse than it is.
    """
    if plan.gap <= NO_GAP:
        return "proven: no plan costs less"
    if not math.isfinite(plan.gap):
        return "the time was up: how near the best is not known"
    above = money_text(plan.cost.total - plan.bound, plan.currency)
    within = f"within {above} ({gap_text(plan.gap)}) of the best"
    return f"the time was up: {within}" if plan.status == "stopped" else f"proven {within}"


def ageing_text(part: PartAgeing) -> str:
    """Say whether a part wears out or fails at random, as far as its records tell.

    A shape above 1 means that the chance of failing rises with age; the 90 % interval decides
    how sure the words are.
    """
    if part.shape_low > 1.0:
        return "wears out"
    if part.shape_high < 1.0:
        return "fails early"
    if part.shape > 1.25:
        return "probably wears out"
    if part.shape < 0.8:
        return "probably fails early"
    return "fails at any age"


def unit_text(clock: str) -> str:
    """Return the short unit of a clock.

    Examples
    --------
    >>> unit_text("hours"), unit_text("days")
    ('h', 'days')
    """
    return "h" if clock == "hours" else "days"


def pieces_text(count: int, noun: str = "piece") -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> pieces_text(1), pieces_text(2, "order")
    ('1 piece', '2 orders')
    """
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def brief(value: float, digits: int = 3) -> str:
    """Return a number with about so many digits that matter.

    Examples
    --------
    >>> brief(1234.5), brief(0.8712), brief(42.0)
    ('1,230', '0.871', '42')
    """
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):,.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if places > 0 else text


def range_text(low: float | None, high: float | None) -> str:
    """Return an interval with two digits that matter: its ends are no surer than that.

    Examples
    --------
    >>> range_text(0.842, 2.6), range_text(0.0, None)
    ('0.84 to 2.6', '0 up')
    """
    if low is None:
        return "unknown"
    return f"{brief(low, 2)} up" if high is None else f"{brief(low, 2)} to {brief(high, 2)}"
