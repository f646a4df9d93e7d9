"""Everything weighed anew for a boat that departs later: what is in time, and what she needs."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from stockopt.ageing.ageing import Ageing
from stockopt.choices.choices import Choices
from stockopt.choices.settled import Settled
from stockopt.choices.weigh import weigh_choices
from stockopt.demand.forecast import forecast_demand
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.suppose import suppose
from stockopt.fleet.what_if import Wanted, WhatIf
from stockopt.lives.lives import Lives
from stockopt.sourcing import Offers


def weigh_later(
    fleet: Fleet,
    ageing: Ageing,
    lives: Lives,
    offers: Offers,
    what_if: WhatIf,
    boat: str,
    days: int,
) -> Callable[[Settled], Choices]:
    """Forecast demand with all legs of one boat so many days later, as --departs moves them.

    Parameters
    ----------
    fleet, ageing, lives, offers, what_if
        As everything was weighed before, with what was supposed then.
    boat, days
        Who departs how much later than in `fleet`.

    Returns
    -------
    callable
        Gives the choices from what was told before.

    Raises
    ------
    CommandError
        She cannot: she has left the fleet by then.
    """
    first = fleet.legs.loc[fleet.legs["boat"].eq(boat), "departs_on"].min()
    day = first.date() + timedelta(days=days)
    _, later = suppose(Wanted(departs=((boat, day),)), fleet)
    demand = forecast_demand(ageing, lives, later)
    return lambda settled: weigh_choices(demand, offers, lives, later, what_if, settled)
