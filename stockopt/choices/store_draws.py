"""Pieces that one boat is expected to draw from her store over the season."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stockopt.choices.excess import Floats, find_chance_beyond, find_expected_short
from stockopt.choices.settled import Taken
from stockopt.choices.shortage import find_reached
from stockopt.choices.store_spell import run_down
from stockopt.demand.demand import LIFE_CLASSES, PartDemand


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """What one boat draws.

    Parameters
    ----------
    by_class
        (len(LIFE_CLASSES),): pieces, by class of lives.
    waiting
        Pieces among them, on average, for which she waits as she has no spare aboard.
    """

    by_class: Floats
    waiting: float

    @property
    def pieces(self) -> float:
        """Pieces, on average."""
        return float(np.array(LIFE_CLASSES) @ self.by_class)


def find_draws(need: PartDemand, home_port: str, taken: Taken | None) -> Draws:
    """Return what one boat draws from the store of her home port.

    Parameters
    ----------
    need
        What she needs.
    home_port
        Where the store is.
    taken
        How she looks after the part; None before that is known: then she draws every piece used
        where the store can reach her or she comes home.

    Notes
    -----
    With restocking, spares used on a stretch that ends at home are made up there, but on her last.
    Pieces short come from the store where it can reach her; elsewhere she buys them. By class of
    lives, what is made up goes with the pieces needed; what is short as it does for pieces needed
    at random.
    """
    replaced = 0 if taken is None else min(taken.replace_now, len(need.whole) - 1)
    chances = need.by_stretch[replaced]
    pieces = np.arange(need.whole.shape[-1])
    needed = chances @ pieces
    by_class = _spread_need(need, replaced)
    if needed.sum() <= 0.0:
        return Draws(by_class=np.zeros(len(LIFE_CLASSES)), waiting=0.0)
    reached = find_reached(need.stretches)
    home = np.array([stretch.legs[-1].to_port == home_port for stretch in need.stretches])
    if taken is None:
        share = float(needed @ np.where(home, 1.0, reached)) / float(needed.sum())
        return Draws(by_class=by_class * share, waiting=0.0)
    if taken.restock:
        home[-1] = False
        short = find_expected_short(find_chance_beyond(chances))
        missing = short[:, min(taken.carry, short.shape[1] - 1)]
        waiting = float(missing @ reached)
        made_up = float((needed - missing) @ home) + waiting
        return Draws(by_class=by_class * made_up / float(needed.sum()), waiting=waiting)
    whole = find_expected_short(find_chance_beyond(need.whole[replaced]))
    share = float(needed @ reached) / float(needed.sum())
    waiting = float(whole[min(taken.carry, len(whole) - 1)]) * share
    beyond = run_down(by_class, np.ones_like(by_class), taken.carry + 1)[0][:, -1]
    total = float(np.array(LIFE_CLASSES) @ beyond)
    scaled = beyond * waiting / total if total > 0.0 else np.full_like(beyond, waiting)
    return Draws(by_class=scaled, waiting=waiting)


def _spread_need(need: PartDemand, replaced: int) -> Floats:
    """Return the pieces needed by class of lives, with so many pieces replaced before."""
    pieces = np.arange(need.whole.shape[-1])
    mean, before = float(need.whole[replaced] @ pieces), float(need.whole[0] @ pieces)
    if need.by_class is None or before <= 0.0:
        return np.full(len(LIFE_CLASSES), mean)
    return need.by_class * mean / before
