"""A part's posterior as few weighted points over which probabilities can be mixed.

What will be mixed are chances of the kind exp(-(t/e)^b) and counts of pieces, steep functions of
both shape and scale. Two observations keep the points few:

* Given the shape, such a chance is smooth in log mean life z on the scale 1/b, and analytic in a
  strip of half width pi/2b: a trapezoid sum of spacing h errs by about exp(-pi^2/bh), and by
  2 exp(-2 pi^2 w^2/h^2) for the normal density of width w that multiplies it. *Source*: Trefethen
  & Weideman, SIAM Review 56 (2014), theorem 5.1, from memory.
* Averaged over z it is so much smoother in the shape that a Gauss rule of few rows will do, the
  fewer the less the records say of z.

A row of little weight may err the more, and so gets fewer points.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.ageing import Nodes
from stockopt.ageing.given_shape import GivenShape, mean_life_given_shape
from stockopt.ageing.likelihood import Records
from stockopt.ageing.posterior import Posterior
from stockopt.ageing.prior import Priors

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Chosen by measurement over 66 cases from no record to 10,000 lives. Against a fine grid, one
# piece's chance of lasting on, up to 3 mean lives ahead, comes out within 8e-5 from every age that
# the records reach (from every age up to 3 mean lives where there are none); in one case, 8
# failures at the very same age, within 1.1e-4. From ages far beyond the oldest piece ever seen it
# is 4e-4, in that one case 1.3e-3. Counts of up to 7 pieces in 3 mean lives: within 1e-4. That
# takes 120 points for a prior alone, 70 with 6 failures, 35 with 1,000, and 200 to 320 where the
# mean life is not known at all.

#: Error aimed at in a mixed probability, and weight that may be dropped in all.
_ERROR = 4e-5
#: Spacing within a row, as shares of those that the two error formulas allow.
_OF_DENSITY, _OF_CHANCE = 0.7, 0.5
#: Rows: at least the first, more by the second times how steep a chance is across shapes.
_ROWS_LEAST, _ROWS_BY_STEEPNESS, _ROWS_MOST = 3.0, 14.0, 20
#: Least log of (row weight / error): even a row of hardly any weight gets a few points.
_LEAST_WORTH = 2.0
#: A density that has fallen by the log of weight over error less this leaves a tail within it.
_TAIL = 1.5


def choose_nodes(posterior: Posterior, records: Records, priors: Priors) -> list[Nodes]:
    """Return the nodes of each part; arguments all of the same P parts, in order."""
    log_shape, row_weight = _rows(posterior)
    given = mean_life_given_shape(records, priors, log_shape)
    left, step, count = _points(given, row_weight)

    row = np.repeat(np.arange(count.size), count.ravel())
    first = np.cumsum(count.ravel()) - count.ravel()
    along = given.picked(row)
    offset = step.ravel()[row] * (np.arange(len(row)) - first[row]) - left.ravel()[row]
    height = np.exp(-along.fall(offset[:, None])[:, 0])
    total = np.bincount(row, weights=height, minlength=count.size)
    weight = height * row_weight.ravel()[row] / total[row]

    part = row // log_shape.shape[1]
    kept = weight > _ERROR / np.bincount(part)[part]
    part, weight = part[kept], weight[kept]
    weight /= np.bincount(part, weights=weight)[part]
    shape = along.shape[kept]
    scale = np.exp(along.mode + offset - along.scale_shift)[kept]
    ends = np.cumsum(np.bincount(part, minlength=len(log_shape)))[:-1]
    return [
        Nodes(shape=b, scale=e, weight=w)
        for b, e, w in zip(
            np.split(shape, ends), np.split(scale, ends), np.split(weight, ends), strict=True
        )
    ]


def _rows(posterior: Posterior) -> tuple[Floats, Floats]:
    """Return log shapes and their weights, (P, n): a Gauss rule, filled up with weights of 0."""
    grid, weight, given = posterior.log_shape, posterior.weight, posterior.given

    def mean(values: Floats) -> Floats:
        return np.asarray((weight * values).sum(axis=1, keepdims=True))

    middle = mean(grid)
    spread = np.sqrt(mean((grid - middle) ** 2))
    log_scale = given.mode - given.scale_shift
    # Along the ridge of the posterior the scale goes up or down with the shape.
    ridge = mean((log_scale - mean(log_scale)) * (grid - middle)) / spread**2
    smoothing = mean(given.width * given.shape)
    steepness = spread * (1.0 + np.exp(middle) * np.abs(ridge)) / np.sqrt(1.0 + smoothing**2)
    count = np.minimum(np.ceil(_ROWS_LEAST + _ROWS_BY_STEEPNESS * steepness), _ROWS_MOST)
    count = count[:, 0].astype(np.int64)

    log_shape = np.repeat(middle, count.max(), axis=1)
    row_weight = np.zeros_like(log_shape)
    for rows in np.unique(count):
        alike = count == rows
        log_shape[alike, :rows], row_weight[alike, :rows] = gauss_rule(
            grid[alike], weight[alike], int(rows)
        )
    return log_shape, row_weight


def _points(given: GivenShape, row_weight: Floats) -> tuple[Floats, Floats, Ints]:
    """Return for each row how far it begins left of its mode, its spacing and its points."""
    worth = np.maximum(np.log(np.maximum(row_weight, _ERROR) / _ERROR), _LEAST_WORTH)
    left, right = given.reach(np.maximum(worth - _TAIL, _LEAST_WORTH))
    by_density = _OF_DENSITY * np.pi * np.sqrt(2.0 / worth) * given.width
    by_chance = _OF_CHANCE * np.pi**2 / worth / given.shape
    intervals = np.ceil((left + right) / np.minimum(by_density, by_chance))
    # A row whose whole weight may be dropped needs no points.
    count = np.where(row_weight > _ERROR / 100.0, intervals + 1.0, 0.0)
    return left, (left + right) / intervals, count.astype(np.int64)


def gauss_rule(points: Floats, weight: Floats, count: int) -> tuple[Floats, Floats]:
    """Return the Gauss rule of P discrete distributions.

    Parameters
    ----------
    points, weight
        The distributions, (P, k); weights add to 1.
    count
        Points of the rule, n, fewer than k.

    Returns
    -------
    points, weight
        (P, n): right for every polynomial of degree up to 2n - 1.

    Notes
    -----
    The recurrence of the orthogonal polynomials by the Stieltjes procedure, then the eigenvalues
    of its matrix. *Source*: Golub & Welsch, Mathematics of Computation 23 (1969); Gautschi,
    Orthogonal Polynomials (2004), section 2.2, both from memory.
    """
    middle = (weight * points).sum(axis=1, keepdims=True)
    spread = np.sqrt((weight * (points - middle) ** 2).sum(axis=1, keepdims=True))
    place = (points - middle) / spread
    matrix = np.zeros((len(points), count, count))
    before, now = np.zeros_like(place), np.ones_like(place)
    link = np.zeros_like(middle)
    for row in range(count):
        centre = (weight * place * now**2).sum(axis=1, keepdims=True)
        matrix[:, row, row] = centre[:, 0]
        if row + 1 == count:
            break
        following = (place - centre) * now - link * before
        link = np.sqrt((weight * following**2).sum(axis=1, keepdims=True))
        matrix[:, row + 1, row] = link[:, 0]
        before, now = now, following / link
    values, vectors = np.linalg.eigh(matrix)
    return middle + spread * values, vectors[:, 0, :] ** 2
