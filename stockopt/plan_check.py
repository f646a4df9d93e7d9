"""The plan checked again from the choices alone, without the solver, on every run.

It shares no sum with the rooms that made the plan, so a mistake there shows here.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.plan import Plan
from stockopt.program.solution import Picked, Solution
from stockopt.sourcing import Offer

#: Largest difference of a total, and largest overrun of a limit, as a share of it (of 1 where
#: it is smaller): the tolerance to which the solver keeps its rows.
TOLERANCE = 1e-6


class PlanCheckError(AssertionError):
    """The plan is not what its choices add up to: a mistake in the program, not in the tables."""


@dataclass(frozen=True, slots=True)
class _Line:
    """One part on one boat: what was picked, worked out again."""

    part: BoatPart
    choice: Choice
    pick: Picked
    place: str


@dataclass(frozen=True, slots=True)
class _Facts:
    """What every check looks at."""

    plan: Plan
    solution: Solution
    choices: Choices
    lines: tuple[_Line, ...]
    packs: Mapping[tuple[str, Offer], int]
    used: Mapping[tuple[str, Offer], int]
    goods: Mapping[tuple[str, str], float]

    def find_freight(self, order: tuple[str, str]) -> float:
        """Return the freight of the order by (source, place): free from its threshold on."""
        charges = self.choices.charges[order]
        threshold = charges.free_freight_from
        free = threshold is not None and _reaches(self.goods[order], threshold)
        return 0.0 if free else charges.per_order


def check_plan(plan: Plan, solution: Solution, choices: Choices) -> None:
    """Recompute every total and every limit from the choices alone.

    Parameters
    ----------
    plan
        As it will be reported.
    solution
        Picks and order lines it was made from.
    choices
        What could be picked, and the limits.

    Raises
    ------
    PlanCheckError
        A total differs or a limit is broken; every difference is named.
    """
    differences = list(_check_lines(plan, solution, choices))
    if not differences:
        facts = _gather(plan, solution, choices)
        for check in _CHECKS:
            differences += check(facts)
    if differences:
        raise PlanCheckError("\n".join(differences))


def _check_lines(plan: Plan, solution: Solution, choices: Choices) -> Iterator[str]:
    """Check that each part on each boat has exactly one pick and one carry line, in order."""
    wanted = sorted((part.boat, part.part) for part in choices.parts)
    if [(pick.boat, pick.part) for pick in solution.picked] != wanted:
        yield "the picks are not one for each boat and part, sorted"
    if [(line.boat, line.part) for line in plan.carry] != wanted:
        yield "the carry lines are not one for each boat and part, sorted"
    if [line.boat for line in plan.boats] != sorted(choices.boats):
        yield "the boat lines are not one for each boat, sorted"
    lines = [(line.place, line.offer) for line in solution.bought]
    if len(set(lines)) < len(lines):
        yield "an offer is bought in two lines for one place"


def _gather(plan: Plan, solution: Solution, choices: Choices) -> _Facts:
    parts = {(part.boat, part.part): part for part in choices.parts}
    lines = []
    used: Counter[tuple[str, Offer]] = Counter()
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        place = choices.boats[pick.boat].place
        lines.append(_Line(part, part.choices[pick.choice], pick, place))
        for offer, pieces in pick.bought:
            used[place, offer] += pieces
    goods: dict[tuple[str, str], float] = defaultdict(float)
    for line in solution.bought:
        value = line.packs * line.offer.pack * line.offer.price
        goods[line.offer.source, line.place] += value
    packs = {(line.place, line.offer): line.packs for line in solution.bought}
    return _Facts(plan, solution, choices, tuple(lines), packs, used, goods)


def _check_carry(facts: _Facts) -> Iterator[str]:
    """Check that every carry line says what was picked, and that the floors hold."""
    for line, written in zip(facts.lines, facts.plan.carry, strict=True):
        part, choice, pick = line.part, line.choice, line.pick
        expected = {
            "name": part.name,
            "on_hand": part.on_hand,
            "carry": choice.carry,
            "replace_now": choice.replace_now,
            "restock": choice.restock,
            "buy": sum(pieces for _, pieces in pick.bought),
            "moved": pick.moved,
            "floor": part.floor,
            "kg": part.kg * choice.carry,
            "litres": part.litres * choice.carry,
            "expected_need": choice.expected_need,
            "shortage_chance": choice.shortage_chance,
            "expected_shortages": choice.expected_shortages,
            "expected_cost": choice.later_cost,
        }
        yield from _compare(f"{part.boat}, {part.part}", written, expected)
        if choice.carry < part.floor:
            yield f"{part.boat}, {part.part}: carries {choice.carry}, below {part.floor}"
        if part.pin not in (None, choice.carry):
            yield f"{part.boat}, {part.part}: carries {choice.carry}, not {part.pin} as asked"


def _check_pieces(facts: _Facts) -> Iterator[str]:
    """Check that the pieces wanted come from somewhere that has them, in time."""
    drawn: Counter[tuple[str, str]] = Counter()
    for line in facts.lines:
        part, pick = line.part, line.pick
        where = f"{part.boat}, {part.part}"
        brought = pick.own + pick.moved + sum(pieces for _, pieces in pick.bought)
        if brought < line.choice.carry + line.choice.replace_now:
            yield f"{where}: {brought} pieces for {line.choice.pieces} wanted"
        if not 0 <= pick.own <= part.on_hand:
            yield f"{where}: {pick.own} of {part.on_hand} own pieces used"
        if pick.moved < 0 or any(pieces <= 0 for _, pieces in pick.bought):
            yield f"{where}: pieces below zero"
        if any(offer not in part.offers for offer, _ in pick.bought):
            yield f"{where}: bought from an offer that is not hers"
        drawn[line.place, part.part] += pick.moved
    for (store, name), pieces in drawn.items():
        if pieces > facts.choices.stock.get((store, name), 0):
            yield f"{store}: {pieces} of {name} drawn, more than in stock"
    for (place, offer), pieces in facts.used.items():
        if pieces > facts.packs.get((place, offer), 0) * offer.pack:
            yield f"{place}: {pieces} of {offer.part} used, more than bought"


def _check_orders(facts: _Facts) -> Iterator[str]:
    """Check that every order line says what was bought, and arrives for its first boat."""
    first: dict[tuple[str, str], date] = {}
    for line in facts.lines:
        departs_on = facts.choices.boats[line.part.boat].departs_on
        for offer, _ in line.pick.bought:
            key = (offer.source, line.place)
            first[key] = min(departs_on, first.get(key, departs_on))
    names = {part.part: part.name for part in facts.choices.parts}
    if len(facts.plan.orders) != len(facts.solution.bought):
        yield "the order lines are not one for each offer bought"
        return
    for bought, written in zip(facts.solution.bought, facts.plan.orders, strict=True):
        offer = bought.offer
        arrives_by = first.get((offer.source, bought.place))
        if arrives_by is None:
            yield f"{offer.source} to {bought.place}: ordered for no boat"
            continue
        expected = {
            "source": offer.source,
            "kind": offer.kind,
            "place": bought.place,
            "part": offer.part,
            "name": names[offer.part],
            "packs": bought.packs,
            "pieces": bought.packs * offer.pack,
            "price": offer.price,
            "landed": offer.landed,
            "arrives_by": arrives_by,
            "order_by": arrives_by - timedelta(days=math.ceil(offer.late_days)),
        }
        yield from _compare(f"order line {bought.place}, {offer.part}", written, expected)


def _check_sources(facts: _Facts) -> Iterator[str]:
    """Check what the sources have, their minimum orders and the freight they charge."""
    had: Counter[tuple[str, str, int, float]] = Counter()
    for (place, offer), packs in facts.packs.items():
        if packs <= 0:
            yield f"{place}: {packs} packs of {offer.part}"
        sold = (offer.source, offer.part, offer.pack, offer.price)
        had[sold] += packs
        if offer.most is not None and had[sold] > offer.most:
            yield f"{offer.source} has {offer.most} packs of {offer.part}, {had[sold]} are bought"
    if sorted((charge.source, charge.place) for charge in facts.plan.charges) != sorted(
        facts.goods
    ):
        yield "the order charges are not one for each order"
        return
    for written in facts.plan.charges:
        order = (written.source, written.place)
        charges = facts.choices.charges[order]
        if not _reaches(facts.goods[order], charges.minimum_order or 0.0):
            yield f"{order[0]} to {order[1]}: {facts.goods[order]} is below its minimum order"
        expected = {"freight": facts.find_freight(order), "handling": charges.handling}
        yield from _compare(f"charges of {order[0]} to {order[1]}", written, expected)


def _check_money(facts: _Facts) -> Iterator[str]:
    """Check the three totals, the objective, the bound and the fleet's budget."""
    orders = sum(
        facts.find_freight(key) + facts.choices.charges[key].handling for key in facts.goods
    )
    bought = sum(packs * offer.pack * offer.landed for (_, offer), packs in facts.packs.items())
    later = sum(row.choice.later_cost + row.pick.moved * row.part.leftover for row in facts.lines)
    worth: dict[tuple[str, Offer], float] = {}
    for part in facts.choices.parts:
        for offer in part.offers:
            line = (facts.choices.boats[part.boat].place, offer)
            worth[line] = min(part.leftover, worth.get(line, part.leftover))
    for (place, offer), packs in facts.packs.items():
        if (place, offer) not in worth:
            yield f"{place}: {offer.part} is bought from {offer.source}, of use to no boat there"
        surplus = packs * offer.pack - facts.used.get((place, offer), 0)
        later -= surplus * worth.get((place, offer), 0.0)
    expected = {
        "spend_now": orders + bought,
        "expected_later": later,
        "total": orders + bought + later,
    }
    yield from _compare("cost", facts.plan.cost, expected)
    solution = facts.solution
    yield from _compare("solution", solution, {"objective": orders + bought + later})
    gap = (solution.objective - solution.bound) / max(1.0, abs(solution.objective))
    sureness = {"bound": solution.bound, "gap": gap, "status": solution.status}
    yield from _compare("plan", facts.plan, sureness)
    if solution.bound > solution.objective:
        yield f"the bound {solution.bound} is above the objective {solution.objective}"
    yield from _keep("the fleet's spending", orders + bought, facts.choices.budget)


def _check_boats(facts: _Facts) -> Iterator[str]:
    """Check every boat's totals, and her limits."""
    by_boat: dict[str, list[_Line]] = defaultdict(list)
    for line in facts.lines:
        by_boat[line.part.boat].append(line)
    for written in facts.plan.boats:
        boat = written.boat
        limits = facts.choices.boats[boat]
        lines = by_boat[boat]
        safe = [1.0 - line.choice.shortage_chance for line in lines if line.part.stops]
        expected = {
            "departs_on": limits.departs_on,
            "kg": sum(line.choice.carry * line.part.kg for line in lines),
            "kg_limit": limits.kg,
            "litres": sum(line.choice.carry * line.part.litres for line in lines),
            "litres_limit": limits.litres,
            "spend_now": _find_spending(facts, boat, lines),
            "budget": limits.budget,
            "readiness": math.prod(safe),
            "expected_shortages": sum(line.choice.expected_shortages for line in lines),
        }
        yield from _compare(boat, written, expected)
        yield from _keep(f"{boat}, kg", written.kg, limits.kg)
        yield from _keep(f"{boat}, litres", written.litres, limits.litres)
        yield from _keep(f"{boat}, spending", written.spend_now, limits.budget)
        asked = facts.choices.readiness
        if asked is not None and not _reaches(written.readiness, asked):
            yield f"{boat}: readiness {written.readiness} is below {asked}"


def _find_spending(facts: _Facts, boat: str, lines: list[_Line]) -> float:
    """Work out what is spent for one boat: whole orders where they come to her alone."""
    if facts.choices.boats[boat].place != boat:
        return sum(pieces * offer.landed for line in lines for offer, pieces in line.pick.bought)
    orders = [key for key in facts.goods if key[1] == boat]
    charges = sum(facts.find_freight(key) + facts.choices.charges[key].handling for key in orders)
    packs = sum(n * o.pack * o.landed for (place, o), n in facts.packs.items() if place == boat)
    return charges + packs


def _compare(where: str, written: object, expected: Mapping[str, object]) -> Iterator[str]:
    """Compare fields with what they should be: numbers within the tolerance, others exactly."""
    for field, right in expected.items():
        found = getattr(written, field)
        if isinstance(right, float) and isinstance(found, float | int):
            same = abs(found - right) <= TOLERANCE * max(1.0, abs(right))
        else:
            same = found == right
        if not same:
            yield f"{where}: {field} is {found}, should be {right}"


def _keep(what: str, amount: float, limit: float | None) -> Iterator[str]:
    if limit is not None and amount > limit + TOLERANCE * max(1.0, abs(limit)):
        yield f"{what}: {amount} is over the limit of {limit}"


def _reaches(amount: float, threshold: float) -> bool:
    return amount >= threshold - TOLERANCE * max(1.0, abs(threshold))


#: In this order: later checks lean on what earlier ones have compared.
_CHECKS: tuple[Callable[[_Facts], Iterator[str]], ...] = (
    _check_carry,
    _check_pieces,
    _check_orders,
    _check_sources,
    _check_money,
    _check_boats,
)
