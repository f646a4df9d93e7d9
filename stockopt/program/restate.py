"""A plan told again with what it settles itself: what boats draw, and what stores have for them."""

from __future__ import annotations

from dataclasses import replace

from stockopt.choices.choices import Choice, Choices
from stockopt.program.solution import Picked, Solution


def restate(solution: Solution, choices: Choices, again: Choices) -> Solution | None:
    """Return the same plan with the costs of choices weighed again.

    Parameters
    ----------
    solution, choices
        The plan, and what it was chosen from, weighed with what the plan before told.
    again
        The same choices weighed with what this plan tells.

    Returns
    -------
    Solution or None
        Same pieces from the same places; what it costs later is that of the choices weighed again,
        and the bound moves with it, so that it lies as far below as was proven for the choices
        as they were. None where a choice is not among those weighed again, as something
        beats it now.
    """
    before = {(part.boat, part.part): part for part in choices.parts}
    after = {(part.boat, part.part): part for part in again.parts}
    picked: list[Picked] = []
    change = 0.0
    for pick in solution.picked:
        old = before[pick.boat, pick.part].choices[pick.choice]
        there = after[pick.boat, pick.part].choices
        place = next((i for i, choice in enumerate(there) if _is_same(old, choice)), None)
        if place is None:
            return None
        picked.append(replace(pick, choice=place))
        change += there[place].later_cost - old.later_cost
    objective, bound = solution.objective + change, solution.bound + change
    return replace(
        solution,
        picked=tuple(picked),
        objective=objective,
        bound=bound,
        gap=(objective - bound) / max(1.0, abs(objective)),
    )


def _is_same(one: Choice, other: Choice) -> bool:
    """Return whether two choices do the same, whatever they cost."""
    return _list_deeds(one) == _list_deeds(other)


def _list_deeds(choice: Choice) -> tuple[object, ...]:
    return (
        choice.carry,
        choice.replace_now,
        choice.restock,
        choice.own_left,
        choice.ahead,
        choice.ahead_at,
    )
