"""A law of times put on the cells of a lattice, keeping its mass and its mean in each cell."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.demand.first_failure import FirstLaw
from stockopt.demand.weibull import Floats

#: Panels of the first cell, each a quarter of the next, with Gauss-Legendre points in each: a
#: failure density can be infinite at the origin, or fall away there within a small part of a cell.
_PANEL_EDGES = np.concatenate([[0.0], 0.25 ** np.arange(7, -1, -1)])
_GAUSS_POINTS, _GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(3)
_GRADED_POINTS = (
    _PANEL_EDGES[:-1, None] + np.diff(_PANEL_EDGES)[:, None] * (_GAUSS_POINTS + 1.0) / 2.0
).ravel()
_GRADED_WEIGHTS = (np.diff(_PANEL_EDGES)[:, None] * _GAUSS_WEIGHTS / 2.0).ravel()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Mass in each cell, split over the cell's two ends so that its mean is kept.

    A function known at the lattice points is integrated against it as lower x value at the
    cell's lower end + upper x value at its upper end, which is exact where the function is linear
    in the cell.

    Parameters
    ----------
    lower, upper
        (..., L): the shares of the mass put on the lower and on the upper end of each cell.
    """

    lower: Floats
    upper: Floats

    @property
    def mass(self) -> Floats:
        """(..., L): mass of each cell."""
        return self.lower + self.upper

    @property
    def points(self) -> Floats:
        """(..., L + 1): mass on each lattice point."""
        points = np.zeros((*self.lower.shape[:-1], self.lower.shape[-1] + 1))
        points[..., :-1] = self.lower
        points[..., 1:] += self.upper
        return points

    def coarsen(self) -> Cells:
        """Return the same law on cells twice as wide; the number of cells is even."""
        low, high = self.mass[..., ::2], self.mass[..., 1::2]
        upper = (self.upper[..., ::2] + high + self.upper[..., 1::2]) / 2.0
        return Cells(lower=low + high - upper, upper=upper)


def put_on_lattice(law: FirstLaw, start: float, step: float, count: int) -> Cells:
    """Return a law on `count` cells of width `step`, the first of which begins at `start` <= 0.

    The law has no mass before 0. A change on schedule within a cell divides it.

    Returns
    -------
    Cells
        (J, P, L).
    """
    edges = start + step * np.arange(count + 1)
    origin = int(np.argmax(edges[1:] > 1e-9 * step))
    edges = np.maximum(edges, 0.0)[None, :]
    if math.isinf(law.lives.change_at):
        at_edges, average = _average(law, edges, np.array([origin]))
        average *= np.diff(edges) / step
    else:
        bends = law.bends(edges[:, :-1], edges[:, 1:])
        points = np.empty((len(bends), 2 * count + 1))
        points[:, ::2], points[:, 1::2] = edges, bends
        at_edges, average = _average(law, points, np.array([2 * origin, 2 * origin + 1]))
        average *= np.diff(points) / step
        at_edges, average = at_edges[..., ::2], average[..., ::2] + average[..., 1::2]
    average += 1.0 - np.diff(edges) / step
    return Cells(lower=at_edges[..., :-1] - average, upper=average - at_edges[..., 1:])


def put_between(law: FirstLaw, edges: Floats, low: Floats, high: Floats) -> Cells:
    """Return the part of a law between two times, on windows of cells.

    Parameters
    ----------
    law
        Of P positions.
    edges
        (S, n + 1): edges of the n cells of each of S windows.
    low, high
        (P, S): only what happens from `low` until `high` counts; no change in between.

    Returns
    -------
    Cells
        (J, P, S, n).
    """
    windows, points = edges.shape
    step = edges[0, 1] - edges[0, 0]
    cut = np.clip(edges, low[..., None], np.maximum(high, low)[..., None])
    # Windows follow each other in one row; what lies between two of them is passed over.
    begins_at_departure = np.flatnonzero(edges[:, 0] == 0.0) * points
    at_cut, average = _average(law, cut.reshape(len(cut), -1), begins_at_departure)
    at_cut = at_cut.reshape(len(at_cut), len(cut), windows, points)
    average = np.concatenate([average, average[..., -1:]], axis=-1).reshape(at_cut.shape)[..., :-1]
    mass = at_cut[..., :-1] - at_cut[..., 1:]
    ahead = (cut[..., :-1] - edges[:, :-1]) / step
    upper = mass * ahead + np.diff(cut) / step * (average - at_cut[..., 1:])
    return Cells(lower=mass - upper, upper=upper)


def _average(law: FirstLaw, points: Floats, graded: NDArray[np.int64]) -> tuple[Floats, Floats]:
    """Return the survival at points, and its average between each and the next.

    The average is Simpson's; in the intervals `graded`, by Gauss-Legendre on panels that get finer
    towards the beginning of the interval.

    Parameters
    ----------
    points
        (P or 1, n + 1): times, increasing along the last axis.

    Returns
    -------
    tuple
        (J, P, n + 1) and (J, P, n).
    """
    begin, width = points[:, :-1], np.diff(points)
    finer = begin[:, graded, None] + width[:, graded, None] * _GRADED_POINTS
    count = points.shape[1]
    times = [points, begin + width / 2.0, finer.reshape(len(points), -1)]
    survival = law.survival(np.concatenate(times, axis=1))
    at_points, middles = survival[..., :count], survival[..., count : 2 * count - 1]
    average = (at_points[..., :-1] + 4.0 * middles + at_points[..., 1:]) / 6.0
    panels = survival[..., 2 * count - 1 :]
    panels = panels.reshape(*panels.shape[:2], len(graded), len(_GRADED_POINTS))
    average[..., graded] = panels @ _GRADED_WEIGHTS
    return at_points, average
