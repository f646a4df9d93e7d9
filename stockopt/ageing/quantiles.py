"""Quantiles of mixtures of densities known on evenly spaced points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_MOST_STEPS = 60
_CLOSE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixture:
    """For each of P parts a mixture of n distributions, each tabled at k even points.

    Parameters
    ----------
    weight
        Weights that add to 1 for each part, (P, n).
    start, step
        First point and spacing, (P, n).
    chance
        Distribution function at the points, (P, n, k), from 0 to 1.
    density
        Density at the points, (P, n, k).
    """

    weight: Floats
    start: Floats
    step: Floats
    chance: Floats
    density: Floats


def mixture_of(
    weight: Floats, start: Floats, step: Floats, height: Floats, slope: Floats
) -> Mixture:
    """Return the mixture of the densities whose heights and slopes, to any factor, are given.

    Cells are integrated by the trapezoid rule with its end correction, so that the error falls
    with the fourth power of the step. *Source*: Euler-Maclaurin; Abramowitz & Stegun (1964),
    25.4.7, from memory.
    """
    width = step[..., None]
    cells = width / 2.0 * (height[..., :-1] + height[..., 1:])
    cells += width**2 / 12.0 * (slope[..., :-1] - slope[..., 1:])
    chance = np.zeros_like(height)
    np.cumsum(np.maximum(cells, 0.0), axis=-1, out=chance[..., 1:])
    total = chance[..., -1:].copy()
    chance /= total
    return Mixture(weight=weight, start=start, step=step, chance=chance, density=height / total)


def quantile(mixture: Mixture, level: float) -> Floats:
    """Return where each part's distribution function reaches `level`, shape (P,).

    Newton's steps, halving the bracket wherever one would leave it.
    """
    points = mixture.chance.shape[-1]
    low = mixture.start.min(axis=1)
    high = (mixture.start + mixture.step * (points - 1)).max(axis=1)
    middle = _near(mixture, level)
    for _ in range(_MOST_STEPS):
        chance, density = _chance_at(mixture, middle)
        above = chance - level
        low = np.where(above < 0.0, middle, low)
        high = np.where(above < 0.0, high, middle)
        if (np.abs(above) < _CLOSE).all():
            break
        with np.errstate(divide="ignore", invalid="ignore"):
            newton = middle - above / density
        inside = (newton >= low) & (newton <= high)
        middle = np.where(inside, newton, (low + high) / 2.0)
    return middle


def _near(mixture: Mixture, level: float) -> Floats:
    """Return a point to begin from: the mean of the single distributions' own quantiles."""
    cell = (mixture.chance < level).sum(axis=-1)
    return np.asarray((mixture.weight * (mixture.start + cell * mixture.step)).sum(axis=1))


def _chance_at(mixture: Mixture, value: Floats) -> tuple[Floats, Floats]:
    """Return the distribution function and the density of each part at its value, (P,).

    Within a cell the distribution function is the cubic with the right heights and densities at
    both ends (Hermite).
    """
    points = mixture.chance.shape[-1]
    place = np.clip((value[:, None] - mixture.start) / mixture.step, 0.0, points - 1.0)
    cell = np.minimum(place.astype(np.int64), points - 2)
    share = place - cell
    flat = cell + points * np.arange(cell.size).reshape(cell.shape)
    chance, density = mixture.chance.ravel(), mixture.density.ravel()
    rise0, rise1 = density[flat] * mixture.step, density[flat + 1] * mixture.step
    base = chance[flat]
    climb = chance[flat + 1] - base
    quadratic = 3.0 * climb - 2.0 * rise0 - rise1
    cubic = rise0 + rise1 - 2.0 * climb
    value_at = base + share * (rise0 + share * (quadratic + share * cubic))
    slope_at = (rise0 + share * (2.0 * quadratic + share * 3.0 * cubic)) / mixture.step
    slope_at = np.where((place > 0.0) & (place < points - 1.0), slope_at, 0.0)
    return (mixture.weight * value_at).sum(axis=1), (mixture.weight * slope_at).sum(axis=1)
