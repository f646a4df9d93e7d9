"""The verb of this room."""

from __future__ import annotations

from stockopt.choices.choices import Choices
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
        reorders=forecast_reorders(plan, choices, known, read_levels(plan)),
    )


def read_levels(plan: Plan) -> Levels:
    """Return how each store keeps up each part."""
    return {
        (line.store, line.part): Level(
            on_shelf=line.level,
            reorder_at=line.reorder_point,
            quantity=line.order_quantity,
            source=line.source,
            asked=line.expected_asked,
            last_order_on=line.last_order_on,
        )
        for line in plan.stores
    }
