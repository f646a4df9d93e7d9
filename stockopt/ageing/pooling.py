"""What the parts of a group have in common, learnt from all their lives (empirical Bayes).

Each part's log mean life is told from its default prior's centre in units of that prior's spread,
and its log shape likewise. In a group these places are normal: with a centre that the group shares
and a spread from part to part. Centre and spread are those under which the lives of the whole group
are likeliest, the parts' own lives integrated over, times a belief that keeps small groups sane:
half of the default prior's variance is ascribed to what the group shares and half to the part, so
that the belief of a part in a group without any life is its default prior again. In numbers, the
centre is normal with mean 0 and variance 1/2, and the variance from part to part scaled inverse
chi-square about 1/2 with the weight of 4 parts (common practice, no source).

The maximum is found by expectation-maximisation: the marginal likelihood rises with every step.
*Source*: Dempster, Laird & Rubin, JRSS B 39 (1977) 1-38; steps taken farther along their own path
by Varadhan & Roland, Scand. J. Statist. 35 (2008) 335-353, scheme S3; both from memory. The doubt
about the centre is added to the spread, as by Kass & Steffey, JASA 84 (1989) 717-726, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from stockopt.ageing.likelihood import Records
from stockopt.ageing.moments import Moments, find_moments
from stockopt.ageing.posterior import blocks, find_posterior
from stockopt.ageing.prior import Priors

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Of the default prior's variance, the share that a group's parts have in common.
SHARED = 0.5
#: Parts' worth of belief in the default spread from part to part.
WORTH = 4.0

_MOST_ROUNDS = 60
_CLOSE = 1e-4
_FARTHEST = 8.0  # times a step


@dataclass(frozen=True, slots=True, kw_only=True)
class Pools:
    """What each of G groups shares, in units of its parts' default priors; arrays (G,).

    Parameters
    ----------
    life, shape
        Centres of log mean life and log shape.
    life_variance, shape_variance
        From part to part.
    life_doubt, shape_doubt
        Variance of the doubt about the centres.
    """

    life: Floats
    life_variance: Floats
    shape: Floats
    shape_variance: Floats
    life_doubt: Floats
    shape_doubt: Floats


def pool_groups(records: Records, priors: Priors, group: Ints, count: int) -> Pools:
    """Return what the parts of each group share.

    Parameters
    ----------
    records, priors
        Of P parts: what their lives say, and their default priors.
    group
        Group of each part from 0 to `count` - 1, shape (P,).
    count
        Number of groups, G.
    """
    state = np.zeros((4, count))
    state[1] = state[3] = np.log(1.0 - SHARED)
    open_ = np.ones(count, dtype=bool)
    for _ in range(_MOST_ROUNDS):
        own = _Group.of(records, priors, group, open_)
        before = state[:, open_]
        first = own.step(before)
        second = own.step(first)
        state[:, open_] = own.step(_leap(before, first, second))
        open_[open_] = np.abs(second - first).max(axis=0) > _CLOSE
        if not open_.any():
            break
    every = _Group.of(records, priors, group, np.ones(count, dtype=bool))
    return every.tell(state)


def _leap(before: Floats, first: Floats, second: Floats) -> Floats:
    """Go on along the path of two steps as far as their shrinking says, group by group."""
    stride, bend = first - before, (second - first) - (first - before)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.linalg.norm(stride, axis=0) / np.linalg.norm(bend, axis=0)
    far = np.clip(np.nan_to_num(far, nan=1.0), 1.0, _FARTHEST)
    return np.asarray(before + 2.0 * far * stride + far**2 * bend)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Some groups' parts side by side.

    A state is (4, G): centre and log variance from part to part, of log mean life and then of log
    shape, in units of the default priors.
    """

    records: Records
    priors: Priors
    group: Ints
    size: Floats

    @classmethod
    def of(cls, records: Records, priors: Priors, group: Ints, chosen: NDArray[np.bool_]) -> _Group:
        """Return the groups marked in `chosen`, (G,), numbered anew."""
        parts = chosen[group]
        number = (np.cumsum(chosen) - 1)[group[parts]]
        return cls(
            records=records.of(parts),
            priors=priors.of(parts),
            group=number,
            size=np.bincount(number, minlength=int(chosen.sum())).astype(np.float64),
        )

    def step(self, state: Floats) -> Floats:
        """Return the state that is likeliest given the parts' posteriors under the one given."""
        moments = self.moments(state)
        following = np.empty_like(state)
        for row, mean, variance in (
            (0, moments.life, moments.life_variance),
            (2, moments.shape, moments.shape_variance),
        ):
            precision = np.exp(-state[row + 1])
            centre = self.sum(mean) * precision / (self.size * precision + 1.0 / SHARED)
            apart = self.sum(variance + (mean - centre[self.group]) ** 2)
            following[row] = centre
            following[row + 1] = np.log((WORTH * (1.0 - SHARED) + apart) / (WORTH + self.size))
        return following

    def tell(self, state: Floats) -> Pools:
        """Return the groups' centres and variances, and the doubt about their centres."""
        moments = self.moments(state)
        life, shape = np.exp(state[1]), np.exp(state[3])
        return Pools(
            life=state[0],
            life_variance=life,
            life_doubt=self.doubt(moments.life_variance, life),
            shape=state[2],
            shape_variance=shape,
            shape_doubt=self.doubt(moments.shape_variance, shape),
        )

    def doubt(self, own: Floats, between: Floats) -> Floats:
        """Return the variance of the centre, each part a normal of variance `own`, (P,).

        What a part's lives add is 1 / (variance from part to part + that of its lives alone),
        which is (1 - own / between) / between.
        """
        added = np.maximum(1.0 - own / between[self.group], 0.0) / between[self.group]
        return np.asarray(1.0 / (1.0 / SHARED + self.sum(added)))

    def moments(self, state: Floats) -> Moments:
        """Return the parts' posterior moments, in units of their default priors."""
        told = shift_priors(
            self.priors, *state[[0, 2]][:, self.group], *np.exp(state[[1, 3]])[:, self.group]
        )
        found = [
            find_moments(find_posterior(self.records.block(block), told.of(block)))
            for block in blocks(len(self.group))
        ]
        own = self.priors
        life, life_variance, shape, shape_variance = (
            np.concatenate([getattr(each, field.name) for each in found])
            for field in fields(Moments)
        )
        return Moments(
            life=(life - own.log_life) / own.log_life_spread,
            life_variance=life_variance / own.log_life_spread**2,
            shape=(shape - own.log_shape) / own.log_shape_spread,
            shape_variance=shape_variance / own.log_shape_spread**2,
        )

    def sum(self, values: Floats) -> Floats:
        """Return the sum over each group's parts."""
        return np.asarray(
            np.bincount(self.group, weights=values, minlength=len(self.size)), dtype=np.float64
        )


def shift_priors(
    priors: Priors, life: Floats, shape: Floats, life_variance: Floats, shape_variance: Floats
) -> Priors:
    """Return priors with new centres and variances, all (P,) and in units of the old priors."""
    return Priors(
        log_life=priors.log_life + life * priors.log_life_spread,
        log_life_spread=priors.log_life_spread * np.sqrt(life_variance),
        log_shape=priors.log_shape + shape * priors.log_shape_spread,
        log_shape_spread=priors.log_shape_spread * np.sqrt(shape_variance),
    )
