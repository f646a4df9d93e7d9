"""Two plans of one fleet, line by line: what changed, what that costs, and why it pays."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from stockopt.report.plan_file import Found, PlanFile, find_measures
from stockopt.report.reasons import find_reasons, find_store_reasons, piece_cost
from stockopt.units import Measures

#: What is done about one part on one boat; another cost alone is not another plan.
DECIDED = ("carry", "replace_now", "restock", "ahead", "ahead_at", "own_left")
#: Where the same pieces come from.
FROM = ("buy", "moved")
#: Money that is the same when written down.
LEAST_MONEY = 0.005
#: A share (readiness), and a mass or room in the unit shown, that is the same when written down.
LEAST_SHARE = 5e-4
LEAST_LOAD = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that is otherwise: before and after; None where it was not there."""

    what: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChange:
    """One part on one boat that is looked after otherwise. Money in the plans' currency.

    Parameters
    ----------
    boat, part, name
        Which.
    changes
        What is done otherwise.
    now
        More spent now on pieces bought for her, their own landed cost without order charges.
    later
        More expected later.
    reasons
        Why, the nearest first.
    """

    boat: str
    part: str
    name: str
    changes: tuple[Change, ...]
    now: float
    later: float
    reasons: tuple[str, ...]

    @property
    def together(self) -> float:
        """More in all."""
        return self.now + self.later


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderChange:
    """One part of one order, or one level of a store, that is otherwise.

    `more` is money: of an order now, of a store expected later. `reasons` are told of stores.
    """

    where: tuple[str, ...]
    name: str
    changes: tuple[Change, ...]
    more: float
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Differences:
    """Everything in which the second plan differs from the first.

    Parameters
    ----------
    first, second
        The plans.
    supposed, no_longer
        What the second supposes and the first does not, and the other way round, in words.
    cost
        Spend now, expected later and total.
    boats
        By boat: readiness, kilos, litres, spending, departure.
    lines
        Parts looked after otherwise, the dearest difference first on each boat.
    moves
        Parts of which the same is carried and replaced, but the pieces come from elsewhere.
    orders, charges, stores
        What is otherwise.
    alike_later
        More expected later on lines of which nothing is done otherwise.
    other_later
        More expected later that no line has: surplus pieces of packs, and stores.
    measures
        The units in which words tell masses and room; all numbers here are kg and litres.
    """

    first: PlanFile
    second: PlanFile
    supposed: tuple[str, ...]
    no_longer: tuple[str, ...]
    cost: tuple[Change, ...]
    boats: Mapping[str, tuple[Change, ...]]
    lines: tuple[LineChange, ...]
    moves: tuple[LineChange, ...]
    orders: tuple[OrderChange, ...]
    charges: tuple[OrderChange, ...]
    stores: tuple[OrderChange, ...]
    alike_later: float
    other_later: float
    measures: Measures

    @property
    def is_empty(self) -> bool:
        """True where the plans do the same at the same cost, for the same boats."""
        plans = (self.supposed, self.no_longer, self.cost, self.boats, self.lines, self.moves)
        return not any(plans) and not any((self.orders, self.charges, self.stores))

    @property
    def doubt(self) -> float:
        """The most that a difference of the totals may owe to plans that are not proven best."""
        return self.first.doubt + self.second.doubt


def compare_plans(first: PlanFile, second: PlanFile) -> Differences:
    """Compare two plans of one fleet; see :class:`Differences`."""
    keys = sorted(set(first.carry) | set(second.carry), key=str)
    compared = [
        _compare_line(first.carry.get(key), second.carry.get(key), first, second) for key in keys
    ]
    lines = [line for line in compared if _is_otherwise(line)]
    alike = sum(line.later for line in compared if not _is_otherwise(line))
    later = second.cost("expected_later") - first.cost("expected_later")
    new, old = set(second.what_if), set(first.what_if)
    measures = find_measures(first, second)
    looked_at = _boat_keys(measures)
    return Differences(
        first=first,
        second=second,
        supposed=tuple(second.what_if[key] for key in sorted(new - old, key=str)),
        no_longer=tuple(first.what_if[key] for key in sorted(old - new, key=str)),
        cost=_changes(first.keys["cost"], second.keys["cost"], _COST),
        boats={
            str(boat): changes
            for boat in sorted(set(first.boats) | set(second.boats), key=str)
            if (changes := _changes(first.boats.get(boat), second.boats.get(boat), looked_at))
        },
        lines=tuple(sorted(lines, key=lambda line: (line.boat, -abs(line.together), line.part))),
        moves=tuple(line for line in compared if line.changes and not _is_otherwise(line)),
        orders=_compare_all(first.orders, second.orders, _ORDER, _line_total),
        charges=_compare_all(first.charges, second.charges, _CHARGE, _charge_total),
        stores=_compare_stores(first, second),
        alike_later=alike,
        other_later=later - alike - sum(line.later for line in lines),
        measures=measures,
    )


_COST = {"spend_now": LEAST_MONEY, "expected_later": LEAST_MONEY, "total": LEAST_MONEY}
_ORDER = {"packs": 0.0, "pieces": 0.0, "landed": LEAST_MONEY, "order_by": 0.0, "arrives_by": 0.0}
_CHARGE = {"freight": LEAST_MONEY, "handling": LEAST_MONEY}
_STORE = dict.fromkeys(
    ("level", "source", "reorder_point", "order_quantity", "buy", "moved_out", "moved_in"), 0.0
)


def _boat_keys(measures: Measures) -> dict[str, float]:
    """Return what is compared of a boat, and by how much it must differ."""
    mass, room = LEAST_LOAD * measures.kg_each, LEAST_LOAD * measures.litres_each
    return {
        "departs_on": 0.0,
        "readiness": LEAST_SHARE,
        "spend_now": LEAST_MONEY,
        "kg": mass,
        "litres": room,
        "kg_limit": mass,
        "litres_limit": room,
        "budget": LEAST_MONEY,
    }


def _changes(
    before: Found | None, after: Found | None, looked_at: Mapping[str, float]
) -> tuple[Change, ...]:
    """Return which of the keys looked at differ by more than their tolerance.

    Of what only one plan has, what is nought or blank there is left out.
    """
    only_one = before is None or after is None
    return tuple(
        Change(what=what, before=one, after=other)
        for what, least in looked_at.items()
        for one, other in [((before or {}).get(what), (after or {}).get(what))]
        if _differ(one, other, least) and (one or other or not only_one)
    )


def _differ(one: object, other: object, least: float) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) > least
    return one != other


def _compare_line(
    before: Found | None, after: Found | None, first: PlanFile, second: PlanFile
) -> LineChange:
    line = after or before or {}
    changes = _changes(before, after, dict.fromkeys((*DECIDED, *FROM), 0.0))
    later = float((after or {}).get("expected_cost") or 0.0)
    later -= float((before or {}).get("expected_cost") or 0.0)
    bought = [
        0.0 if told is None else told["buy"] * (piece_cost(plan, told) or 0.0)
        for plan, told in ((first, before), (second, after))
    ]
    return LineChange(
        boat=line["boat"],
        part=line["part"],
        name=line["name"],
        changes=changes,
        now=bought[1] - bought[0],
        later=later,
        reasons=find_reasons(first, second, before, after) if changes else (),
    )


def _is_otherwise(line: LineChange) -> bool:
    return any(change.what in DECIDED for change in line.changes)


def _compare_all(
    before: Mapping[Hashable, Found],
    after: Mapping[Hashable, Found],
    looked_at: Mapping[str, float],
    total: Callable[[Found], float],
) -> tuple[OrderChange, ...]:
    """Compare lines by key; `total` is the money of one."""
    found = []
    for key in sorted(set(before) | set(after), key=str):
        one, other = before.get(key), after.get(key)
        changes = _changes(one, other, looked_at)
        if changes:
            where = key if isinstance(key, tuple) else (key,)
            more = (total(other) if other else 0.0) - (total(one) if one else 0.0)
            name = str((other or one or {}).get("name", ""))
            found.append(
                OrderChange(where=tuple(map(str, where)), name=name, changes=changes, more=more)
            )
    return tuple(found)


def _compare_stores(first: PlanFile, second: PlanFile) -> tuple[OrderChange, ...]:
    return tuple(
        replace(found, reasons=find_store_reasons(first, second, *found.where))
        for found in _compare_all(first.stores, second.stores, _STORE, _store_later)
    )


def _line_total(line: Found) -> float:
    return float(line["pieces"] * line["landed"])


def _charge_total(charge: Found) -> float:
    return float(charge["freight"] + charge["handling"])


def _store_later(line: Found) -> float:
    return float(line.get("later_cost") or 0.0)
