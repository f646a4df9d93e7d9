"""Each part's posterior on a grid that fits it: shapes down, mean lives given the shape across."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.given_shape import GivenShape, mean_life_given_shape
from stockopt.ageing.likelihood import Records
from stockopt.ageing.prior import Priors
from stockopt.ageing.quantiles import Mixture, mixture_of, quantile

Floats = NDArray[np.float64]

# Over 66 cases from no record to 10,000 lives, against a grid of 400 by 400: medians within 4e-4 of
# their value, ends of the intervals within 2e-3 (5e-3 where many pieces failed at one same age).

#: Shapes, and mean lives for each shape, on the final grid.
SHAPES, LIVES = 24, 24

#: How far below the peak the log density is where the grid ends: as a normal is at 5.5 standard
#: deviations, beyond which lies a chance of 4e-8.
FALL = 15.0

#: Tails left out of an interval of 90 %.
LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95

#: Parts worked out together: few enough for their grids to stay in the processor's cache.
_PARTS_AT_ONCE = 256

_SEARCHED = 16  # shapes looked at in each search of the window
_ENOUGH = 8  # of which this many within the fall show the window's form well enough
_MOST_SEARCHES = 60
#: No log shape farther from 0 is looked at: no part wears so, beyond it sums are rounding alone,
#: and while centres and spreads are being looked for a spread can be many times too wide.
_FARTHEST = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """The posterior of P parts.

    Parameters
    ----------
    log_shape
        Evenly spaced values of log b for each part, (P, SHAPES).
    weight
        Chance of each, adding to 1, (P, SHAPES).
    given
        The density of log mean life at each of them.
    offset
        Points from the mode of that density, evenly spaced, (P, SHAPES, LIVES).
    height
        The density at these points, its peak being 1, (P, SHAPES, LIVES).
    """

    log_shape: Floats
    weight: Floats
    given: GivenShape
    offset: Floats
    height: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """Medians and 90 % equal-tailed intervals of P parts, each of shape (P,)."""

    shape: Floats
    shape_low: Floats
    shape_high: Floats
    scale: Floats
    mean_life: Floats
    mean_life_low: Floats
    mean_life_high: Floats


def blocks(parts: int) -> list[slice]:
    """Return slices of so many parts, each few enough to be worked out together."""
    return [slice(first, first + _PARTS_AT_ONCE) for first in range(0, parts, _PARTS_AT_ONCE)]


def find_posterior(records: Records, priors: Priors) -> Posterior:
    """Return the posterior on a grid that spans 5.5 standard deviations either way.

    The integrals over the grid are trapezoid sums over densities that vanish at both ends: their
    error falls faster than any power of the spacing.
    """
    low, high = _window(records, priors)
    log_shape = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, SHAPES)
    given = mean_life_given_shape(records, priors, log_shape)
    left, right = given.reach(FALL)
    offset = -left[..., None] + (left + right)[..., None] * np.linspace(0.0, 1.0, LIVES)
    height = np.exp(-given.fall(offset))
    step = (left + right) / (LIVES - 1.0)
    weight = np.exp(given.log_peak - given.log_peak.max(axis=1, keepdims=True))
    weight *= step * height.sum(axis=-1)
    weight /= weight.sum(axis=1, keepdims=True)
    return Posterior(log_shape=log_shape, weight=weight, given=given, offset=offset, height=height)


def _window(records: Records, priors: Priors) -> tuple[Floats, Floats]:
    """Return for each part the log shapes between which its posterior lies.

    Looks at a few shapes, keeps those within the fall, and looks again closer, or farther out
    where the posterior goes on beyond the edge, until enough of the shapes looked at are kept.
    """
    reach = np.sqrt(2.0 * FALL) * priors.log_shape_spread
    low = np.clip(priors.log_shape - reach, -_FARTHEST, _FARTHEST - 1.0)
    high = np.clip(priors.log_shape + reach, 1.0 - _FARTHEST, _FARTHEST)
    open_ = np.ones(len(low), dtype=bool)
    for _ in range(_MOST_SEARCHES):
        low[open_], high[open_], settled = _narrow(
            records.of(open_), priors.of(open_), low[open_], high[open_]
        )
        open_[open_] = ~settled
        if not open_.any():
            break
    return low, high


def _narrow(
    records: Records, priors: Priors, low: Floats, high: Floats
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Return a better window for each part, and whether it will do."""
    log_shape = low[:, None] + (high - low)[:, None] * np.linspace(0.0, 1.0, _SEARCHED)
    given = mean_life_given_shape(records, priors, log_shape)
    density = given.log_peak + np.log(given.width)
    kept = density >= density.max(axis=1, keepdims=True) - FALL
    first = kept.argmax(axis=1)
    last = _SEARCHED - 1 - kept[:, ::-1].argmax(axis=1)
    peak = density.argmax(axis=1)
    span = high - low
    step = span / (_SEARCHED - 1)
    below = np.where(peak == 0, span, step)
    above = np.where(peak == _SEARCHED - 1, span, step)
    settled = (first > 0) & (last < _SEARCHED - 1) & (last - first >= _ENOUGH - 1)
    low, high = low + first * step - below, low + last * step + above
    return np.maximum(low, -_FARTHEST), np.minimum(high, _FARTHEST), settled


def summarise(posterior: Posterior) -> Summary:
    """Return the medians and intervals of shape, scale and mean life."""
    given = posterior.given
    step = posterior.offset[..., 1] - posterior.offset[..., 0]
    slope = -given.fall_slope(posterior.offset) * posterior.height
    life = mixture_of(
        posterior.weight, given.mode + posterior.offset[..., 0], step, posterior.height, slope
    )
    scale = Mixture(
        weight=life.weight,
        start=life.start - given.scale_shift,
        step=life.step,
        chance=life.chance,
        density=life.density,
    )
    shape = _shapes(posterior)
    return Summary(
        shape=np.exp(quantile(shape, MIDDLE)),
        shape_low=np.exp(quantile(shape, LOW)),
        shape_high=np.exp(quantile(shape, HIGH)),
        scale=np.exp(quantile(scale, MIDDLE)),
        mean_life=np.exp(quantile(life, MIDDLE)),
        mean_life_low=np.exp(quantile(life, LOW)),
        mean_life_high=np.exp(quantile(life, HIGH)),
    )


def _shapes(posterior: Posterior) -> Mixture:
    """Return the distribution of log shape alone, as a mixture of one."""
    step = posterior.log_shape[:, 1:2] - posterior.log_shape[:, :1]
    slope = np.gradient(posterior.weight, axis=1) / step
    return mixture_of(
        np.ones_like(step),
        posterior.log_shape[:, :1],
        step,
        posterior.weight[:, None, :],
        slope[:, None, :],
    )
