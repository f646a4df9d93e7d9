"""The posterior of a part's mean life, given its Weibull shape: closed but for one integral.

Let b be the shape, z the log of the mean life m, r the failures, A = sum(x^b - u^b), and z normal
with mean c and standard deviation s before the records are read. The scale is
log e = z - log Gamma(1 + 1/b), so that, b given, the log density of z is

    -r b z - A Gamma(1 + 1/b)^b exp(-b z) - (z - c)^2 / 2 s^2 + constant,

which is concave. Setting its slope to zero gives q exp(q) = a known number for q = b^2 s^2 G, where
G is the failures to be expected at the mode: the mode is an omega function. Around it the log
density falls by

    G (exp(-b t) - 1 + b t) + t^2 / 2 s^2,    t = z - mode,

so that G, b and s say all there is to say of the density's form. *Source*: own derivation,
checked in the tests against plain numerical integration.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, wrightomega

from stockopt.ageing.likelihood import Records, power_sums
from stockopt.ageing.prior import Priors, log_belief_in_shape

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenShape:
    """The density of the log mean life z of P parts, each at n shapes. Arrays are (P, n).

    Parameters
    ----------
    shape
        Weibull shape b.
    scale_shift
        log Gamma(1 + 1/b): what log scale lies below log mean life.
    mode
        Where the density of z is greatest.
    failures
        Failures G to be expected of the running watched, at the mode.
    spread
        Prior standard deviation s of z.
    log_peak
        Log of prior times likelihood at the mode, but for a constant of the part.
    """

    shape: Floats
    scale_shift: Floats
    mode: Floats
    failures: Floats
    spread: Floats
    log_peak: Floats

    def picked(self, row: NDArray[np.int64]) -> GivenShape:
        """Return a density for every entry of `row`, which counts part by part, shape by shape."""
        return GivenShape(
            shape=self.shape.ravel()[row],
            scale_shift=self.scale_shift.ravel()[row],
            mode=self.mode.ravel()[row],
            failures=self.failures.ravel()[row],
            spread=self.spread.ravel()[row],
            log_peak=self.log_peak.ravel()[row],
        )

    @property
    def width(self) -> Floats:
        """Standard deviation of the normal that fits the density at its mode."""
        return (self.failures * self.shape**2 + self.spread**-2.0) ** -0.5

    def fall(self, offset: Floats) -> Floats:
        """Return how far the log density lies below its peak, for offsets (P, n, k) from it.

        Of picked densities the offsets are (rows, k).
        """
        turn = self.shape[..., None] * offset
        bend = np.exp(-turn)
        bend += turn
        bend -= 1.0
        bend *= self.failures[..., None]
        bend += 0.5 * (offset / self.spread[..., None]) ** 2
        return bend

    def fall_slope(self, offset: Floats) -> Floats:
        """Return the derivative of :meth:`fall` by the offset."""
        rate = (self.failures * self.shape)[..., None]
        # Not expm1, four times as slow: near the mode the slope of the prior stands beside it.
        slope = rate - rate * np.exp(-self.shape[..., None] * offset)
        slope += offset / self.spread[..., None] ** 2
        return slope

    def reach(self, fall: float | Floats) -> tuple[Floats, Floats]:
        """Return how far to go either side of the mode for the log density to fall by `fall`.

        Both are bounds from outside, at most about 1.4 times the true distance: the records alone
        and the prior alone would each reach the fall there.
        """
        with np.errstate(divide="ignore"):
            each = fall / self.failures
        with np.errstate(invalid="ignore"):
            left = np.log1p(each + np.sqrt(2.0 * each)) / self.shape
            right = (each + np.sqrt(each * (each + 8.0))) / 2.0 / self.shape
        prior = np.sqrt(2.0 * fall) * self.spread
        return np.minimum(left, prior), np.minimum(right, prior)


def mean_life_given_shape(records: Records, priors: Priors, log_shape: Floats) -> GivenShape:
    """Work out the density of log mean life at the log shapes given, (P, n)."""
    shape = np.exp(log_shape)
    centre, spread = priors.log_life[:, None], priors.log_life_spread[:, None]
    failures, unit = records.failures[:, None], records.log_unit[:, None]
    shift = gammaln(1.0 + 1.0 / shape)

    with np.errstate(divide="ignore"):
        log_area = np.log(np.maximum(power_sums(records, shape), 0.0))
    log_area += shape * (shift + unit)
    stiffness = (shape * spread) ** 2
    omega = wrightomega(np.log(stiffness) + log_area - shape * centre + failures * stiffness)
    mode = centre - failures * shape * spread**2 + omega / shape
    expected = omega / stiffness

    log_peak = (
        log_belief_in_shape(priors, log_shape)
        + failures * (log_shape - shape * (mode - shift - unit))
        + (shape - 1.0) * records.log_age_sum[:, None]
        - expected
        - 0.5 * ((mode - centre) / spread) ** 2
    )
    return GivenShape(
        shape=shape,
        scale_shift=shift,
        mode=mode,
        failures=expected,
        spread=np.broadcast_to(spread, shape.shape),
        log_peak=log_peak,
    )
