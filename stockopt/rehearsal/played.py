"""A policy played through every season: what each boat, part and season cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from stockopt.rehearsal.calendar import Bools, Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSeen:
    """One part on one boat: mean and standard error over the seasons.

    `cost` is what the plan calls the line's later cost; `chance` that of any shortage; `dearest` is
    about the most that one piece short costs. Of a line that `expires` some spares do under way.
    """

    boat: str
    part: str
    need: tuple[float, float]
    short: tuple[float, float]
    chance: tuple[float, float]
    cost: tuple[float, float]
    dearest: float
    expires: bool = False


@dataclass(slots=True, kw_only=True)
class Tally:
    """What a policy came to; boats and parts in the order given, R seasons.

    Parameters
    ----------
    boats, parts
        Names.
    failing, short, restock, used_up
        (B, R): money for failures even with the spare aboard, for pieces short and the days lost
        to them, for pieces restocked, and worth of spares and lives used up.
    fitting
        Money for changes before departure, over all seasons the same, (B, R).
    need, missing
        (B, R): pieces needed, and short.
    stopped
        (B, R): whether any part that stops her was short.
    part_money, part_need, part_missing
        (K, R): money but for what is used up, pieces needed, pieces short, over all boats.
    stores, tied_up
        (R,): what stores pay for pieces and orders, less what their boats pay them; worth used up
        of what is on their shelves, and the cost of the money in it.
    ordered
        By store and source: in which weeks of each season an order was placed, (R, weeks).
    lines
        One for each boat and part.
    """

    boats: tuple[str, ...]
    parts: tuple[str, ...]
    failing: Floats
    short: Floats
    restock: Floats
    used_up: Floats
    fitting: Floats
    need: Floats
    missing: Floats
    stopped: Bools
    part_money: Floats
    part_need: Floats
    part_missing: Floats
    stores: Floats
    tied_up: Floats
    ordered: dict[tuple[str, str], Bools] = field(default_factory=dict)
    lines: list[LineSeen] = field(default_factory=list)

    def money(self) -> Floats:
        """Return what each boat pays after departure, and for changes before it: (B, R)."""
        return self.failing + self.short + self.restock + self.fitting

    def ready(self) -> Bools:
        """Return in which seasons no boat was stopped for want of a part: (R,)."""
        return np.asarray(~self.stopped.any(axis=0))

    def later(self) -> Floats:
        """Return what all boats cost later, what is used up counted: (R,)."""
        boats = (self.money() + self.used_up).sum(axis=0)
        return np.asarray(boats + self.stores + self.tied_up)


def start_tally(boats: Sequence[str], parts: Sequence[str], seasons: int) -> Tally:
    """Return an empty tally."""
    by_boat, by_part = (len(boats), seasons), (len(parts), seasons)
    return Tally(
        boats=tuple(boats),
        parts=tuple(parts),
        failing=np.zeros(by_boat),
        short=np.zeros(by_boat),
        restock=np.zeros(by_boat),
        used_up=np.zeros(by_boat),
        fitting=np.zeros(by_boat),
        need=np.zeros(by_boat),
        missing=np.zeros(by_boat),
        stopped=np.zeros(by_boat, dtype=bool),
        part_money=np.zeros(by_part, dtype=np.float32),
        part_need=np.zeros(by_part, dtype=np.float32),
        part_missing=np.zeros(by_part, dtype=np.float32),
        stores=np.zeros(seasons),
        tied_up=np.zeros(seasons),
    )
