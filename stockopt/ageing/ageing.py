"""What is known about each part's life, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.errors import Note

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Nodes:
    """A part's posterior as a few weighted points, for mixing probabilities over.

    Parameters
    ----------
    shape, scale, weight
        Each of shape (n,): Weibull shape b, scale e on the part's clock, and weights that add
        to 1.
    """

    shape: Floats
    scale: Floats
    weight: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAgeing:
    """One part's life, from its records and its prior. Intervals are 90 %.

    Parameters
    ----------
    part, clock
        Which part; hours or days.
    failures, exposure
        All failures, and all part-hours (or part-days) watched.
    rate_per_1000, rate_low, rate_high
        Failures per 1,000 on the clock as if the rate were constant, with the exact chi-square
        interval; `rate_per_1000` is None when nothing was watched, `rate_high` then too.
    shape, shape_low, shape_high, scale, mean_life, mean_life_low, mean_life_high
        Posterior medians and equal-tailed intervals.
    ml_shape, ml_scale
        Maximum likelihood, where at least 3 failures of known age; else None.
    prior_only
        True when no life of known age was watched, so that the prior alone speaks.
    prior
        The prior in words.
    nodes
        The posterior for mixing.
    """

    part: str
    clock: str
    failures: int
    exposure: float
    rate_per_1000: float | None
    rate_low: float | None
    rate_high: float | None
    shape: float
    shape_low: float
    shape_high: float
    scale: float
    mean_life: float
    mean_life_low: float
    mean_life_high: float
    ml_shape: float | None
    ml_scale: float | None
    prior_only: bool
    prior: str
    nodes: Nodes


@dataclass(frozen=True, slots=True, kw_only=True)
class Ageing:
    """How every part of the fleet's `parts` table ages (current numbers only)."""

    parts: Mapping[str, PartAgeing]
    notes: tuple[Note, ...]
