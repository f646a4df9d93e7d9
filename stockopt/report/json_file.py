"""The plan as JSON for other programs; the keys are fixed: some may be added, none renamed."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from stockopt import __version__
from stockopt.errors import Change, Clash, Note
from stockopt.plan import BoatLine, CarryLine, OrderCharge, OrderLine
from stockopt.report.bare import find_bare_readiness
from stockopt.report.landed_keys import port_keys
from stockopt.report.life_keys import fleet_keys, list_lives, part_keys
from stockopt.report.moves import move_keys
from stockopt.report.one_part import OnePart
from stockopt.report.order_keys import cents_of, purchase_keys, reorder_keys
from stockopt.report.plain_numbers import Keys, money, number
from stockopt.report.run import Checked, PartLives, Run
from stockopt.report.store_keys import dead_keys, round_keys, store_keys
from stockopt.report.why_keys import curve_keys, limit_keys, line_keys


def plan_keys(run: Run) -> Keys:
    """Return the whole plan as keys and plain values."""
    plan = run.plan
    bare = find_bare_readiness(run.demand)
    why = {(line.boat, line.part): line for line in run.why.lines}
    shelves = {(line.boat, line.part): line for line in run.why.shelves}
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
        "boats": [_boat(line, bare) for line in plan.boats],
        "carry": [
            {**_carry(line), **line_keys(why.get((line.boat, line.part)))} for line in plan.carry
        ],
        "orders": [{**_order(line), **cents_of(line, run.orders)} for line in plan.orders],
        "stores": [
            {**store_keys(line), **line_keys(shelves.get((line.store, line.part)))}
            for line in plan.stores
        ],
        "lives": list_lives(run),
        "notes": note_keys(plan.notes),
        "charges": [_charge(charge) for charge in plan.charges],
        "seconds": number(plan.seconds),
        "what_if": [
            {"option": option, "value": value, "text": text}
            for option, value, text in plan.what_if.list_options()
        ],
        **fleet_keys(run.ageing),
        "limits": [limit_keys(limit) for limit in run.why.limits],
        "curves": [curve_keys(curve) for curve in run.why.curves],
        "purchase_orders": [purchase_keys(order) for order in run.orders.orders],
        "calendar": [reorder_keys(one) for one in run.orders.reorders],
        "rounds": round_keys(plan),
        "dead_stock": [dead_keys(line) for line in plan.dead_stock],
        "landed": {"basket": run.landed.basket, "ports": port_keys(run.landed)},
        **_units(run),
    }


def lives_keys(studied: PartLives) -> Keys:
    """Return how long parts last as keys and plain values."""
    return {
        **_head(studied),
        "lives": list_lives(studied),
        "notes": note_keys(studied.notes),
        **fleet_keys(studied.ageing),
    }


def one_part_keys(studied: PartLives, one: OnePart) -> Keys:
    """Return one part in full: as among all parts, then its lives and its survival."""
    keys = list_lives(studied)
    return {
        **_head(studied),
        "lives": [life for life in keys if life["part"] == one.ageing.part],
        **part_keys(one),
    }


def no_plan_keys(checked: Checked, clashes: Sequence[Clash]) -> Keys:
    """Return the answer that no plan keeps the limits, which limits clash, and what mends it."""
    return {
        **_head(checked),
        "status": "no plan",
        "clashes": [clash.text for clash in clashes],
        "notes": note_keys(checked.notes),
        "changes": [
            _change(change, clash=number, remedy=place)
            for number, clash in enumerate(clashes)
            for place, remedy in enumerate(clash.remedies)
            for change in remedy
        ],
        **_units(checked),
    }


def _change(change: Change, *, clash: int, remedy: int) -> Keys:
    """Return one change; all those of one remedy mend that clash, remedy 0 is the least."""
    return {
        "clash": clash,
        "remedy": remedy,
        "limit": change.limit,
        "boat": change.boat,
        "part": change.part,
        "source": change.source,
        "place": change.place,
        "unit": change.unit,
        "value": change.value,
        "needed": change.needed,
        "over": number(change.over),
        "text": change.text,
        "proven": change.proven,
        "checked": change.checked,
    }


def write_json(keys: Keys, path: Path) -> None:
    """Write keys and plain values as JSON; NaN or infinity would be a bug and is refused."""
    text = json.dumps(keys, indent=1, ensure_ascii=False, allow_nan=False)
    path.write_text(text + "\n", encoding="utf-8")


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


def _units(run: Run | Checked) -> Keys:
    """Return the units in which texts tell masses and room; numbers are kg and litres."""
    measures = run.fleet.settings.measures
    return {"mass_unit": measures.mass, "volume_unit": measures.volume}


def _day(value: date) -> str:
    return value.isoformat()


def _boat(line: BoatLine, bare: Mapping[str, float]) -> Keys:
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
        "readiness_without": number(bare.get(line.boat, 1.0)),
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
        **move_keys(line),
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
