"""How long an order takes: its usual days and its late days as a few weighted points."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Floats = NDArray[np.float64]

#: The orders are put in classes by how late they are, finer where few are: edges, as shares.
_EDGES: Floats = np.array([0.0, 0.25, 0.6, 0.9, 0.98, 1.0])


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadTime:
    """Days from order to hand: `days` (P,), rising, each with its chance `weight` (P,)."""

    days: Floats
    weight: Floats

    @property
    def mean(self) -> float:
        """Mean days."""
        return float(self.weight @ self.days)


def spread_lead_time(lead_days: float, late_days: float) -> LeadTime:
    """Return the days an order takes, as classes by how late it is, each at its mean.

    Parameters
    ----------
    lead_days
        Usual days: half the orders take longer.
    late_days
        Days that 1 order in 10 exceeds; below `lead_days` it counts as `lead_days`.

    Returns
    -------
    LeadTime
        One point where late is not later than usual; else five.

    Notes
    -----
    Lognormal with median `lead_days` and 90 % point `late_days`: never below nothing, skewed to
    the late side, and fixed by the two numbers that people know. Usual days of nothing leave no
    such law; then the delay is exponential with its 90 % point at `late_days`. Which law delays
    follow is common practice, no source. The mean of a class between shares p and q of a lognormal
    of median m and spread s is m exp(s^2/2) (Phi(z_q - s) - Phi(z_p - s)) / (q - p); of an
    exponential, from the integral of -log(1 - p).

    Examples
    --------
    >>> spread_lead_time(8.0, 8.0).days.tolist()
    [8.0]
    >>> round(spread_lead_time(8.0, 13.0).mean, 2)
    8.6
    """
    late = max(lead_days, late_days)
    if late == lead_days:
        return LeadTime(days=np.array([float(lead_days)]), weight=np.ones(1))
    weight = np.diff(_EDGES)
    if lead_days > 0.0:
        spread = math.log(late / lead_days) / float(ndtri(0.9))
        below = ndtr(ndtri(_EDGES) - spread)
        mean = lead_days * math.exp(spread**2 / 2.0) * np.diff(below) / weight
    else:
        left = 1.0 - _EDGES
        beyond = left * (1.0 - np.log(np.where(left > 0.0, left, 1.0)))
        mean = late / math.log(10.0) * -np.diff(beyond) / weight
    return LeadTime(days=np.asarray(mean, dtype=np.float64), weight=weight)
