"""A rehearsal as JSON; the keys are fixed: some may be added, none renamed."""

from __future__ import annotations

from stockopt import __version__
from stockopt.rehearsal.rehearsal import (
    BoatRehearsed,
    Compared,
    LineChanged,
    PartRehearsed,
    Rehearsal,
    RuleRehearsed,
    Seen,
    Side,
    StressRehearsed,
)
from stockopt.report.plain_numbers import Keys, money, number


def rehearsal_keys(rehearsal: Rehearsal) -> Keys:
    """Return the whole rehearsal as keys and plain values. Intervals are 95 %."""
    return {
        "stockopt": __version__,
        "fleet": rehearsal.fleet,
        "planned_on": rehearsal.planned_on.isoformat(),
        "currency": rehearsal.currency,
        "seasons": rehearsal.seasons,
        "seed": rehearsal.seed,
        "totals": [_compared(one) for one in rehearsal.totals],
        "boats": [_boat(boat) for boat in rehearsal.boats],
        "parts": [_part(part) for part in rehearsal.parts],
        "compared": rehearsal.compared,
        "differing": [
            {"boat": line.boat, "part": line.part, "why": line.why, **_compared(line.compared)}
            for line in rehearsal.differing
        ],
        "money_out": {
            "quantiles": [
                {"share": number(share), "money": money(value)}
                for share, value in rehearsal.spread.quantiles
            ],
            "edges": [money(edge) for edge in rehearsal.spread.edges],
            "seasons": list(rehearsal.spread.seasons),
            "bad_from": money(rehearsal.bad_from),
        },
        "plan": _side(rehearsal.plan),
        "rules": [_rule(one) for one in rehearsal.rules],
        "stresses": [_stress(one) for one in rehearsal.stresses],
    }


def _seen(seen: Seen) -> Keys:
    return {"mean": number(seen.mean), "low": number(seen.low), "high": number(seen.high)}


def _compared(one: Compared) -> Keys:
    return {
        "what": one.what,
        "told": number(one.told),
        "seen": _seen(one.seen),
        "agrees": bool(one.agrees),
    }


def _boat(boat: BoatRehearsed) -> Keys:
    return {
        "boat": boat.boat,
        "readiness": _compared(boat.readiness),
        "shortages": _compared(boat.shortages),
        "money": money(boat.money),
        "bad_money": money(boat.bad_money),
    }


def _part(part: PartRehearsed) -> Keys:
    return {
        "part": part.part,
        "name": part.name,
        "need": _compared(part.need),
        "fill_rate": None if part.fill_rate is None else _compared(part.fill_rate),
        "money": money(part.money),
        "bad_money": money(part.bad_money),
    }


def _side(side: Side) -> Keys:
    return {
        "name": side.name,
        "spend_now": money(side.spend_now),
        "total": _seen(side.total),
        "bad_out": money(side.bad_out),
        "readiness": _seen(side.readiness),
        "least_ready": number(side.least_ready),
        "shortages": _seen(side.shortages),
        "broken": list(side.broken),
    }


def _rule(one: RuleRehearsed) -> Keys:
    return {
        "rule": _side(one.rule),
        "same_money": None if one.same_money is None else _side(one.same_money),
        "saves": None if one.saves is None else _seen(one.saves),
        "plan_saves": _seen(one.plan_saves),
    }


def _stress(stress: StressRehearsed) -> Keys:
    return {
        "what": stress.what,
        "plan": _side(stress.plan),
        "replanned": None if stress.replanned is None else _side(stress.replanned),
        "why_none": list(stress.why_none),
        "changes": [_change(change) for change in stress.changes],
    }


def _change(change: LineChanged) -> Keys:
    names = ("carry", "replace_now", "restock", "from")
    return {
        "boat": change.boat,
        "part": change.part,
        "name": change.name,
        "before": dict(zip(names, change.before, strict=True)),
        "after": dict(zip(names, change.after, strict=True)),
    }
