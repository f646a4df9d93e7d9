"""What a rehearsal says, in the phrases that its table, sheet and files share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stockopt.rehearsal.rehearsal import (
    Compared,
    LineChanged,
    Rehearsal,
    RuleRehearsed,
    Seen,
    Side,
    StressRehearsed,
)
from stockopt.report.words import brief, pieces_text, share_text

#: Kinds of money as a person reads them.
MONEY = "money"
SHARE = "share"

MEANING = (
    "Told is what the plan says, seen the average over the seasons, with the interval that holds "
    "the true average 95 times in 100. What boats draw from a store is compared in all only.",
    "Money out is spent now and later: failures, shortages, restocking, changes. 'Together' takes "
    "off what spares and fitted pieces stay worth.",
)
RULES_MEANING = (
    "All are played on the same seasons. Spares are made up at every chance on the way, floors are "
    "kept, and pieces are bought as cheaply as they can be. 'With its money' is the plan that "
    "costs least with no more spent now than the rule spends.",
    "Changes by schedule that fall due under way need a piece like failures do.",
)
STRESS_MEANING = (
    "As it stands: the plan as it is, met by worse circumstances. Made for it: the plan made "
    "knowing them.",
)


def figure_text(value: float, kind: str) -> str:
    """Return one number as its kind is written.

    Examples
    --------
    >>> figure_text(12345.6, "money"), figure_text(0.9312, "share"), figure_text(9.3281, "number")
    ('12,346', '93.1 %', '9.328')
    """
    if kind == MONEY:
        return f"{value:,.0f}"
    return share_text(min(max(value, 0.0), 1.0)) if kind == SHARE else brief(value, 4)


def interval_text(seen: Seen, kind: str) -> str:
    """Return a 95 % interval.

    Examples
    --------
    >>> interval_text(Seen(mean=0.93, low=0.92, high=0.94), "share")
    '92.0 % to 94.0 %'
    """
    if seen.low == seen.high:
        return "certain"
    return f"{figure_text(seen.low, kind)} to {figure_text(seen.high, kind)}"


def told_seen_texts(one: Compared) -> tuple[str, str, str]:
    """Return what was told, what was seen and its interval."""
    return (
        figure_text(one.told, one.kind),
        figure_text(one.seen.mean, one.kind),
        interval_text(one.seen, one.kind),
    )


def total_texts(rehearsal: Rehearsal) -> Iterator[tuple[str, str, str, str, bool]]:
    """Yield of each total what it is, told, seen, its interval, and whether that is in chance."""
    for one in rehearsal.totals:
        unit = f", {rehearsal.currency}" if one.kind == MONEY else ""
        yield (one.what + unit, *told_seen_texts(one), one.agrees)


def totals_words(rehearsal: Rehearsal) -> tuple[str, ...]:
    """Return what stands with the totals."""
    return (differing_words(rehearsal), *MEANING)


def seasons_words(rehearsal: Rehearsal) -> str:
    """Say what typical and bad seasons take."""
    at = dict(rehearsal.spread.quantiles)
    currency = rehearsal.currency
    return (
        f"In a typical season {at[0.5]:,.0f} {currency} goes out, now and later; 1 in 10 takes "
        f"more than {rehearsal.bad_from:,.0f}, 1 in 100 more than {at[0.99]:,.0f}, and 1 in 10 "
        f"less than {at[0.1]:,.0f}."
    )


def differing_words(rehearsal: Rehearsal) -> str:
    """Say how many numbers of single lines differ, and which."""
    lines = rehearsal.differing
    told = f"Of {rehearsal.compared:,} numbers told of single parts and boats, "
    if not lines:
        return told + "none differs from the seasons by more than chance explains."
    count = f"{len(lines)} {'differs' if len(lines) == 1 else 'differ'}"
    found = told + f"{count} from the seasons by more than chance explains"
    parts = ", ".join(sorted({line.part for line in lines}))
    reasons = {line.why for line in lines}
    if reasons == {""}:
        return f"{found}: {parts}."
    explained = "; ".join(sorted(reasons - {""}))
    return f"{found}: {parts} ({explained})."


def readiness_words(side: Side) -> str:
    """Return the readiness of the whole fleet, and of the boat that has least."""
    return f"{share_text(side.readiness.mean)}; least {share_text(side.least_ready)}"


def duel_words(one: RuleRehearsed, currency: str) -> str:
    """Say by how much the plan with the rule's money beats the rule, or does not."""
    if one.same_money is None or one.saves is None:
        return f"{one.rule.name}: no plan can be made with its money."
    saves = one.saves
    dearer = saves.mean < 0.0
    more = (
        f"{'dearer' if dearer else 'cheaper'} by {abs(saves.mean):,.0f} {currency} "
        f"({saves.low:,.0f} to {saves.high:,.0f})"
    )
    gain = 100.0 * (one.same_money.readiness.mean - one.rule.readiness.mean)
    ready = f"{'more' if gain >= 0.0 else 'less'} ready by {abs(gain):.1f} points"
    return f"{one.rule.name}: with its money the plan is {more} in all, and {ready}."


def rules_words(rehearsal: Rehearsal) -> tuple[str, ...]:
    """Return what stands with the rules of thumb: how the plan does against each."""
    duels = (duel_words(one, rehearsal.currency) for one in rehearsal.rules)
    return (*duels, *RULES_MEANING)


def fate_words(stress: StressRehearsed) -> str:
    """Say how many lines would change in worse circumstances; "" where none was planned for."""
    if stress.replanned is not None:
        return f"{stress.what}: {changes_words(stress.changes)}"
    why = "; ".join(stress.why_none)
    return f"{stress.what}: no plan keeps the limits: {why}" if why else ""


def changes_words(changes: Sequence[LineChanged]) -> str:
    """Say how many lines would change."""
    if not changes:
        return "no line of the plan would change."
    elsewhere = sum(change.only_source for change in changes)
    pieces = len(changes) - elsewhere
    words = []
    if pieces:
        words.append(f"{pieces_text(pieces, 'line')} of the plan would change")
    if elsewhere:
        words.append(f"{pieces_text(elsewhere, 'line')} only be bought elsewhere")
    return ", ".join(words) + "."


def line_text(line: tuple[int, int, bool, str]) -> str:
    """Return what one line does.

    Examples
    --------
    >>> line_text((2, 1, True, "Far Parts")), line_text((0, 0, False, ""))
    ('carry 2, replace 1, restock; from Far Parts', 'carry 0')
    """
    carry, replace_now, restock, source = line
    words = [f"carry {carry}"]
    if replace_now:
        words.append(f"replace {replace_now}")
    if restock:
        words.append("restock")
    return ", ".join(words) + (f"; from {source}" if source else "")
