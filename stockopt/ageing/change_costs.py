"""What changing a piece costs, planned or after a failure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from stockopt.fleet.fleet import Fleet


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeCosts:
    """Costs of one change, in the plan's currency.

    Parameters
    ----------
    planned
        In port, before the piece fails: price and fitting.
    failing
        After a failure, with the spare aboard: price, fitting, failure cost, and the days lost.
    """

    planned: float
    failing: float


def list_change_costs(fleet: Fleet, positions: pd.DataFrame) -> dict[str, ChangeCosts]:
    """Return the costs of changing a piece of each part that has a price.

    Parameters
    ----------
    fleet
        Its tables.
    positions
        Where each part is fitted, with its consequence there: a lost day costs the mean, over the
        positions, of the boat's day cost times the consequence's share. A part fitted nowhere is
        taken to be fitted once on every boat, with its usual consequence.

    Returns
    -------
    dict
        By part. The price is the usual one, else the cheapest quote, before freight and duty.
    """
    day_cost = dict(zip(fleet.boats["boat"], fleet.boats["day_cost"], strict=True))
    lost_days: dict[str, list[float]] = {}
    for boat, part, consequence in zip(
        *(positions[name] for name in ("boat", "part", "consequence")), strict=True
    ):
        lost = day_cost[boat] * fleet.settings.share(consequence)
        lost_days.setdefault(part, []).append(lost)
    any_day = float(np.mean(list(day_cost.values()))) if day_cost else 0.0
    quotes = _cheapest_quotes(fleet)
    costs = {}
    columns = ["part", "price", "fitting_cost", "failure_cost", "days_to_fix", "consequence"]
    for part, price, fitting, failure, days, consequence in fleet.parts[columns].itertuples(
        index=False, name=None
    ):
        price = quotes.get(part, np.nan) if np.isnan(price) else price
        if np.isnan(price):
            continue
        days = fleet.settings.days_to_fix if np.isnan(days) else days
        lost = lost_days.get(part)
        day = np.mean(lost) if lost else any_day * fleet.settings.share(consequence)
        planned = float(price + fitting)
        costs[part] = ChangeCosts(planned=planned, failing=float(planned + failure + day * days))
    return costs


def _cheapest_quotes(fleet: Fleet) -> dict[str, float]:
    """Return the cheapest price of one piece that any source asks, in the plan's currency."""
    rates = {"": 1.0, **fleet.settings.rates, fleet.settings.currency: 1.0}
    currency = dict(zip(fleet.sources["source"], fleet.sources["currency"], strict=True))
    cheapest: dict[str, float] = {}
    for source, part, price, pack in zip(
        *(fleet.prices[name] for name in ("source", "part", "price", "pack")), strict=True
    ):
        rate = rates.get(currency.get(source, ""))
        if rate is not None:
            cheapest[part] = min(price / pack * rate, cheapest.get(part, np.inf))
    return cheapest
