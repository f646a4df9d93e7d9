"""The Weibull life of new pieces, for all nodes of a part at once.

Survival S(x) = exp(-H(x)) with cumulative hazard H(x) = (x / scale)^shape. A piece changed at a
fixed age c, whatever its state, lives min(T, c).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gamma, gammaincc

Floats = NDArray[np.float64]

#: From this hazard on the asymptotic series of the upper incomplete gamma function is used; its
#: smallest term is below 1e-12 there.
_SERIES_FROM = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WeibullLives:
    """The life of a new piece, given each of J nodes.

    Parameters
    ----------
    shape, scale
        (J,): Weibull shape b and scale e, the scale on the part's clock.
    change_at
        Age c at which a piece is changed whatever its state; infinite for never.
    """

    shape: Floats
    scale: Floats
    change_at: float = math.inf

    def __getitem__(self, chosen: NDArray[np.int64]) -> WeibullLives:
        """Return the lives at the chosen nodes."""
        return WeibullLives(
            shape=self.shape[chosen], scale=self.scale[chosen], change_at=self.change_at
        )

    def hazard(self, age: Floats) -> Floats:
        """Return the cumulative hazard H at each age: (J, *age.shape)."""
        nodes = (slice(None),) + (None,) * np.ndim(age)
        log_age = np.log(np.maximum(age, 1e-300))
        exponent = self.shape[nodes] * (log_age - np.log(self.scale)[nodes])
        return np.asarray(np.exp(np.minimum(exponent, 600.0)))

    @property
    def survives(self) -> Floats:
        """(J,): chance that a piece reaches `change_at`."""
        if math.isinf(self.change_at):
            return np.zeros_like(self.shape)
        return np.asarray(np.exp(-self.hazard(np.array(self.change_at))))

    @property
    def mean(self) -> Floats:
        """(J,): mean of min(T, c)."""
        return self.residual(np.zeros(1))[:, 0]

    def residual(self, age: Floats) -> Floats:
        """Return the expected time to failure or change at each known age: (J, *age.shape)."""
        tail = self._tail(self.hazard(age), 1.0)
        if math.isfinite(self.change_at):
            later = self.hazard(np.maximum(age, self.change_at))
            survives = np.exp(self.hazard(age) - later)
            tail = tail - survives * self._tail(later, 1.0)
        return np.maximum(tail, 0.0)

    def left_of_unknown(self, age_at_least: Floats, later: Floats) -> Floats:
        """Return the chance that a piece of unknown age lasts `later` and longer.

        The age has density S(a) over the ages from `age_at_least` to c (the equilibrium age of a
        renewal process seen at a moment that has nothing to do with it: Cox 1962, Renewal Theory,
        chapter 5; from memory), so the chance is the integral of S from age_at_least + later to c
        over the integral from age_at_least to c.

        Parameters
        ----------
        age_at_least, later
            (P,) and (P, T), on the part's clock; age_at_least below c.

        Returns
        -------
        Floats
            (J, P, T).
        """
        start = self.hazard(age_at_least)[..., None]
        end = self.hazard(np.minimum(age_at_least[:, None] + later, self.change_at))
        left = np.exp(start - end) * self._tail(end, 1.0)
        whole = self._tail(start, 1.0)
        if math.isfinite(self.change_at):
            last = self.hazard(np.full((1, 1), self.change_at))
            beyond = np.exp(np.minimum(start - last, 0.0)) * self._tail(last, 1.0)
            left, whole = left - beyond, whole - beyond
        return np.clip(left / whole, 0.0, 1.0)

    def residual_of_unknown(self, age_at_least: Floats) -> Floats:
        """Return the expected time to failure or change at unknown ages: (J, P).

        That is the integral of (y - x) S(y) from x to c over the integral of S, x being
        `age_at_least`.
        """
        start = self.hazard(age_at_least)
        first, second = self._tail(start, 1.0), self._tail(start, 2.0)
        if math.isfinite(self.change_at):
            last = self.hazard(np.array([self.change_at]))
            survives = np.exp(np.minimum(start - last, 0.0))
            first = first - survives * self._tail(last, 1.0)
            second = second - survives * self._tail(last, 2.0)
        return np.maximum(second / first - age_at_least, 0.0)

    def changes_of_unknown(self, age_at_least: Floats) -> Floats:
        """Return the rate at which pieces of unknown age first come to be changed at c: (J, P).

        It is S(c) over the integral of S from age_at_least to c, the same at every moment until
        c - age_at_least.
        """
        start = self.hazard(age_at_least)
        last = self.hazard(np.array([self.change_at]))
        survives = np.exp(np.minimum(start - last, 0.0))
        return survives / (self._tail(start, 1.0) - survives * self._tail(last, 1.0))

    def _tail(self, hazard: Floats, power: float) -> Floats:
        """Return the integral of y^(power - 1) S(y) from the age of that hazard on, over S there.

        With the upper incomplete gamma function it is scale^power / shape x
        Gamma(power / shape, H) exp(H).
        """
        nodes = (slice(None),) + (None,) * (hazard.ndim - 1)
        order = np.broadcast_to((power / self.shape)[nodes], hazard.shape)
        size = (self.scale**power / self.shape)[nodes]
        return size * _scaled_upper_gamma(order, hazard)


def _scaled_upper_gamma(order: Floats, at: Floats) -> Floats:
    """Return Gamma(order, at) exp(at) without overflow.

    For large arguments by the asymptotic series at^(s-1) (1 + (s-1)/at + (s-1)(s-2)/at^2 + ...):
    NIST Digital Library of Mathematical Functions, 8.11.2 (from memory).
    """
    near = np.minimum(at, _SERIES_FROM)
    exact = gammaincc(order, near) * gamma(order) * np.exp(near)
    far = np.maximum(at, _SERIES_FROM)
    term = far ** (order - 1.0)
    series = term.copy()
    for step in range(1, 20):
        term = term * (order - step) / far
        series += term
    return np.where(at > _SERIES_FROM, series, exact)
