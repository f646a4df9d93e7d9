"""The plan as JSON for other programs; the keys are fixed: some may be added, none renamed."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from stockopt import __version__
from stockopt.ageing.ageing import PartAgeing
from stockopt.errors import Note
from stockopt.plan import BoatLine, CarryLine, OrderCharge, OrderLine
from stockopt.report.part_lives import part_names, pieces_watched
from stockopt.report.run import Checked, PartLives, Run

#: Digits of money after the point, so that sums still agree to a millionth.
MONEY_DIGITS = 6
#: Digits that matter of everything else that is not a count.
DIGITS = 9

Keys = dict[str, Any]


def plan_keys(run: Run) -> Keys:
    """Return the whole plan as keys and plain values."""
    plan = run.plan
    return {
        "stockopt": __version__,
        "fleet": plan.fleet,
        "planned_on": plan.planned_on.isoformat(),
        "currency": plan.currency,
        "status": plan.status,
        "bound": money(plan.bound),
        "gap": number(plan.gap),
        "cost": {
            "spend_now": money(plan.cost.spend_now),
            "expected_later": money(plan.cost.expected_later),
            "total": money(plan.cost.total),
        },
        "boats": [_boat(line) for line in plan.boats],
        "carry": [_carry(line) for line in plan.carry],
        "orders": [_order(line) for line in plan.orders],
        "stores": [],
        "lives": _lives(run),
        "notes": note_keys(plan.notes),
        "charges": [_charge(charge) for charge in plan.charges],
        "seconds": number(plan.seconds),
    }


def lives_keys(studied: PartLives) -> Keys:
    """Return how long parts last as keys and plain values."""
    return {
        **_head(studied),
        "lives": _lives(studied),
        "notes": note_keys(studied.notes),
    }


def no_plan_keys(checked: Checked, clashes: Sequence[str]) -> Keys:
    """Return the answer that no plan keeps the limits, and which limits clash."""
    return {
        **_head(checked),
        "status": "no plan",
        "clashes": list(clashes),
        "notes": note_keys(checked.notes),
    }


def write_json(keys: Keys, path: Path) -> None:
    """Write keys and plain values as JSON; NaN or infinity would be a bug and is refused."""
    text = json.dumps(keys, indent=1, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


def money(value: float | None) -> float | None:
    """Return money rounded to a millionth; None where it is not known or not finite.

    Examples
    --------
    >>> money(1.23456789), money(float("inf"))
    (1.234568, None)
    """
    if value is None or not math.isfinite(value):
        return None
    return round(float(value), MONEY_DIGITS) + 0.0


def number(value: float | None) -> float | None:
    """Return a number rounded to nine digits that matter; None where it is not finite.

    Examples
    --------
    >>> number(1234.567890123), number(float("nan")), number(None)
    (1234.56789, None, None)
    """
    if value is None or not math.isfinite(value):
        return None
    return float(f"{float(value):.{DIGITS}g}") + 0.0


def note_keys(notes: Sequence[Note]) -> list[Keys]:
    """Return each note as keys and plain values."""
    return [
        {"table": note.table, "row": note.row, "column": note.column, "text": note.text}
        for note in notes
    ]


def _head(run: PartLives | Checked) -> Keys:
    settings = run.fleet.settings
    return {
        "stockopt": __version__,
        "fleet": run.fleet.name,
        "planned_on": settings.planned_on.isoformat(),
        "currency": settings.currency,
    }


def _day(value: date) -> str:
    return value.isoformat()


def _boat(line: BoatLine) -> Keys:
    return {
        "boat": line.boat,
        "kg": number(line.kg),
        "kg_limit": number(line.kg_limit),
        "litres": number(line.litres),
        "spend_now": money(line.spend_now),
        "readiness": number(line.readiness),
        "expected_shortages": number(line.expected_shortages),
        "litres_limit": number(line.litres_limit),
        "budget": money(line.budget),
        "departs_on": _day(line.departs_on),
    }


def _carry(line: CarryLine) -> Keys:
    return {
        "boat": line.boat,
        "part": line.part,
        "name": line.name,
        "on_hand": int(line.on_hand),
        "carry": int(line.carry),
        "replace_now": int(line.replace_now),
        "restock": bool(line.restock),
        "buy": int(line.buy),
        "moved": int(line.moved),
        "expected_need": number(line.expected_need),
        "shortage_chance": number(line.shortage_chance),
        "expected_shortages": number(line.expected_shortages),
        "expected_cost": money(line.expected_cost),
        "carry_at_least": int(line.floor),
        "kg": number(line.kg),
        "litres": number(line.litres),
    }


def _order(line: OrderLine) -> Keys:
    return {
        "source": line.source,
        "place": line.place,
        "part": line.part,
        "packs": int(line.packs),
        "pieces": int(line.pieces),
        "price": money(line.price),
        "landed": money(line.landed),
        "order_by": _day(line.order_by),
        "arrives_by": _day(line.arrives_by),
        "name": line.name,
        "kind": line.kind,
    }


def _charge(charge: OrderCharge) -> Keys:
    return {
        "source": charge.source,
        "place": charge.place,
        "freight": money(charge.freight),
        "handling": money(charge.handling),
    }


def _lives(run: Run | PartLives) -> list[Keys]:
    names, watched = part_names(run), pieces_watched(run)
    return [
        _life(part, names.get(part.part, ""), watched.get(part.part, 0))
        for part in run.ageing.parts.values()
    ]


def _life(part: PartAgeing, name: str, watched: int) -> Keys:
    return {
        "part": part.part,
        "clock": part.clock,
        "failures": int(part.failures),
        "exposure": number(part.exposure),
        "rate_per_1000": number(part.rate_per_1000),
        "rate_low": number(part.rate_low),
        "rate_high": number(part.rate_high),
        "shape": number(part.shape),
        "shape_low": number(part.shape_low),
        "shape_high": number(part.shape_high),
        "scale": number(part.scale),
        "mean_life": number(part.mean_life),
        "mean_life_low": number(part.mean_life_low),
        "mean_life_high": number(part.mean_life_high),
        "prior_only": bool(part.prior_only),
        "name": name,
        "pieces_watched": watched,
        "ml_shape": number(part.ml_shape),
        "ml_scale": number(part.ml_scale),
        "prior": part.prior,
    }
