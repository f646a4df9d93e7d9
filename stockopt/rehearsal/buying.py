"""What rules of thumb cost to keep: their pieces bought as cheaply as they can be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.choices.shelves import name_shelf
from stockopt.errors import NoPlanError
from stockopt.fleet.fleet import Fleet
from stockopt.plan import Plan, make_plan
from stockopt.program.solve import solve_program
from stockopt.rehearsal.rules import Rule

#: A plan made with a rule's money may spend this much more: money is rounded.
_ROUNDING = 0.005


def keep_rule(rule: Rule, plan: Plan, choices: Choices, fleet: Fleet) -> Plan:
    """Return a plan that does what the rule says, bought as cheaply as can be.

    No limit but what can be had is kept: people who go by a rule do not weigh.

    Parameters
    ----------
    rule
        Pieces to carry. Spares used are made up at every chance on the way.
    plan
        Whose stores stand behind the boats, so that only these differ.
    choices
        Where pieces can come from; what they say of costs and chances is not looked at.
    fleet
        The tables, for its settings.
    """
    rivals: dict[tuple[str, str], int] = defaultdict(int)
    for part in choices.parts:
        if choices.is_shelf(part.boat):
            continue
        rivals[choices.boats[part.boat].place, part.part] += 1
    levels = {(name_shelf(line.store), line.part): line.level for line in plan.stores}
    parts = tuple(
        _hold(part, levels[part.boat, part.part])
        if choices.is_shelf(part.boat)
        else _fix(part, rule, rivals[choices.boats[part.boat].place, part.part])
        for part in choices.parts
    )
    free = {
        boat: replace(limits, kg=None, litres=None, budget=None)
        for boat, limits in choices.boats.items()
    }
    fixed = replace(choices, boats=free, parts=parts, budget=None, readiness=None)
    settings = fleet.settings
    solution = solve_program(fixed, gap=settings.gap, seconds=settings.seconds)
    return replace(make_plan(solution, fixed, fleet), stores=plan.stores)


def _hold(part: BoatPart, level: int) -> BoatPart:
    """Return a shelf with its level as the only choice, or the nearest that can be chosen."""
    choice = min(part.choices, key=lambda choice: (abs(choice.carry - level), choice.carry))
    return replace(part, choices=(choice,))


def _fix(part: BoatPart, rule: Rule, rivals: int) -> BoatPart:
    """Return a boat's part with the rule's number as its only choice, or as many as can be had."""
    wanted = rule.carry.get((part.boat, part.part), part.floor)
    there = part.on_hand
    for offer in part.offers:
        most = wanted if offer.most is None else offer.most * offer.pack // rivals
        there += most
    carry = min(wanted, there)
    choice = Choice(
        carry=carry,
        replace_now=0,
        restock=carry > 0,
        later_cost=0.0,
        shortage_chance=0.0,
        expected_shortages=0.0,
        expected_need=0.0,
        restock_cost=0.0,
    )
    return replace(part, floor=min(part.floor, carry), choices=(choice,))


def plan_with(money: float, choices: Choices, fleet: Fleet) -> Plan | None:
    """Return the plan that costs least with no more money spent now; None where there is none.

    Readiness is not asked for: what little money buys may not reach it.
    """
    # Lines that were held while boats and stores were solved in turn are free again.
    parts = tuple(replace(part, choices=part.weighed or part.choices) for part in choices.parts)
    poorer = replace(choices, parts=parts, budget=money + _ROUNDING, readiness=None)
    settings = fleet.settings
    try:
        solution = solve_program(poorer, gap=settings.gap, seconds=settings.seconds)
    except NoPlanError:
        return None
    return make_plan(solution, poorer, fleet)


def list_broken(plan: Plan, choices: Choices) -> Iterator[str]:
    """Yield the limits of the tables that a plan breaks, in words."""
    measures = choices.measures
    for boat in plan.boats:
        limits = choices.boats[boat.boat]
        for amount, most, shown, unit in (
            (boat.kg, limits.kg, measures.of_mass, measures.mass),
            (boat.litres, limits.litres, measures.of_room, measures.volume),
        ):
            if most is not None and amount > most * (1.0 + 1e-9):
                yield f"{boat.boat}: {shown(amount):,.1f} of {shown(most):,.1f} {unit}"
        if limits.budget is not None and boat.spend_now > limits.budget * (1.0 + 1e-9):
            yield f"{boat.boat}: {boat.spend_now:,.0f} of {limits.budget:,.0f} to spend"
    if choices.budget is not None and plan.cost.spend_now > choices.budget * (1.0 + 1e-9):
        yield f"{plan.cost.spend_now:,.0f} of {choices.budget:,.0f} to spend in all"
