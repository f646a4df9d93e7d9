"""What is still to be filled in before there is anything to plan."""

from __future__ import annotations

from collections.abc import Mapping

from stockopt.errors import Problem
from stockopt.fleet.fleet import Fleet

_ROWS: Mapping[str, str] = {
    "boats": "list the boats of the fleet, one row for each boat",
    "machines": "list what parts are fitted to, one row for each machine of each boat",
    "parts": "list the parts of the fleet, one row for each part number",
    "fitted": "list which parts each model of machine holds",
}


def find_unfilled(fleet: Fleet) -> tuple[Problem, ...]:
    """Return what a plan needs and the tables do not hold yet: all of it at once.

    Tables may be checked before they are full; an empty plan would look like an answer.

    Parameters
    ----------
    fleet
        Checked tables.

    Returns
    -------
    tuple of Problem
        Empty where a plan can be tried.
    """
    found = [
        Problem(table=table, expected=f"has no row: {what}")
        for table, what in _ROWS.items()
        if getattr(fleet, table).empty
    ]
    if fleet.legs.empty:
        day = fleet.settings.planned_on
        expected = (
            f"no leg departs on {day}, the day of the plan, or later: add the legs to come, or "
            "set planned_on"
        )
        found.append(Problem(table="legs", column="departs_on", expected=expected))
    return tuple(found)
