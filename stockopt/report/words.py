"""Numbers in words: the few phrases that every form of the report shares."""

from __future__ import annotations

import math
from datetime import date

from pandas.api.typing import NaTType

from stockopt.ageing.ageing import Ageing, PartAgeing
from stockopt.plan import Plan
from stockopt.sourcing import USUAL_PRICE

#: A gap below this is the solver's own rounding.
NO_GAP = 5e-7
#: A test whose chance is below this is told to the mechanic; by chance alone, one part in 100.
SIGNIFICANT = 0.01
#: How the words of a prior begin that was borrowed from a family.
BORROWED = "no failures yet: borrowed"


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


def what_if_mark(plan: Plan) -> str:
    """Return what stands before every title of a plan that supposes something."""
    return "WHAT IF: " if plan.what_if.list_options() else ""


def what_if_lines(plan: Plan) -> tuple[str, ...]:
    """Say what a plan supposes, so that nobody takes it for the plain one; nothing for that."""
    options = plan.what_if.list_options()
    if not options:
        return ()
    supposed = "; ".join(text for _, _, text in options)
    return (f"Not the plain plan. It supposes: {supposed}.",)


def sureness(plan: Plan) -> str:
    """Say how sure it is that no better plan exists, in money and as a share of the total."""
    held = plan.rounds.held
    given = (
        f", {pieces_text(held, 'line')} of {len(plan.carry):,} as settled in turn" if held else ""
    )
    if plan.gap <= NO_GAP:
        return f"proven: no plan costs less{given}"
    if not math.isfinite(plan.gap):
        return "the time was up: how near the best is not known"
    above = money_text(plan.cost.total - plan.bound, plan.currency)
    within = f"within {above} ({gap_text(plan.gap)}) of the best"
    if plan.status == "stopped":
        return f"the time was up: {within}{given}"
    return f"proven {within}{given}"


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


def best_age_text(part: PartAgeing, *, fitted: bool) -> str:
    """Return the age at which a piece is best changed before it fails.

    A dash where that is not known, or where none is fitted: what is only used up with another
    part has no age of its own.
    """
    if part.best_age is None or not fitted:
        return "-"
    if part.best_age.age is None:
        return "run to failure"
    return f"{brief(part.best_age.age)} {unit_text(part.clock)}"


def standing_out(part: PartAgeing) -> list[str]:
    """Return what a person should know before trusting a part's life, the gravest first."""
    words = []
    tests = part.tests
    if tests is not None:
        if _significant(tests.newest_p):
            words.append(tests.newest)
        if _significant(tests.trend_p):
            words.append(tests.trend)
        if _significant(tests.boats_p):
            words.append(tests.boats)
    if part.prior.startswith(BORROWED):
        words.append(part.prior.split(";")[0])
    elif part.prior_only:
        words.append("no records: rests on expectation alone")
    elif part.failures == 0:
        words.append("no failures yet")
    return words


def _significant(p_value: float | None) -> bool:
    return p_value is not None and p_value < SIGNIFICANT


def hard_on_parts(ageing: Ageing) -> list[str]:
    """Return the boats by how many times as often their pieces fail, the hardest first.

    None where boats do not differ.
    """
    if ageing.boat_spread is None or not ageing.boat_spread.used:
        return []
    factors = sorted(ageing.boat_factors.items(), key=lambda item: (-item[1], item[0]))
    return [f"{boat} {factor:.2f}" for boat, factor in factors]


def unit_text(clock: str) -> str:
    """Return the short unit of a clock.

    Examples
    --------
    >>> unit_text("hours"), unit_text("days")
    ('h', 'days')
    """
    return "h" if clock == "hours" else "days"


def day_text(day: date | NaTType) -> str:
    """Return a day of a table as text; nothing where it is not known.

    Examples
    --------
    >>> day_text(date(2031, 4, 1))
    '2031-04-01'
    """
    return "" if isinstance(day, NaTType) else f"{day:%Y-%m-%d}"


def pieces_text(count: int, noun: str = "piece") -> str:
    """Return a count with its noun.

    Examples
    --------
    >>> pieces_text(1), pieces_text(2, "order")
    ('1 piece', '2 orders')
    """
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def doubtful_text(count: int) -> str:
    """Return how many things in the tables are doubtful.

    Examples
    --------
    >>> doubtful_text(0), doubtful_text(2)
    ('Nothing doubtful', '2 doubtful things in the tables')
    """
    return f"{pieces_text(count, 'doubtful thing')} in the tables" if count else "Nothing doubtful"


def source_text(source: str) -> str:
    """Return a source as one buys there: a part that nobody quotes has no shop of its own.

    Examples
    --------
    >>> source_text("Far Parts"), source_text("usual price")
    ('Far Parts', 'any shop at the usual price')
    """
    return "any shop at the usual price" if source == USUAL_PRICE else source


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
