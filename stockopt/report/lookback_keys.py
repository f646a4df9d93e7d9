"""A look back as JSON; the keys are fixed: some may be added, none renamed."""

from __future__ import annotations

from stockopt import __version__
from stockopt.lookback.lookback import BoatLooked, Lookback
from stockopt.lookback.replay import Replayed
from stockopt.lookback.score import PartScore, Scored, Scores
from stockopt.report.plain_numbers import Keys, money, number


def lookback_keys(look: Lookback) -> Keys:
    """Return the whole look back as keys and plain values. Intervals are 90 %."""
    return {
        "stockopt": __version__,
        "fleet": look.fleet,
        "currency": look.currency,
        "from": look.since.isoformat(),
        "until": look.until.isoformat(),
        "ordered_on": look.ordered_on.isoformat(),
        "records": look.records,
        "failures_known": look.failures_known,
        "boats": [_boat(boat) for boat in look.boats],
        "plan": _replayed(look.plan),
        "rules": [_replayed(rule) for rule in look.rules],
        "not_counted": {
            "planned": look.planned,
            "proved": look.proved,
            "not_fitted": look.not_fitted,
        },
        "scores": _scores(look.scores),
        "parts": [_part(part) for part in look.scores.parts],
        "notes": [
            {"table": note.table, "row": note.row, "column": note.column, "text": note.text}
            for note in look.notes
        ],
    }


def _boat(boat: BoatLooked) -> Keys:
    return {
        "boat": boat.boat,
        "ends_on": boat.ends_on.isoformat(),
        "told_need": number(boat.told_need),
        "needed": boat.needed,
        "told_short": number(boat.told_short),
        "short": boat.short,
        "readiness": number(boat.readiness),
        "stopped": boat.stopped,
        "money": money(boat.money),
    }


def _replayed(one: Replayed) -> Keys:
    return {
        "name": one.name,
        "spend_now": money(one.spend_now),
        "fitting": money(one.fitting),
        "failing": money(one.failing),
        "shortages": money(one.shortages),
        "restocking": money(one.restocking),
        "stores": money(one.stores),
        "worth_left": money(one.worth_left),
        "total": money(one.total),
        "needed": one.needed,
        "covered": one.covered,
        "short": one.short,
        "unused": one.left,
        "avoided": one.avoided,
        "stopped": list(one.stopped),
        "lines": [
            {
                "boat": line.boat,
                "part": line.part,
                "needed": line.needed,
                "short": line.short,
                "unused": line.left,
                "avoided": line.avoided,
            }
            for line in one.lines
        ],
        "missed": [
            {
                "on": piece.on.isoformat(),
                "boat": piece.boat,
                "machine": piece.machine,
                "part": piece.part,
                "failed": piece.failed,
            }
            for piece in one.missed
        ],
    }


def _scores(scores: Scores) -> Keys:
    return {
        "failures": scores.failures,
        "difference": number(scores.difference),
        "error": number(scores.error),
        "failed_before": scores.failed_before,
        "difference_failed_before": number(scores.of_those),
        "share_better": number(scores.share_better),
        "covered": number(scores.covered),
        "told": number(scores.told),
        "covered_last_year": number(scores.covered_last_year),
        "told_last_year": number(scores.told_last_year),
        "places": [number(share) for share in scores.places],
        "verdict": scores.verdict,
    }


def _scored(scored: Scored) -> Keys:
    return {
        "mean": number(scored.mean),
        "low": scored.low,
        "high": scored.high,
        "share": number(scored.share),
        "inside": scored.inside,
        "log_score": number(scored.log_score),
    }


def _part(part: PartScore) -> Keys:
    return {
        "part": part.part,
        "name": part.name,
        "failed": part.actual,
        "failed_last_year": part.failed_last_year,
        "forecast": _scored(part.forecast),
        "last_year": _scored(part.last_year),
        "below": number(part.below),
        "upto": number(part.upto),
    }
