"""Means and variances of a posterior."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.posterior import Posterior

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """Means and variances of log mean life and log shape, each of shape (P,)."""

    life: Floats
    life_variance: Floats
    shape: Floats
    shape_variance: Floats


def find_moments(posterior: Posterior) -> Moments:
    """Return the moments of the posterior of P parts."""
    height, offset = posterior.height, posterior.offset
    mass = height.sum(axis=-1)
    shift = (height * offset).sum(axis=-1) / mass
    within = (height * offset**2).sum(axis=-1) / mass - shift**2
    life, life_variance = _mix(posterior.weight, posterior.given.mode + shift)
    shape, shape_variance = _mix(posterior.weight, posterior.log_shape)
    return Moments(
        life=life,
        life_variance=life_variance + (posterior.weight * within).sum(axis=1),
        shape=shape,
        shape_variance=shape_variance,
    )


def _mix(weight: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Return mean and variance of the values under weights that add to 1, both (P, n)."""
    mean = (weight * values).sum(axis=1)
    return mean, (weight * (values - mean[:, None]) ** 2).sum(axis=1)
