"""What is left and what is lost on a shelf that nothing is delivered to for some days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, xlogy

Floats = NDArray[np.float64]

#: Taken for a part never asked for, a day.
_LEAST_RATE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell:
    """Some days without a delivery, from i = 0 .. n - 1 pieces.

    `arrive` (..., i, j): chance that j are left; `lost`, `area` (..., i): expected pieces lost,
    and pieces on the shelf times days.
    """

    arrive: Floats
    lost: Floats
    area: Floats

    @classmethod
    def of(cls, rate: Floats, days: Floats, levels: int) -> Spell:
        """Return it for `rate` a day, in the shape of `days`."""
        chance = find_chances(np.maximum(rate, _LEAST_RATE) * days, levels)
        pieces = np.arange(levels)
        asked = np.maximum(pieces[:, None] - pieces, 0)
        arrive = np.where(pieces[:, None] >= pieces, chance[..., asked], 0.0)
        arrive[..., 0] = find_at_least(chance)[..., :levels]
        lost, _, area = run_down(rate, days, levels)
        return cls(arrive=arrive, lost=lost, area=area)


def run_down(rate: Floats, days: Floats, levels: int) -> tuple[Floats, Floats, Floats]:
    """Return expected pieces lost, pieces left, and pieces on the shelf times days: (..., levels).

    Parameters
    ----------
    rate, days
        Pieces asked for a day, and days without a delivery, in one shape.
    levels
        From 0 .. levels - 1 pieces.
    """
    rate = np.maximum(rate, _LEAST_RATE)
    mean = rate * days
    at_least = find_at_least(find_chances(mean, levels + 1))
    none = np.zeros((*mean.shape, 1))
    beyond = np.concatenate([none, np.cumsum(at_least[..., 1:levels], axis=-1)], axis=-1)
    lost = np.maximum(mean[..., None] - beyond, 0.0)
    # Days until piece j is gone, no longer than the spell, summed over the pieces.
    order = np.arange(1, levels)
    until = order / rate[..., None] * at_least[..., 2 : levels + 1]
    until += days[..., None] * (1.0 - at_least[..., 1:levels])
    area = np.concatenate([none, np.cumsum(until, axis=-1)], axis=-1)
    return lost, np.arange(levels) - beyond, area


def find_chances(mean: Floats, count: int) -> Floats:
    """Return the Poisson chances of 0 .. count - 1, along a new last axis."""
    pieces = np.arange(count)
    mean = mean[..., None]
    return np.asarray(np.exp(xlogy(pieces, mean) - mean - gammaln(pieces + 1.0)))


def find_at_least(chance: Floats) -> Floats:
    """Return the chances of 0, 1 .. n or more, from those of 0 .. n - 1."""
    below = np.cumsum(chance, axis=-1)
    zero = np.zeros((*chance.shape[:-1], 1))
    return np.maximum(1.0 - np.concatenate([zero, below], axis=-1), 0.0)
