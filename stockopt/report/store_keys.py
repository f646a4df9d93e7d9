"""Stores as keys and plain values."""

from __future__ import annotations

from stockopt.choices.dead_line import DeadStock
from stockopt.plan import Plan
from stockopt.program.store_lines import StoreLine
from stockopt.report.plain_numbers import Keys, money, number


def store_keys(line: StoreLine) -> Keys:
    """Return one store line."""
    return {
        "store": line.store,
        "part": line.part,
        "name": line.name,
        "on_hand": line.on_hand,
        "moved_out": line.moved_out,
        "moved_in": line.moved_in,
        "moved_from": [
            {"place": place, "pieces": int(pieces)} for place, pieces in line.moved_from
        ],
        "buy": line.buy,
        "level": line.level,
        "source": line.source,
        "reorder_point": line.reorder_point,
        "order_quantity": line.order_quantity,
        "last_order_on": line.last_order_on.isoformat() if line.last_order_on else None,
        "expected_asked": number(line.expected_asked),
        "fill_rate": number(line.fill_rate),
        "expected_orders": number(line.expected_orders),
        "expected_reordered": number(line.expected_reordered),
        "expected_short": number(line.expected_short),
        "expected_left": number(line.expected_left),
        "expected_cost": money(line.expected_cost),
        "paid_by_boats": money(line.paid_by_boats),
        "later_cost": money(line.later_cost),
        "capital": money(line.capital),
    }


def round_keys(plan: Plan) -> Keys:
    """Return how boats and stores came to agree."""
    return {
        "number": plan.rounds.number,
        "agreed": plan.rounds.agreed,
        "fill_rate": number(plan.rounds.fill_rate),
        "days": number(plan.rounds.days),
        "held": plan.rounds.held,
    }


def dead_keys(line: DeadStock) -> Keys:
    """Return one line of dead stock."""
    return {
        "place": line.place,
        "part": line.part,
        "name": line.name,
        "pieces": line.pieces,
        "money": money(line.money),
        "why": line.why,
    }
