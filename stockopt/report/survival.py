"""Survival curves of one part: from its lives alone, and as fitted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtr

from stockopt.ageing.ageing import Nodes, PartAgeing

Floats = NDArray[np.float64]

#: The band leaves out so much on either side.
TAIL = 0.05
#: The curves go on to so many mean lives where no piece was watched so long.
MEAN_LIVES = 1.5
#: Width of the kernel that smooths the nodes, in standard deviations of what they stand for.
KERNEL = 0.35
#: Survivals among which those of the band are looked for, closest near 0 and 1.
_LEVELS = ndtr(np.linspace(-4.0, 4.0, 241))
#: Gauss-Hermite points and weights for one standard normal.
_POINTS, _WEIGHTS = np.sqrt([3.0, 0.0, 3.0]) * [-1.0, 0.0, 1.0], np.array([1.0, 4.0, 1.0]) / 6.0
_TINY = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """The survival curve of lives alone: it falls at each age of failure.

    Parameters
    ----------
    age
        (n,): ages of failure, ascending.
    survival
        (n,): share of pieces that last beyond each.
    """

    age: Floats
    survival: Floats

    def at(self, age: Floats) -> Floats:
        """Return the survival at any age."""
        values = np.concatenate([[1.0], self.survival])
        return values[np.searchsorted(self.age, age, side="right")]


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedCurve:
    """The fitted survival at some ages: its mean over the posterior, and its 90 % band.

    Each of shape (n,).
    """

    age: Floats
    survival: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Curves:
    """Both curves of one part, and the ages at which pieces left that had not failed."""

    steps: Steps
    fitted: FittedCurve
    unfailed: Floats


def draw_curves(part: PartAgeing, lives: pd.DataFrame, points: int) -> Curves:
    """Return the curves of one part from age 0 to the end of what is worth showing.

    Parameters
    ----------
    part
        The part, for a boat of factor 1.
    lives
        Its rows of the lives table; those of unknown age say nothing about age and are left out.
    points
        Number of ages at which the fitted curve is told.
    """
    known = lives[lives["age_known"].astype(bool)]
    entered, left = (known[name].to_numpy(dtype=np.float64) for name in ("entered", "left"))
    failed = known["failed"].to_numpy(dtype=bool)
    last = max(MEAN_LIVES * part.mean_life, float(left.max(initial=0.0)))
    return Curves(
        steps=kaplan_meier(entered, left, failed),
        fitted=fitted_curve(part.nodes, np.linspace(0.0, last, points)),
        unfailed=np.sort(left[~failed]),
    )


def kaplan_meier(entered: Floats, left: Floats, failed: NDArray[np.bool_]) -> Steps:
    """Return the survival curve of lives of which some began to be watched late.

    At each age of failure the curve falls by the share that failed of those watched then: those
    that entered before that age and left at it or later. The product-limit estimator of Kaplan and
    Meier (1958), for late entry as in Klein and Moeschberger (2003), Survival Analysis, section
    4.6 (from memory). A piece that left at the age of another's failure still counts as watched.

    Parameters
    ----------
    entered, left, failed
        (n,): ages at which each piece came under watch and left it, and whether it had failed.
    """
    age, failures = np.unique(left[failed], return_counts=True)
    watched = ((entered < age[:, None]) & (left >= age[:, None])).sum(axis=1)
    # A piece fitted dead fails at the very age at which its watch begins, and was watched.
    watched = np.maximum(watched, failures)
    return Steps(age=age, survival=np.cumprod(1.0 - failures / watched))


def fitted_curve(nodes: Nodes, age: Floats) -> FittedCurve:
    """Return the fitted survival at ages (n,): mean and equal-tailed 90 % band.

    The mean is over the nodes themselves. They are too few for a smooth band, which is over a
    normal kernel put on each in log shape and log scale, all of them drawn towards their mean so
    that the variances stay what they are (West 1993, Approximating posterior distributions by
    mixtures, section 2; from memory).
    """
    survival = np.exp(-((age[:, None] / nodes.scale) ** nodes.shape)) @ nodes.weight
    smooth = _smooth(nodes)
    band = np.array([_quantiles(smooth, float(at)) for at in age])
    return FittedCurve(age=age, survival=survival, low=band[:, 0], high=band[:, 1])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Smooth:
    """A posterior as a mixture over shapes, log scale normal with one spread given the shape."""

    shape: Floats
    log_scale: Floats
    spread: float
    weight: Floats


def _smooth(nodes: Nodes) -> _Smooth:
    log_shape, log_scale = np.log(nodes.shape), np.log(nodes.scale)
    means = [float(nodes.weight @ values) for values in (log_shape, log_scale)]
    across, along = log_shape - means[0], log_scale - means[1]
    variance = float(nodes.weight @ across**2) + _TINY
    slope = float(nodes.weight @ (across * along)) / variance
    rest = float(nodes.weight @ (along - slope * across) ** 2) + _TINY
    nearer = np.sqrt(1.0 - KERNEL**2)
    steps = KERNEL * np.sqrt(variance) * _POINTS
    return _Smooth(
        shape=np.exp(means[0] + nearer * across[:, None] + steps).ravel(),
        log_scale=(means[1] + nearer * along[:, None] + slope * steps).ravel(),
        spread=KERNEL * float(np.sqrt(rest)),
        weight=(nodes.weight[:, None] * _WEIGHTS).ravel(),
    )


def _quantiles(smooth: _Smooth, age: float) -> Floats:
    """Return the ends of the band at one age: the chance of no more than each survival, inverted.

    Survival is at most s where the log scale is at most log(age) - log(-log s) / shape.
    """
    if age <= 0.0:
        return np.ones(2)
    log_hazard = np.log(-np.log(_LEVELS))
    most = np.log(age) - log_hazard / smooth.shape[:, None]
    chance = smooth.weight @ ndtr((most - smooth.log_scale[:, None]) / smooth.spread)
    return np.interp((TAIL, 1.0 - TAIL), chance, _LEVELS)
