"""Reasons as keys and plain values, for the JSON."""

from __future__ import annotations

from stockopt.report.plain_numbers import Keys, money, number
from stockopt.why.why import Curve, LimitWhy, LineWhy


def line_keys(why: LineWhy | None) -> Keys:
    """Return the keys that a carry line gains; all null where nothing was explained."""
    if why is None:
        return dict.fromkeys(_LINE_KEYS)
    return dict(
        zip(
            _LINE_KEYS,
            (
                money(why.last_saves),
                int(why.last_pieces),
                bool(why.at_floor),
                money(why.more_saves),
                int(why.more_pieces),
                money(why.more_cost),
                money(why.more_spend),
                number(why.more_kg),
                why.more_from,
                list(why.stopped_by),
            ),
            strict=True,
        )
    )


_LINE_KEYS = (
    "last_saves",
    "last_pieces",
    "at_floor",
    "one_more_saves",
    "one_more_pieces",
    "one_more_cost",
    "one_more_spend",
    "one_more_kg",
    "one_more_from",
    "stopped_by",
)


def limit_keys(why: LimitWhy) -> Keys:
    """Return what a little more of one limit is worth."""
    return {
        "limit": why.kind,
        "boat": why.boat,
        "value": number(why.limit),
        "used": number(why.used),
        "step": number(why.step),
        "state": why.state,
        "saves": money(why.saves),
        "saves_at_least": money(why.saves_low),
        "saves_at_most": money(why.saves_high),
        "changes": list(why.changes),
    }


def curve_keys(curve: Curve) -> Keys:
    """Return one curve with its points."""
    return {
        "against": curve.against,
        "now": number(curve.now),
        "points": [
            {
                "limit": number(point.limit),
                "total": money(point.total),
                "spend_now": money(point.spend_now),
                "expected_later": money(point.expected_later),
                "bound": money(point.bound),
                "gap": number(point.gap),
                "kg": number(point.kg),
                "readiness": number(point.readiness),
            }
            for point in curve.points
        ],
    }
