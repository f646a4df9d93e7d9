"""What the plan costs, as it is shown to people."""

from __future__ import annotations

from dataclasses import replace

from stockopt.plan import Cost
from stockopt.report.run import Run


def shown_cost(run: Run) -> Cost:
    """Return the plan's cost with the money spent now as the purchase orders add up to it.

    The plan weighs unrounded money; its orders are rounded to the cent on each line.
    """
    spent = float(run.orders.total)
    return replace(run.plan.cost, spend_now=spent, total=spent + run.plan.cost.expected_later)
