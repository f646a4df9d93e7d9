"""How likely a piece now fitted is to fail before long."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc, gammaln

from stockopt.ageing.ageing import Nodes

Floats = NDArray[np.float64]


def chance_of_failing(
    nodes: Nodes, age: float, span: float, *, age_known: bool = True, factor: float = 1.0
) -> float:
    """Return the chance that a piece left in its place fails within a span.

    Parameters
    ----------
    nodes
        The part's posterior.
    age
        Of the piece; where that is not known, the age that it has at least. On the part's clock.
    span
        How far ahead, on the part's clock.
    age_known
        False where `age` is only a least one. Older ages then count as their survival S: the age
        of a piece in a place seen at a moment that has nothing to do with its changes has the
        density S(a) / mean life (Cox 1962, Renewal Theory, chapter 5; from memory).
    factor
        How many times the hazard of the boat exceeds the part's.

    Returns
    -------
    float
        Mixed over the nodes: known, 1 - S(age + span) / S(age); else 1 less the integral of S
        from age + span on over the one from age on.
    """
    now, later = (
        factor * (np.maximum(at, 0.0) / nodes.scale) ** nodes.shape for at in (age, age + span)
    )
    if age_known:
        failing = -np.expm1(now - later)
    else:
        order = 1.0 / nodes.shape
        failing = -np.expm1(_log_upper_gamma(order, later) - _log_upper_gamma(order, now))
    return float(np.clip(nodes.weight @ failing, 0.0, 1.0))


def _log_upper_gamma(order: Floats, at: Floats) -> Floats:
    """Return the log of the upper incomplete gamma function.

    The integral of S from an age of hazard H on is scale / shape x Gamma(1 / shape, H). Where it
    is too small for a number, by the first terms of its asymptotic series (NIST Digital Library of
    Mathematical Functions, 8.11.2; from memory).
    """
    share = gammaincc(order, at)
    small = share < 1e-290
    far = np.where(small, at, 1e3)
    series = (order - 1.0) * np.log(far) - far + np.log1p((order - 1.0) / far)
    return np.where(small, series, np.log(np.where(small, 1.0, share)) + gammaln(order))
