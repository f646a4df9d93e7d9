"""The plan: what to carry, change and buy, with every total recomputed without the solver."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.what_if import WhatIf
from stockopt.program.pick import find_costs
from stockopt.program.solution import Picked, Solution


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Money: spent now, expected later, and both."""

    spend_now: float
    expected_later: float
    total: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatLine:
    """One boat: what she carries in all and what she risks.

    `spend_now` is the landed cost of the pieces bought for her, with the charges of orders
    delivered to her alone; a store's order charges are in no boat's.
    `readiness` is the chance of no shortage of any `stops` part.
    """

    boat: str
    departs_on: date
    kg: float
    kg_limit: float | None
    litres: float
    litres_limit: float | None
    spend_now: float
    budget: float | None
    readiness: float
    expected_shortages: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryLine:
    """One part on one boat: what is aboard, what goes aboard, what is changed now."""

    boat: str
    part: str
    name: str
    on_hand: int
    carry: int
    replace_now: int
    restock: bool
    buy: int
    moved: int
    floor: int
    kg: float
    litres: float
    expected_need: float
    shortage_chance: float
    expected_shortages: float
    expected_cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One part of one order. `price` and `landed` are of one piece, in the plan's currency.

    Ordered by `order_by`, it is in hand by `arrives_by`, the first departure that waits for it,
    9 times in 10. All lines of an order (same source and place) have the same dates: it is
    placed once and its charges are paid once, so its first boat sets them for all.
    """

    source: str
    kind: str
    place: str
    part: str
    name: str
    packs: int
    pieces: int
    price: float
    landed: float
    order_by: date
    arrives_by: date


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderCharge:
    """What one order costs beside its lines: freight once and handling once."""

    source: str
    place: str
    freight: float
    handling: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything that was decided.

    Parameters
    ----------
    fleet, planned_on, currency
        What was planned, for which day, in which money.
    status, bound, gap, seconds
        How sure it is, from the solver.
    cost, boats, carry, orders, charges
        The plan. Lines of `carry` are there for every boat and part fitted to her.
    notes
        Every doubtful thing met on the way.
    what_if
        What was supposed; nothing in the plain plan.
    """

    fleet: str
    planned_on: date
    currency: str
    status: str
    bound: float
    gap: float
    seconds: float
    cost: Cost
    boats: tuple[BoatLine, ...]
    carry: tuple[CarryLine, ...]
    orders: tuple[OrderLine, ...]
    charges: tuple[OrderCharge, ...]
    notes: tuple[Note, ...]
    what_if: WhatIf = field(default_factory=WhatIf)


def make_plan(solution: Solution, choices: Choices, fleet: Fleet) -> Plan:
    """Write the solution out as lines for people, with their totals.

    Parameters
    ----------
    solution
        What was picked and bought.
    choices
        What it was picked from.
    fleet
        For its name, its day and its money.

    Returns
    -------
    Plan
        Sorted: boats, carry lines by boat and part, order lines and charges as in the solution.
    """
    parts = {(part.boat, part.part): part for part in choices.parts}
    charges = _list_charges(solution, choices)
    spend_now, later = find_costs(choices, solution.picked, solution.bought, solution.free_freight)
    return Plan(
        fleet=fleet.name,
        planned_on=fleet.settings.planned_on,
        currency=fleet.settings.currency,
        status=solution.status,
        bound=solution.bound,
        gap=solution.gap,
        seconds=solution.seconds,
        cost=Cost(spend_now=spend_now, expected_later=later, total=spend_now + later),
        boats=_list_boats(solution, choices, parts, charges),
        carry=tuple(_write_carry(pick, parts[pick.boat, pick.part]) for pick in solution.picked),
        orders=_list_orders(solution, choices, parts),
        charges=charges,
        notes=tuple(dict.fromkeys((*fleet.notes, *choices.notes))),
    )


def _write_carry(pick: Picked, part: BoatPart) -> CarryLine:
    choice = part.choices[pick.choice]
    return CarryLine(
        boat=part.boat,
        part=part.part,
        name=part.name,
        on_hand=part.on_hand,
        carry=choice.carry,
        replace_now=choice.replace_now,
        restock=choice.restock,
        buy=sum(pieces for _, pieces in pick.bought),
        moved=pick.moved,
        floor=part.floor,
        kg=choice.carry * part.kg,
        litres=choice.carry * part.litres,
        expected_need=choice.expected_need,
        shortage_chance=choice.shortage_chance,
        expected_shortages=choice.expected_shortages,
        expected_cost=choice.later_cost,
    )


def _list_charges(solution: Solution, choices: Choices) -> tuple[OrderCharge, ...]:
    orders = sorted({(line.place, line.offer.source) for line in solution.bought})
    return tuple(
        OrderCharge(
            source=source,
            place=place,
            freight=(
                0.0
                if (source, place) in solution.free_freight
                else choices.charges[source, place].per_order
            ),
            handling=choices.charges[source, place].handling,
        )
        for place, source in orders
    )


def _list_boats(
    solution: Solution,
    choices: Choices,
    parts: Mapping[tuple[str, str], BoatPart],
    charges: tuple[OrderCharge, ...],
) -> tuple[BoatLine, ...]:
    taken: dict[str, list[tuple[BoatPart, Choice]]] = defaultdict(list)
    spent: dict[str, float] = defaultdict(float)
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        taken[pick.boat].append((part, part.choices[pick.choice]))
        if choices.boats[pick.boat].place != pick.boat:
            spent[pick.boat] += sum(offer.landed * pieces for offer, pieces in pick.bought)
    alone = {boat for boat, limits in choices.boats.items() if limits.place == boat}
    for line in solution.bought:
        if line.place in alone:
            spent[line.place] += line.packs * line.offer.pack * line.offer.landed
    for charge in charges:
        if charge.place in alone:
            spent[charge.place] += charge.freight + charge.handling
    return tuple(
        _write_boat(boat, choices, taken[boat], spent[boat]) for boat in sorted(choices.boats)
    )


def _write_boat(
    boat: str, choices: Choices, taken: list[tuple[BoatPart, Choice]], spent: float
) -> BoatLine:
    limits = choices.boats[boat]
    return BoatLine(
        boat=boat,
        departs_on=limits.departs_on,
        kg=sum(choice.carry * part.kg for part, choice in taken),
        kg_limit=limits.kg,
        litres=sum(choice.carry * part.litres for part, choice in taken),
        litres_limit=limits.litres,
        spend_now=spent,
        budget=limits.budget,
        readiness=math.prod(1.0 - choice.shortage_chance for part, choice in taken if part.stops),
        expected_shortages=sum(choice.expected_shortages for _, choice in taken),
    )


def _list_orders(
    solution: Solution, choices: Choices, parts: Mapping[tuple[str, str], BoatPart]
) -> tuple[OrderLine, ...]:
    departures = _find_departures(solution, choices)
    names = {part.part: part.name for part in parts.values()}
    return tuple(
        OrderLine(
            source=line.offer.source,
            kind=line.offer.kind,
            place=line.place,
            part=line.offer.part,
            name=names[line.offer.part],
            packs=line.packs,
            pieces=line.packs * line.offer.pack,
            price=line.offer.price,
            landed=line.offer.landed,
            order_by=departs_on - timedelta(days=math.ceil(line.offer.late_days)),
            arrives_by=departs_on,
        )
        for line in solution.bought
        for departs_on in (departures[line.offer.source, line.place],)
    )


def _find_departures(solution: Solution, choices: Choices) -> dict[tuple[str, str], date]:
    """Return by (source, place) when the first boat that waits for the order departs."""
    first: dict[tuple[str, str], date] = {}
    for pick in solution.picked:
        limits = choices.boats[pick.boat]
        for offer, _ in pick.bought:
            key = (offer.source, limits.place)
            first[key] = min(limits.departs_on, first.get(key, limits.departs_on))
    return first
