"""The plan checked again from the choices alone, without the solver, on every run.

It shares no sum with the rooms that made the plan, so a mistake there shows here.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from datetime import date, timedelta

from stockopt.choices.choices import Choices
from stockopt.plan import Plan
from stockopt.plan_pieces import (
    TOLERANCE,
    Facts,
    Line,
    check_pieces,
    check_stores,
    gather,
    reaches,
)
from stockopt.program.solution import Solution
from stockopt.sourcing import Offer


class PlanCheckError(AssertionError):
    """The plan is not what its choices add up to: a mistake in the program, not in the tables."""


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
        facts = gather(plan, solution, choices)
        for check in _CHECKS:
            differences += check(facts)
    if differences:
        raise PlanCheckError("\n".join(differences))


def _check_lines(plan: Plan, solution: Solution, choices: Choices) -> Iterator[str]:
    """Check that each part on each boat has exactly one pick and one carry line, in order."""
    wanted = sorted((part.boat, part.part) for part in choices.parts)
    if [(pick.boat, pick.part) for pick in solution.picked] != wanted:
        yield "the picks are not one for each boat and part, sorted"
    aboard = [key for key in wanted if not choices.is_shelf(key[0])]
    if [(line.boat, line.part) for line in plan.carry] != aboard:
        yield "the carry lines are not one for each boat and part, sorted"
    if [line.boat for line in plan.boats] != list(choices.afloat):
        yield "the boat lines are not one for each boat, sorted"
    lines = [(line.place, line.offer) for line in solution.bought]
    if len(set(lines)) < len(lines):
        yield "an offer is bought in two lines for one place"


def _check_carry(facts: Facts) -> Iterator[str]:
    """Check that every carry line says what was picked, and that the floors hold."""
    aboard = [line for line in facts.lines if not facts.choices.is_shelf(line.part.boat)]
    for line, written in zip(aboard, facts.plan.carry, strict=True):
        part, choice, pick = line.part, line.choice, line.pick
        met = [ahead.arrives_on for ahead in part.ahead if ahead.port == choice.ahead_at]
        expected = {
            "name": part.name,
            "on_hand": part.on_hand,
            "carry": choice.carry,
            "replace_now": choice.replace_now,
            "restock": choice.restock,
            "buy": sum(pieces for _, pieces in pick.bought),
            "moved": pick.moved + sum(pieces for _, pieces in pick.near),
            "moved_from": (((line.place, pick.moved),) if pick.moved else ()) + pick.near,
            "used_up": facts.count_used_up(line),
            "given": facts.count_given(line),
            "own_left": choice.own_left,
            "ahead": choice.ahead,
            "ahead_at": choice.ahead_at,
            "ahead_on": met[0] if choice.ahead else None,
            "restock_at": part.restock_at if choice.restock else (),
            "floor": part.floor,
            "kg": part.kg * (choice.carry + choice.ahead),
            "litres": part.litres * (choice.carry + choice.ahead),
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


def _check_orders(facts: Facts) -> Iterator[str]:
    """Check that every order line says what was bought, and arrives for its first boat."""
    first: dict[tuple[str, str], date] = {}
    for line in facts.lines:
        departs_on = facts.choices.boats[line.part.boat].departs_on
        for offer, _ in line.pick.bought:
            key = (offer.source, line.place)
            first[key] = min(departs_on, first.get(key, departs_on))
        for offer, _ in line.pick.met:
            for ahead in line.part.ahead:
                if ahead.port == line.choice.ahead_at:
                    first[offer.source, f"{line.part.boat} in {ahead.port}"] = ahead.arrives_on
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
            "name": (
                "Set of " + ", ".join(f"{held.quantity} x {held.part}" for held in offer.contents)
                if offer.contents
                else names[offer.part]
            ),
            "packs": bought.packs,
            "pieces": bought.packs * offer.pack,
            "price": offer.price,
            "landed": offer.landed,
            "arrives_by": arrives_by,
            "order_by": arrives_by - timedelta(days=math.ceil(offer.late_days)),
        }
        yield from _compare(f"order line {bought.place}, {offer.part}", written, expected)


def _check_sources(facts: Facts) -> Iterator[str]:
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
        if not reaches(facts.goods[order], charges.minimum_order or 0.0):
            yield f"{order[0]} to {order[1]}: {facts.goods[order]} is below its minimum order"
        expected = {"freight": facts.find_freight(order), "handling": charges.handling}
        yield from _compare(f"charges of {order[0]} to {order[1]}", written, expected)


def _check_money(facts: Facts) -> Iterator[str]:
    """Check the three totals, the objective, the bound and the fleet's budget."""
    orders = sum(
        facts.find_freight(key) + facts.choices.charges[key].handling for key in facts.goods
    )
    bought = sum(packs * offer.pack * offer.landed for (_, offer), packs in facts.packs.items())
    later = sum(row.choice.later_cost + _find_taken(facts, row) for row in facts.lines)
    worth: dict[tuple[str, Offer, str], float] = {}
    for part in facts.choices.parts:
        home = facts.choices.boats[part.boat].place
        for offer in part.offers:
            key = (home, offer, part.part)
            worth[key] = min(part.leftover, worth.get(key, part.leftover))
        # What is left of packs that meet her on her way stays there.
        met = [(f"{part.boat} in {a.port}", offer) for a in part.ahead for offer in a.offers]
        worth |= {(place, offer, part.part): 0.0 for place, offer in met}
    for (place, offer), packs in facts.packs.items():
        values = {name: worth.get((place, offer, name)) for name in offer.parts}
        if all(value is None for value in values.values()):
            yield f"{place}: {offer.part} is bought from {offer.source}, of use to no boat there"
        for name, value in values.items():
            surplus = packs * offer.pack * offer.parts[name]
            surplus -= facts.used.get((place, offer, name), 0)
            later -= surplus * (value or 0.0)
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


def _find_taken(facts: Facts, line: Line) -> float:
    """Work out the worth of the pieces taken beside what her choice takes of her own."""
    part, choice, pick = line.part, line.choice, line.pick
    used_up = pick.own - min(part.on_hand - choice.own_left, choice.carry + choice.replace_now)
    near = sum(n * facts.leftovers.get((place, part.part), part.leftover) for place, n in pick.near)
    return (pick.moved + used_up) * part.leftover + near


def _check_boats(facts: Facts) -> Iterator[str]:
    """Check every boat's totals, and her limits."""
    by_boat: dict[str, list[Line]] = defaultdict(list)
    for line in facts.lines:
        by_boat[line.part.boat].append(line)
    for written in facts.plan.boats:
        boat = written.boat
        limits = facts.choices.boats[boat]
        lines = by_boat[boat]
        safe = [1.0 - line.choice.shortage_chance for line in lines if line.part.stops]
        expected = {
            "departs_on": limits.departs_on,
            "kg": sum(line.choice.aboard * line.part.kg for line in lines),
            "kg_limit": limits.kg,
            "litres": sum(line.choice.aboard * line.part.litres for line in lines),
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
        if asked is not None and not reaches(written.readiness, asked):
            yield f"{boat}: readiness {written.readiness} is below {asked}"


def _find_spending(facts: Facts, boat: str, lines: list[Line]) -> float:
    """Work out what is spent for one boat: whole orders where they come to her alone."""
    places = {f"{boat} in {ahead.port}" for line in lines for ahead in line.part.ahead}
    shared = 0.0
    if facts.choices.boats[boat].place == boat:
        places.add(boat)
    else:
        shared = sum(
            pieces * offer.find_landed(line.part.part)
            for line in lines
            for offer, pieces in line.pick.bought
        )
    sources = sorted({(o.source, at) for at in places for o, _ in facts.bought_for.get(at, ())})
    charges = sum(facts.find_freight(key) + facts.choices.charges[key].handling for key in sources)
    packs = sum(n * o.pack * o.landed for at in places for o, n in facts.bought_for.get(at, ()))
    return charges + packs + shared


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


#: In this order: later checks lean on what earlier ones have compared.
_CHECKS: tuple[Callable[[Facts], Iterator[str]], ...] = (
    _check_carry,
    check_pieces,
    _check_orders,
    _check_sources,
    _check_money,
    _check_boats,
    check_stores,
)
