"""How two plans for the same choices differ, in words."""

from __future__ import annotations

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.program.solution import Solution

#: Most differences told.
MOST = 4


def list_changes(before: Solution, after: Solution, choices: Choices) -> tuple[str, ...]:
    """List what the second plan carries or replaces otherwise, the most money first."""
    parts = {(part.boat, part.part): part for part in choices.parts}
    taken = {(pick.boat, pick.part): pick.choice for pick in before.picked}
    found = []
    for pick in after.picked:
        part = parts[pick.boat, pick.part]
        old, new = part.choices[taken[pick.boat, pick.part]], part.choices[pick.choice]
        if words := _tell(part, old, new):
            found.append((-abs(old.later_cost - new.later_cost), pick.boat, pick.part, words))
    told = [words for *_, words in sorted(found)[:MOST]]
    if len(found) > MOST:
        told.append(f"and {len(found) - MOST} more")
    return tuple(told)


def _tell(part: BoatPart, old: Choice, new: Choice) -> str:
    """Tell one difference; nothing where there is none to see."""
    words = []
    if new.carry != old.carry:
        words.append(f"carry {new.carry}, not {old.carry}")
    if new.replace_now != old.replace_now:
        words.append(f"replace {new.replace_now} now, not {old.replace_now}")
    return f"{part.boat}, {part.name} ({part.part}): {', '.join(words)}" if words else ""
