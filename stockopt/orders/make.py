"""The verb of this room."""

from __future__ import annotations

from stockopt.choices.choices import Choices
from stockopt.choices.shelves import name_shelf
from stockopt.orders.coming import Known, forecast_reorders
from stockopt.orders.late import Lateness
from stockopt.orders.orders import Level, Levels, Orders
from stockopt.orders.purchase import make_purchase_orders
from stockopt.plan import Plan
from stockopt.program.solution import Solution


def make_orders(plan: Plan, solution: Solution, choices: Choices, known: Known) -> Orders:
    """Write out the orders to be placed now, and forecast those to come.

    Parameters
    ----------
    plan, solution, choices
        What is bought, for whom, and what each boat could do without it.
    known
        What will be needed, and from whom it can be had.

    Returns
    -------
    Orders
        Money of the orders in whole cents of the plan's currency.
    """
    lateness = Lateness(solution, choices, known.demand, known.offers, known.fleet)
    return Orders(
        orders=make_purchase_orders(plan, known.fleet, lateness),
        reorders=forecast_reorders(plan, choices, known, read_levels(solution, choices)),
    )


def read_levels(solution: Solution, choices: Choices) -> Levels:
    """Return how each store keeps up each part, as the solution has it."""
    picked = {(pick.boat, pick.part): pick.choice for pick in solution.picked}
    levels = {}
    for part in choices.stores:
        choice = part.choices[picked[name_shelf(part.store), part.part]]
        levels[part.store, part.part] = Level(
            on_shelf=choice.level,
            reorder_at=choice.reorder_point,
            source=choice.source or "",
            asked=part.asked,
        )
    return levels
