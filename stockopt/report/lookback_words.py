"""What a look back says, in the phrases that its table, sheets and files share."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stockopt.lookback.lookback import Lookback
from stockopt.lookback.replay import Missed, Replayed
from stockopt.lookback.score import FEWEST, PartScore, Scores
from stockopt.report.words import brief, pieces_text, share_text

#: What is taken to have been, where the tables do not tell.
TAKEN = (
    "Learnt from the records up to the first day only. Prices, fitted parts, limits and settings "
    "are today's, and orders are taken to have been placed in time.",
    "Legs sailed are in no table: each boat is taken to have sailed without a break, in legs as "
    "long as hers to come; the hours that her meters showed are spread evenly over them.",
    "What was in stock on that day is in no table either: nothing is taken to have been there.",
    "Needed are pieces that failed, were worn, or changed for an unknown reason, and changes on "
    "schedule of parts with replace_every; a part used up with another, at each change of that.",
    "A change on schedule that finds no piece costs what the plan counts for it, but stops nobody.",
    "What happened to a piece that the plan replaces before departure counts all the same where it "
    "came later than the mean life of a new piece; sooner, it counts as avoided.",
)
SCORING = (
    "Failures of each part over the fleet are scored, given the hours run and the changes planned "
    "as they came. Last year's rate is last year's failures for what the pieces ran then, "
    "carried forward as a Poisson count; of a part that did not fail, half a failure.",
    "Log score: logarithm of the chance that was given to what came; the higher the better.",
)


def title_words(look: Lookback) -> str:
    """Return what is looked back on."""
    return f"{look.fleet}: looked back on {look.since.isoformat()} to {look.until.isoformat()}"


def known_words(look: Lookback) -> str:
    """Say what was known on the day."""
    failed = look.failures_known
    words = f"Known on {look.since.isoformat()}: {pieces_text(look.records)} changed"
    if not failed:
        return f"{words}, no failure: the forecast is what parts are expected to last, and no more."
    return f"{words}, {failed} {'life' if failed == 1 else 'lives'} that ended in failure."


def told_rows(look: Lookback) -> tuple[tuple[str, str, str], ...]:
    """Return what was told beside what came: what, told, came."""
    boats = look.boats
    return (
        (
            "pieces needed",
            brief(sum(boat.told_need for boat in boats)),
            str(look.plan.needed),
        ),
        (
            "pieces short",
            brief(sum(boat.told_short for boat in boats)),
            str(look.plan.short),
        ),
        (
            f"boats not stopped, of {len(boats)}",
            brief(sum(boat.readiness for boat in boats)),
            str(len(boats) - len(look.plan.stopped)),
        ),
    )


def met_words(one: Replayed) -> str:
    """Say how a plan met what came."""
    words = (
        f"Of {pieces_text(one.needed)} needed {one.covered} {_were(one.covered)} aboard and "
        f"{one.short} short; {one.left} {_were(one.left)} left unused at the end."
    )
    if one.avoided:
        words += f" {pieces_text(one.avoided)} more had been replaced before departure."
    return words


def _were(count: int) -> str:
    return "was" if count == 1 else "were"


def cheapest_words(look: Lookback) -> str:
    """Say how the plan's money compares with that of the rules of thumb."""
    if not look.rules:
        return ""
    best = min(look.rules, key=lambda one: one.total)
    gain = best.total - look.plan.total
    side = "less" if gain >= 0.0 else "more"
    return (
        f"Together the plan took {abs(gain):,.0f} {look.currency} {side} than the cheapest rule of "
        f"thumb, {best.name}. It is one season: luck decides much of it."
    )


def verdict_words(scores: Scores) -> str:
    """Say whether the forecast was better than last year's rate, and how sure that is."""
    if not scores.parts:
        return "No part was watched in the season: there is nothing to score."
    sides = "likelier" if scores.difference >= 0.0 else "less likely"
    factor = math.exp(abs(scores.difference) / len(scores.parts))
    words = (
        f"Over {pieces_text(len(scores.parts), 'part')} and {pieces_text(scores.failures)} that "
        f"failed, the forecast called what came {brief(factor)} times {sides} per part than last "
        f"year's rate did (log scores differ by {scores.difference:+.1f}, standard error "
        f"{scores.error:.1f})."
    )
    return f"{words} {_VERDICTS[scores.verdict]}"


_VERDICTS = {
    "too few": f"With fewer than {FEWEST} failures nothing can be told from that.",
    "no difference": "That is within chance, or the parts that failed last year say the opposite: "
    "neither is shown to be better.",
    "better": "That is more than chance explains: the forecast was better.",
    "worse": "That is more than chance explains: last year's rate was better. Do not trust the "
    "forecast before it is known why.",
}


def split_words(scores: Scores) -> str:
    """Say how the forecast did on the parts that failed last year, and how often it was better."""
    return (
        f"It scored higher on {share_text(scores.share_better)} of the parts. On the "
        f"{scores.failed_before} that failed last year the log scores differ by "
        f"{round(scores.of_those, 1) + 0.0:+.1f}; on the others last year's rate is no more "
        "than the half failure that it is given."
    )


def covered_words(scores: Scores) -> str:
    """Say how many counts fell into the intervals told."""
    return (
        f"{share_text(scores.covered)} of the counts fell into the forecast's 90 % intervals "
        f"({share_text(scores.told)} told: whole numbers make them wider), "
        f"{share_text(scores.covered_last_year)} into those of last year's rate "
        f"({share_text(scores.told_last_year)} told)."
    )


def aside_words(look: Lookback) -> Iterator[str]:
    """Yield what was changed and not counted."""
    if look.planned:
        yield f"On schedule, bought for it and no spare: {pieces_text(look.planned)}."
    if look.proved:
        yield f"Swapped to prove a spare, or borrowed, not counted: {pieces_text(look.proved)}."
    if look.not_fitted:
        yield f"Not fitted to a machine that was there then: {pieces_text(look.not_fitted)}."


def missed_text(piece: Missed) -> str:
    """Say why a piece was needed."""
    return "failed" if piece.failed else "scheduled"


def part_text(part: PartScore) -> str:
    """Return a part as the tables name it."""
    return f"{part.name} ({part.part})"


def interval_text(low: int, high: int) -> str:
    """Return an interval of counts.

    Examples
    --------
    >>> interval_text(0, 3), interval_text(2, 2)
    ('0 to 3', '2')
    """
    return str(low) if low == high else f"{low} to {high}"
