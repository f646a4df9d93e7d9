"""One line of dead stock."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class DeadStock:
    """Pieces of one part at one place that nothing is likely to need.

    Parameters
    ----------
    place, part, name
        Which.
    pieces
        How many.
    money
        What they would cost at the usual price, in the plan's currency.
    why
        In words.
    """

    place: str
    part: str
    name: str
    pieces: int
    money: float
    why: str
