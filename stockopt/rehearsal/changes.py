"""Which lines of a plan a plan for other circumstances would have otherwise."""

from __future__ import annotations

from collections.abc import Mapping

from stockopt.plan import Plan
from stockopt.rehearsal.policy import Policy, Stowed
from stockopt.rehearsal.rehearsal import LineChanged

_NOTHING = Stowed(carry=0, replace_now=0, restock=False, on_hand=0)


def list_changes(plan: Plan, before: Policy, after: Policy) -> tuple[LineChanged, ...]:
    """Return the lines that differ in what is carried, changed, made up or bought where.

    Those that differ only in where they are bought come last.

    Parameters
    ----------
    plan
        For the names of parts.
    before, after
        The plan as it stands, and the one made for the other circumstances.
    """
    names = {line.part: line.name for line in plan.carry}
    changed = []
    for boat, part in sorted({*before.stowed, *after.stowed}):
        old, new = _tell(before.stowed, (boat, part)), _tell(after.stowed, (boat, part))
        if old != new:
            changed.append(
                LineChanged(boat=boat, part=part, name=names.get(part, part), before=old, after=new)
            )
    return tuple(sorted(changed, key=lambda line: line.only_source))


def _tell(
    stowed: Mapping[tuple[str, str], Stowed], key: tuple[str, str]
) -> tuple[int, int, bool, str]:
    line = stowed.get(key, _NOTHING)
    sources = ", ".join(sorted({source for source, _ in line.awaited}))
    return line.carry, line.replace_now, line.restock, sources
