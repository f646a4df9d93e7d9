"""A solved plan added up, and what a move makes of it."""

from collections import Counter
from dataclasses import replace

from program_builders import plan_of

from stockopt.errors import NoPlanError
from stockopt.plan_check import check_plan
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.solution import Bought
from stockopt.program.solve import solve_program
from stockopt.why.ledger import add_up


def solve(choices):
    """Return the proven best solution; None where there is no plan."""
    try:
        return solve_program(choices, gap=0.0, seconds=30.0)
    except NoPlanError:
        return None


def ledger_of(solution, choices):
    return add_up(plan_of(solution, choices), solution, choices)


def apply(move, line, solution, choices):
    """Return the solution with one line changed as a move says."""
    index = line.part.choices.index(move.choice)
    changed = replace(
        line.pick,
        choice=index,
        own=move.supplied.own,
        moved=move.supplied.moved,
        near=tuple(sorted(move.supplied.near.items())),
        bought=tuple((offer, n) for offer, n in move.supplied.bought.items() if n),
    )
    picked = tuple(changed if pick == line.pick else pick for pick in solution.picked)
    packs = Counter({(row.place, row.offer): row.packs for row in solution.bought})
    for offer, more in move.packs.items():
        packs[line.place, offer] += more
    bought = tuple(Bought(place=p, offer=o, packs=n) for (p, o), n in packs.items() if n)
    free = find_free_freight(choices, bought)
    objective = sum(find_costs(choices, picked, bought, free))
    bound = min(solution.bound, objective)
    return replace(
        solution,
        picked=picked,
        bought=bought,
        free_freight=free,
        objective=objective,
        bound=bound,
        gap=(objective - bound) / max(1.0, abs(objective)),
    )


def check(solution, choices):
    """Check the plan of a solution without the solver; raises where a limit is broken."""
    check_plan(plan_of(solution, choices), solution, choices)


def relax(choices, boat, stops):
    """Return the choices without the limits of one boat that a move would break."""
    limits = choices.boats[boat]
    changes = {
        field: None
        for stop, field in (("her kilos", "kg"), ("her litres", "litres"), ("her budget", "budget"))
        if stop in stops
    }
    budget = None if "the fleet's budget" in stops else choices.budget
    readiness = None if "readiness" in stops else choices.readiness
    parts = choices.parts
    if "most available" in stops:
        parts = tuple(
            replace(part, offers=tuple(replace(offer, most=None) for offer in part.offers))
            for part in parts
        )
    boats = {**choices.boats, boat: replace(limits, **changes)}
    return replace(choices, boats=boats, budget=budget, readiness=readiness, parts=parts)
