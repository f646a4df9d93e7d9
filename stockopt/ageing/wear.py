"""Wearing out or failing at random, asked of the records alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.given_shape import mean_life_given_shape
from stockopt.ageing.likelihood import Records
from stockopt.ageing.posterior import blocks
from stockopt.ageing.prior import SHAPE_PRIOR, Priors, log_belief_in_shape

Floats = NDArray[np.float64]

#: Failures below which nothing is said.
LEAST_FAILURES = 3

#: Shapes looked at, by failures: many failures make the likelihood narrow.
_SHAPES = ((0, 120, 40), (120, 2000, 160), (2000, 10**9, 640))
_LIVES = 14
_MOST_LOG_RATIO = 300.0  # beyond any doubt, and still a number
#: Standard deviations of the shape's belief, and of the log mean life, looked over either way.
_FAR = 4.5
_FALL = 0.5 * 5.0**2


def compare_wear(records: Records, priors: Priors) -> tuple[Floats, Floats]:
    """Return how many times likelier each part's records are with its shape free than with 1.

    Parameters
    ----------
    records, priors
        Of P parts; of the prior only that of the mean life is used.

    Returns
    -------
    ratio
        Marginal likelihood with log shape normal as for a part of which nothing is said (centre
        1.5), over that with shape 1, a constant rate; (P,).
    log_shape
        Posterior mean of log shape in the first case, (P,). Both NaN with fewer than 3 failures.

    Notes
    -----
    The mean life is integrated over, whatever the shape. *Source*: Jeffreys, Theory of Probability
    (1961), chapter 5; Kass & Raftery, JASA 90 (1995) 773-795; both from memory.
    """
    ratio = np.full(len(records.failures), np.nan)
    log_shape = ratio.copy()
    for least, most, shapes in _SHAPES:
        least = max(least, LEAST_FAILURES)
        chosen = np.flatnonzero((records.failures >= least) & (records.failures < most))
        for block in blocks(len(chosen)):
            marked = np.zeros(len(ratio), dtype=bool)
            marked[chosen[block]] = True
            ratio[marked], log_shape[marked] = _compare(
                records.of(marked), priors.of(marked), shapes
            )
    return ratio, log_shape


def _compare(records: Records, priors: Priors, shapes: int) -> tuple[Floats, Floats]:
    centre, spread = np.log(SHAPE_PRIOR[""][0]), SHAPE_PRIOR[""][1]
    neutral = replace(
        priors,
        log_shape=np.full_like(priors.log_shape, centre),
        log_shape_spread=np.full_like(priors.log_shape_spread, spread),
    )
    looked = centre + spread * np.linspace(-_FAR, _FAR, shapes)
    log_shape = np.broadcast_to(np.append(looked, 0.0), (len(priors.log_shape), shapes + 1))
    log_likelihood = _integrate_lives(records, neutral, log_shape)
    belief = log_belief_in_shape(neutral, log_shape[:, :-1])
    log_weight = belief + log_likelihood[:, :-1]
    greatest = log_weight.max(axis=1, keepdims=True)
    weight = np.exp(log_weight - greatest)
    total = weight.sum(axis=1)
    log_ratio = np.log(total) + greatest[:, 0] - log_likelihood[:, -1]
    log_ratio -= np.log(np.exp(belief).sum(axis=1))
    ratio = np.exp(np.minimum(log_ratio, _MOST_LOG_RATIO))
    return ratio, np.asarray((weight * log_shape[:, :-1]).sum(axis=1) / total)


def _integrate_lives(records: Records, priors: Priors, log_shape: Floats) -> Floats:
    """Return each shape's log likelihood, the mean life integrated over, but for a constant."""
    given = mean_life_given_shape(records, priors, log_shape)
    left, right = given.reach(_FALL)
    step = (left + right) / (_LIVES - 1.0)
    offset = -left[..., None] + step[..., None] * np.arange(_LIVES)
    mass = np.exp(-given.fall(offset)).sum(axis=-1) * step
    return np.asarray(given.log_peak - log_belief_in_shape(priors, log_shape) + np.log(mass))
