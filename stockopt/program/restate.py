"""A plan told again with what it settles itself: what boats draw, and what stores have for them."""

from __future__ import annotations

from collections.abc import Sequence
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
        as they were. Where making spares up on the way now beats not doing so, or the other way
        round, with the same pieces, that is done. None where a choice is not among those weighed
        again for another reason, as something else beats it.
    """
    before = {(part.boat, part.part): part for part in choices.parts}
    after = {(part.boat, part.part): part for part in again.parts}
    picked: list[Picked] = []
    change = 0.0
    for pick in solution.picked:
        old = before[pick.boat, pick.part].choices[pick.choice]
        there = after[pick.boat, pick.part].choices
        place = _find_same(old, there)
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


def _find_same(old: Choice, there: Sequence[Choice]) -> int | None:
    """Find the choice that does the same; else that with the same pieces, made up otherwise."""
    deeds = _list_deeds(old)
    for i, choice in enumerate(there):
        if (choice.restock, *_list_deeds(choice)) == (old.restock, *deeds):
            return i
    for i, choice in enumerate(there):
        if _list_deeds(choice) == deeds and choice.shortage_chance <= old.shortage_chance:
            return i
    return None


def _list_deeds(choice: Choice) -> tuple[object, ...]:
    """List what is done with pieces before she leaves or meets them, whatever it costs."""
    return (choice.carry, choice.replace_now, choice.own_left, choice.ahead, choice.ahead_at)
