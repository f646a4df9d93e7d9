"""What is asked of a rehearsal."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a plan is to be rehearsed.

    Parameters
    ----------
    seasons, seed
        How many seasons, and what they are drawn by.
    rules
        Whether rules of thumb are played on the same seasons.
    stress
        Whether worse circumstances are played, and planned for.
    """

    seasons: int
    seed: int
    rules: bool = True
    stress: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFile:
    """A plan made before: what its JSON holds, and the file as the person knows it."""

    label: str
    keys: object
