"""How fast a place uses up one part: pieces needed until any day, with what is not known of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, gammainc

from stockopt.ageing.ageing import Ageing
from stockopt.demand.demand import PartDemand
from stockopt.demand.stretches import Voyage
from stockopt.demand.weibull import WeibullLives
from stockopt.units import Clock

Floats = NDArray[np.float64]

#: A variance this near the mean, as a share of it, counts as a Poisson number's.
_NEAR = 1e-3
#: Least variance, as a share of the mean.
_LEAST = 0.002


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedPiece:
    """One position of a boat: its machine and clock, and its age there, at least, at departure."""

    boat: str
    machine: str
    clock: Clock
    age: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Pieces of one part that one place needs.

    Parameters
    ----------
    days
        (D,): days from the day of the plan, rising.
    share
        (D,): share of the whole season's need that falls until then, from 0 to 1.
    need, weight
        (J,): expected need of the whole season where the part's life is as at each node, and the
        node's weight.
    dispersion
        (D,): variance of the number needed until then over its mean, the life being given.
    """

    days: Floats
    share: Floats
    need: Floats
    weight: Floats
    dispersion: Floats

    def drawn(self, pieces: float) -> Use:
        """Return the use with so many pieces expected over the season, spread alike.

        Each piece needed is taken to be drawn by itself or not: that leaves a share p of the
        numbers, whose variance over mean is 1 + p (what it was - 1).
        """
        share = pieces / float(self.weight @ self.need)
        dispersion = 1.0 + min(share, 1.0) * (self.dispersion - 1.0)
        return replace(self, need=self.need * share, dispersion=dispersion)

    def chance(self, pieces: int) -> Floats:
        """Return the chance that at least so many are needed until each day, (D,).

        Given the life the number needed is taken as binomial, Poisson or negative binomial,
        whichever has its mean and its variance; that is then mixed over what is not known of the
        life, which all boats share.
        """
        if pieces <= 0:
            return np.ones_like(self.days)
        mean = self.share[:, None] * self.need
        chance = chance_of_at_least(pieces, mean, self.dispersion[:, None]) @ self.weight
        return np.asarray(np.maximum.accumulate(chance))


def chance_of_at_least(pieces: int, mean: Floats, dispersion: Floats) -> Floats:
    """Return P(N >= pieces) for N with a mean and a variance of dispersion x mean, above 0.

    Notes
    -----
    Binomial of n = mean / (1 - dispersion) trials, which need not be whole, for a dispersion below
    1: I_p(k, n - k + 1); negative binomial for one above: I_1-q(k, r), r = mean / (dispersion - 1);
    Poisson: the lower incomplete gamma function P(k, mean). Source: Johnson, Kemp & Kotz,
    Univariate Discrete Distributions (2005), chapters 3 to 5 (from memory).

    Examples
    --------
    >>> chance_of_at_least(1, np.array([1.0]), np.array([1.0])).round(6).tolist()  # 1 - exp(-1)
    [0.632121]
    >>> chance_of_at_least(2, np.array([1.0]), np.array([0.5])).round(6).tolist()  # 2 trials of 1/2
    [0.25]
    """
    mean, dispersion = np.broadcast_arrays(np.maximum(mean, 1e-12), dispersion)
    chance = np.asarray(gammainc(pieces, mean))
    over, under = dispersion > 1.0 + _NEAR, dispersion < 1.0 - _NEAR
    excess = dispersion[over] - 1.0
    chance[over] = betainc(pieces, mean[over] / excess, excess / dispersion[over])
    trials = mean[under] / (1.0 - dispersion[under])
    others = trials - pieces + 1.0
    chance[under] = np.where(
        others > 0.0, betainc(pieces, np.maximum(others, 1e-9), 1.0 - dispersion[under]), 0.0
    )
    return chance


def find_use(
    needs: Iterable[tuple[PartDemand, int]],
    pieces: Iterable[FittedPiece],
    ageing: Ageing,
    voyages: Mapping[str, Voyage],
    change_at: float,
    planned_on: date,
) -> Use | None:
    """Return how fast a place uses up one part; None where it needs none.

    Parameters
    ----------
    needs
        Of each boat of the place, with the pieces replaced before she leaves.
    pieces
        Fitted on those boats, those replaced before left out.
    ageing
        What is known of the part's life.
    voyages
        By boat, for how long her machines run.
    change_at
        Age at which a piece is changed whatever its state; infinite for never.
    planned_on
        Day 0.
    """
    some = list(needs)
    part = some[0][0].part
    spread = _spread(some, planned_on)
    whole = float(spread.mean[-1])
    if whole <= 0.0:
        return None
    rough: dict[str, Floats] = {}
    for piece in pieces if part in ageing.parts else ():
        nodes = ageing.parts[part].nodes.on_boat(ageing.boat_factors.get(piece.boat, 1.0))
        lives = WeibullLives(shape=nodes.shape, scale=nodes.scale, change_at=change_at)
        ran = float(sum(voyages[piece.boat].running(piece.machine, piece.clock)))
        need = _rough_need(lives, piece.age, ran)
        rough[piece.boat] = rough.get(piece.boat, np.zeros_like(need)) + need
    if not rough:
        return Use(
            days=spread.days,
            share=spread.mean / whole,
            need=np.array([whole]),
            weight=np.ones(1),
            dispersion=_disperse(spread, 0.0),
        )
    weight = ageing.parts[part].nodes.weight
    together = np.sum(list(rough.values()), axis=0)
    return Use(
        days=spread.days,
        share=spread.mean / whole,
        need=together * (whole / float(weight @ together)),
        weight=weight,
        dispersion=_disperse(spread, _shared_doubt(some, rough, weight)),
    )


def _shared_doubt(
    needs: list[tuple[PartDemand, int]], rough: Mapping[str, Floats], weight: Floats
) -> float:
    """Return what the doubt about the life adds to the boats' own variances; the nodes tell it."""
    doubt = 0.0
    for need, replaced in needs:
        alone = rough.get(need.boat)
        if alone is None:
            continue
        mean = float(weight @ alone)
        expected = float(need.whole[replaced] @ np.arange(need.whole.shape[-1]))
        if mean > 0.0:
            doubt += expected**2 * (float(weight @ alone**2) / mean**2 - 1.0)
    return doubt


def _disperse(spread: _Spread, doubt: float) -> Floats:
    """Return variance over mean until each day, without what doubt about the life adds."""
    share = spread.mean / spread.mean[-1]
    variance = np.maximum(spread.variance - doubt * share**2, _LEAST * spread.mean)
    dispersion: Floats = np.ones_like(share)
    np.divide(variance, spread.mean, out=dispersion, where=spread.mean > 0.0)
    return dispersion


def _rough_need(lives: WeibullLives, age: float, running: float) -> Floats:
    """Return about how many pieces one position needs while it runs, at each node.

    The first need is exact; those after it are counted from half way. Only how the number differs
    from node to node is taken from here: its mean is known better.
    """
    first = _fails(lives, age, running)
    later: Floats = np.maximum(_fails(lives, 0.0, running / 2), running / 2 / lives.mean - 0.4)
    needs: Floats = first * (1.0 + later)
    return needs


def _fails(lives: WeibullLives, age: float, running: float) -> Floats:
    if age + running >= lives.change_at:
        return np.ones_like(lives.shape)
    ages = np.array([age, age + running])
    hazard = lives.hazard(ages)
    return np.asarray(-np.expm1(hazard[:, 0] - hazard[:, 1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spread:
    """(D,): days from the plan; mean and variance of the pieces needed until then."""

    days: Floats
    mean: Floats
    variance: Floats


def _spread(needs: list[tuple[PartDemand, int]], planned_on: date) -> _Spread:
    """Return the need as it grows over the days.

    The expected need of a stretch falls on its legs by their running, evenly over each leg. So
    does its variance, put right in proportion where that of the whole plan is known.
    """
    spans: list[tuple[float, float, float, float]] = []
    for need, replaced in needs:
        by_stretch = [_moments(chance) for chance in need.by_stretch[replaced]]
        apart = sum(variance for _, variance in by_stretch)
        right = _moments(need.whole[replaced])[1] / apart if apart > 0.0 else 0.0
        for stretch, (mean, variance) in zip(need.stretches, by_stretch, strict=True):
            for leg, share in zip(stretch.legs, stretch.leg_shares, strict=True):
                begin = float((leg.departs_on - planned_on).days)
                spans.append((begin, begin + leg.days, mean * share, right * variance * share))
    begins, ends, means, variances = (np.array(column) for column in zip(*spans, strict=True))
    days = np.unique(np.concatenate([begins, ends]))
    passed = np.clip((days[:, None] - begins) / (ends - begins), 0.0, 1.0)
    return _Spread(days=days, mean=passed @ means, variance=passed @ variances)


def _moments(chance: Floats) -> tuple[float, float]:
    """Return the mean and the variance of a number with these chances of 0, 1, 2 ..."""
    pieces = np.arange(chance.shape[-1])
    mean = float(chance @ pieces)
    return mean, max(float(chance @ pieces**2) - mean**2, 0.0)
