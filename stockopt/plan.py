"""The plan: what to carry, change and buy, with every total recomputed without the solver."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from stockopt.choices.choices import BoatPart, Choice, Choices, Stop, name_ahead
from stockopt.choices.dead_line import DeadStock
from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.what_if import WhatIf
from stockopt.program.pick import find_costs, list_bought_for
from stockopt.program.solution import Picked, Rounds, Solution
from stockopt.program.store_lines import StoreLine, list_store_lines
from stockopt.sourcing import Offer


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
    delivered to her alone, at home or on her way; a store's order charges are in no boat's.
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
    """One part on one boat: what is aboard, what goes aboard, what is changed now.

    on_hand + moved + buy = carry + replace_now + used_up + given + what is left ashore.

    Parameters
    ----------
    moved, moved_from
        Pieces that come from stores and other boats of the harbour, and which.
    used_up
        Pieces used up with other parts that are replaced now.
    given
        Pieces that other boats of the harbour get.
    own_left
        Her own pieces that expire under way and had better stay ashore.
    ahead, ahead_at, ahead_on
        Pieces ordered now that meet her on her way, where and when; 0, "" and None for none.
    kg, litres
        Of the spares carried, with those that meet her on her way.
    restock_at
        Where spares used are made up, and at what price; empty where they are not.
    """

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
    moved_from: tuple[tuple[str, int], ...] = ()
    used_up: int = 0
    given: int = 0
    own_left: int = 0
    ahead: int = 0
    ahead_at: str = ""
    ahead_on: date | None = None
    restock_at: tuple[Stop, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One part of one order. `price` and `landed` are of one piece, in the plan's currency.

    Of a set sold under one number one piece is one set, and `name` says what it holds. Of an
    order that meets a boat on her way `place` says which boat and where.

    Ordered by `order_by`, it is in hand by `arrives_by`, the first departure that waits for it (or
    the day she is there), 9 times in 10. All lines of an order (same source and place) have the
    same dates: it is placed once and its charges are paid once, so its first boat sets them for
    all.
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
    stores
        One line for each store and part.
    rounds
        Of boats and stores in turn.
    dead_stock
        Pieces in hand that nothing is likely to need.
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
    stores: tuple[StoreLine, ...] = ()
    rounds: Rounds = field(default_factory=Rounds)
    dead_stock: tuple[DeadStock, ...] = ()


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
        carry=_list_carry(solution, choices, parts),
        orders=_list_orders(solution, choices, parts),
        charges=charges,
        stores=list_store_lines(solution, choices),
        rounds=solution.rounds,
        dead_stock=choices.dead_stock,
        notes=tuple(dict.fromkeys((*fleet.notes, *choices.notes))),
    )


def _list_carry(
    solution: Solution, choices: Choices, parts: Mapping[tuple[str, str], BoatPart]
) -> tuple[CarryLine, ...]:
    used_up: Counter[tuple[str, str]] = Counter()
    given: Counter[tuple[str, str]] = Counter()
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        for other, quantity in part.uses:
            used_up[pick.boat, other] += quantity * part.choices[pick.choice].replace_now
        for place, pieces in pick.near:
            given[place, pick.part] += pieces
    return tuple(
        replace(
            _write_carry(pick, parts[pick.boat, pick.part], choices.boats[pick.boat].place),
            used_up=used_up[pick.boat, pick.part],
            given=given[pick.boat, pick.part],
        )
        for pick in solution.picked
        if not choices.is_shelf(pick.boat)
    )


def _write_carry(pick: Picked, part: BoatPart, place: str) -> CarryLine:
    choice = part.choices[pick.choice]
    moved = ((place, pick.moved),) if pick.moved else ()
    arrivals = {ahead.port: ahead.arrives_on for ahead in part.ahead}
    return CarryLine(
        boat=part.boat,
        part=part.part,
        name=part.name,
        on_hand=part.on_hand,
        carry=choice.carry,
        replace_now=choice.replace_now,
        restock=choice.restock,
        buy=sum(pieces for _, pieces in pick.bought),
        moved=pick.moved + sum(pieces for _, pieces in pick.near),
        floor=part.floor,
        kg=choice.aboard * part.kg,
        litres=choice.aboard * part.litres,
        expected_need=choice.expected_need,
        shortage_chance=choice.shortage_chance,
        expected_shortages=choice.expected_shortages,
        expected_cost=choice.later_cost,
        moved_from=(*moved, *pick.near),
        own_left=choice.own_left,
        ahead=choice.ahead,
        ahead_at=choice.ahead_at,
        ahead_on=arrivals[choice.ahead_at] if choice.ahead else None,
        restock_at=part.restock_at if choice.restock else (),
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
    whose = {boat: boat for boat, limits in choices.boats.items() if limits.place == boat}
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        taken[pick.boat].append((part, part.choices[pick.choice]))
        whose |= {name_ahead(pick.boat, ahead.port): pick.boat for ahead in part.ahead}
        if pick.boat not in whose:
            spent[pick.boat] += sum(
                offer.find_landed(pick.part) * pieces for offer, pieces in pick.bought
            )
    for line in solution.bought:
        if line.place in whose:
            spent[whose[line.place]] += line.packs * line.offer.pack * line.offer.landed
    for charge in charges:
        if charge.place in whose:
            spent[whose[charge.place]] += charge.freight + charge.handling
    return tuple(_write_boat(boat, choices, taken[boat], spent[boat]) for boat in choices.afloat)


def _write_boat(
    boat: str, choices: Choices, taken: list[tuple[BoatPart, Choice]], spent: float
) -> BoatLine:
    limits = choices.boats[boat]
    return BoatLine(
        boat=boat,
        departs_on=limits.departs_on,
        kg=sum(choice.aboard * part.kg for part, choice in taken),
        kg_limit=limits.kg,
        litres=sum(choice.aboard * part.litres for part, choice in taken),
        litres_limit=limits.litres,
        spend_now=spent,
        budget=limits.budget,
        readiness=math.prod(1.0 - choice.shortage_chance for part, choice in taken if part.stops),
        expected_shortages=sum(choice.expected_shortages for _, choice in taken),
    )


def _list_orders(
    solution: Solution, choices: Choices, parts: Mapping[tuple[str, str], BoatPart]
) -> tuple[OrderLine, ...]:
    departures = _find_departures(solution, choices, parts)
    names = {part.part: part.name for part in parts.values()}
    return tuple(
        OrderLine(
            source=line.offer.source,
            kind=line.offer.kind,
            place=line.place,
            part=line.offer.part,
            name=name_offer(line.offer, names),
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


def name_offer(offer: Offer, names: Mapping[str, str]) -> str:
    """Return the name of a part, or of a set what it holds."""
    if not offer.contents:
        return names[offer.part]
    held = (f"{piece.quantity} x {piece.part}" for piece in offer.contents)
    return f"Set of {', '.join(held)}"


def _find_departures(
    solution: Solution, choices: Choices, parts: Mapping[tuple[str, str], BoatPart]
) -> dict[tuple[str, str], date]:
    """Return by (source, place) when the first boat that waits for the order departs.

    For an order that meets a boat on her way: when she is there.
    """
    first: dict[tuple[str, str], date] = {}
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        days = {choices.boats[pick.boat].place: choices.boats[pick.boat].departs_on}
        days |= {name_ahead(pick.boat, ahead.port): ahead.arrives_on for ahead in part.ahead}
        for place, offer, _ in list_bought_for(pick, part, choices):
            key = (offer.source, place)
            first[key] = min(days[place], first.get(key, days[place]))
    return first
