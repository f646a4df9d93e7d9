"""Spares that do not count all the way: they expire under way, or meet the boat on her way.

Each stretch is cut where a piece expires or arrives; what it needs is shared out over the runs
between, as if every piece needed fell in it by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from scipy.special import gammaln, xlogy

from stockopt.choices.excess import Floats
from stockopt.demand.demand import Stretch

#: Chances below this are left out.
_NONE = 1e-13


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of a stretch between two moments at which the pieces that count change.

    Parameters
    ----------
    share
        Of the stretch's running.
    there
        Pieces that have come aboard by then, used or not.
    gone
        How many of them have expired by then: the first, as they are used in that order.
    """

    share: float
    there: int
    gone: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A stretch cut into runs: (K+1,) chance that it needs k pieces, and cost of one short."""

    chances: Floats
    cost: float
    runs: tuple[Run, ...]

    def carry(self, carried: int, each: int) -> Cut:
        """Return it with so many aboard from the start, and so many for each piece there."""
        runs = (replace(run, there=carried + each * run.there) for run in self.runs)
        return replace(self, runs=tuple(runs))


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What comes of it: cost of the pieces short, pieces short, chance of any, pieces left."""

    cost: float
    short: float
    chance: float
    left: float


def find_share(stretch: Stretch, day: date) -> float:
    """Return the share of a stretch's running that lies before a day."""
    return sum(
        share * float(np.clip((day - leg.departs_on).days / max(leg.days, 1e-9), 0.0, 1.0))
        for leg, share in zip(stretch.legs, stretch.leg_shares, strict=True)
    )


def find_end(stretch: Stretch) -> date:
    """Return the day on which a stretch ends."""
    leg = stretch.legs[-1]
    return leg.departs_on + timedelta(days=int(np.ceil(leg.days)))


def cut_stretches(
    stretches: Sequence[Stretch],
    by_stretch: Floats,
    costs: Floats,
    *,
    arrivals: Sequence[date | None],
    last_days: Sequence[date | None],
) -> list[Cut]:
    """Cut stretches where pieces arrive and expire, those joined between which nothing changes.

    Parameters
    ----------
    stretches, by_stretch, costs
        S of them, (S, K+1) the chance that each needs k pieces, (S,) the cost of one short.
    arrivals, last_days
        For each piece, in the order they are used: the day it comes aboard, None for before
        departure; and its last good day, None where it keeps beyond the last stretch. The earlier
        a piece expires, the earlier it stands; those that come later stand last.
    """
    cuts = []
    for stretch, chances, cost in zip(stretches, by_stretch, costs, strict=True):
        begin, end = stretch.legs[0].departs_on, find_end(stretch)
        days = {begin}
        days |= {day for day in arrivals if day is not None and begin < day < end}
        changes = (day + timedelta(days=1) for day in last_days if day is not None)
        days |= {day for day in changes if begin < day < end}
        starts = sorted(days)
        shares = [find_share(stretch, day) for day in starts[1:]]
        runs = tuple(
            Run(
                share=high - low,
                there=sum(arrival is None or arrival <= day for arrival in arrivals),
                gone=sum(last is not None and last < day for last in last_days),
            )
            for day, low, high in zip(starts, [0.0, *shares], [*shares, 1.0], strict=True)
        )
        cuts.append(Cut(chances=chances, cost=float(cost), runs=runs))
    return _join(cuts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Paths:
    """What may have happened so far; the last axis of each is pieces needed.

    `state` and `never` have pieces gone first, `never` without any piece short so far; `cost` and
    `short` are those of the pieces short.
    """

    state: Floats
    never: Floats
    cost: Floats
    short: Floats


def follow(cuts: Sequence[Cut], whole: Floats, expired_at_end: int) -> Course:
    """Follow the pieces through all runs.

    Parameters
    ----------
    cuts
        In time.
    whole
        (K+1,): chance that all of them together need k pieces.
    expired_at_end
        Pieces expired by the end, the first in order.

    Notes
    -----
    Given how many pieces are needed in all they fall on the stretches as if these were
    independent, as in :mod:`stockopt.choices.timing`; and those of one stretch on its runs one by
    one, in proportion to their shares.
    """
    most, total = cuts[-1].runs[-1].there, len(whole)
    state = np.zeros((most + 1, total))
    state[0, 0] = 1.0
    nothing = np.zeros(total)
    paths = _Paths(state=state, never=state, cost=nothing, short=nothing)
    for cut in cuts:
        if len(cut.runs) == 1:
            paths = _sail(paths, cut.runs[0], cut.chances, cut.cost)
        else:
            paths = _sail_in_runs(paths, cut)
    state = _expire(paths.state, expired_at_end)
    apart = state.sum(axis=0)
    weight = np.divide(whole, apart, out=np.zeros(total), where=apart > _NONE)
    left = most - np.arange(most + 1)
    return Course(
        cost=float(weight @ paths.cost),
        short=float(weight @ paths.short),
        chance=float(np.clip(1.0 - weight @ paths.never.sum(axis=0), 0.0, 1.0)),
        left=float(left @ state @ weight),
    )


def _join(cuts: Sequence[Cut]) -> list[Cut]:
    """Join stretches one after the other with the same pieces there, at one cost of a short one.

    Nothing is lost by that: what is short in all of them hangs on what is needed in all.
    """
    joined: list[Cut] = []
    for cut in cuts:
        last = joined[-1] if joined else None
        if last and len(cut.runs) == 1 and (last.runs, last.cost) == (cut.runs, cut.cost):
            chances = np.convolve(last.chances, cut.chances)[: cut.chances.size]
            joined[-1] = replace(last, chances=chances)
        else:
            joined.append(cut)
    return joined


def _sail_in_runs(paths: _Paths, cut: Cut) -> _Paths:
    """Follow the pieces through one stretch, run by run.

    With j pieces needed in it each falls in a run with the run's share: its chance is j! times
    the product of share^i / i! over the runs. A last axis counts the pieces of this stretch.
    """
    size = paths.cost.size
    inside = _Paths(
        state=_add_axis(paths.state, size),
        never=_add_axis(paths.never, size),
        cost=_add_axis(paths.cost, size),
        short=_add_axis(paths.short, size),
    )
    pieces = np.arange(size)
    for run in cut.runs:
        shares = np.exp(xlogy(pieces, run.share) - gammaln(pieces + 1.0))
        inside = _sail(inside, run, shares, cut.cost)
    weight = np.exp(gammaln(pieces + 1.0)) * cut.chances
    return _Paths(
        state=_drop_axis(inside.state, weight),
        never=_drop_axis(inside.never, weight),
        cost=_drop_axis(inside.cost, weight),
        short=_drop_axis(inside.short, weight),
    )


def _add_axis(values: Floats, size: int) -> Floats:
    wider = np.zeros((*values.shape, size))
    wider[..., 0] = values
    return wider


def _drop_axis(values: Floats, weight: Floats) -> Floats:
    """Add the pieces of the last axis to those of the one before."""
    size = values.shape[-1]
    sums = np.zeros(values.shape[:-1])
    for needed in np.flatnonzero(weight > _NONE).tolist():
        sums[..., needed:] += values[..., : size - needed, needed] * weight[needed]
    return sums


def _sail(paths: _Paths, run: Run, chances: Floats, cost: float) -> _Paths:
    """Need pieces in one run: used where there are any, else short."""
    state, never = _expire(paths.state, run.gone), _expire(paths.never, run.gone)
    more = _count_short(state, run, chances)
    return _Paths(
        state=_use(state, run, chances, short_too=True),
        never=_use(never, run, chances, short_too=False),
        cost=_add_needs(paths.cost, chances) + cost * more,
        short=_add_needs(paths.short, chances) + more,
    )


def _expire(state: Floats, gone: int) -> Floats:
    """Take away the first `gone` pieces where they are still there."""
    if gone == 0:
        return state
    after = state.copy()
    after[gone] += after[:gone].sum(axis=0)
    after[:gone] = 0.0
    return after


def _list_needed(chances: Floats) -> list[int]:
    return [int(needed) for needed in np.flatnonzero(chances > _NONE)]


def _add_needs(values: Floats, chances: Floats) -> Floats:
    sums, size = np.zeros_like(values), values.shape[-1]
    for needed in _list_needed(chances):
        sums[..., needed:] += values[..., : size - needed] * chances[needed]
    return sums


def _count_short(state: Floats, run: Run, chances: Floats) -> Floats:
    """Return by pieces needed so far the expected pieces short in this run."""
    short, size = np.zeros(state.shape[1:]), state.shape[-1]
    flat = state.reshape(len(state), -1)
    for needed in _list_needed(chances):
        beyond = np.maximum(np.arange(len(state)) + needed - run.there, 0).astype(np.float64)
        missed = (beyond @ flat).reshape(short.shape)
        short[..., needed:] += missed[..., : size - needed] * chances[needed]
    return short


def _use(state: Floats, run: Run, chances: Floats, *, short_too: bool) -> Floats:
    after, size = np.zeros_like(state), state.shape[-1]
    for needed in _list_needed(chances):
        moved = state[: run.there + 1, ..., : size - needed] * chances[needed]
        kept = run.there + 1 - needed
        if kept > 0:
            after[needed : run.there + 1, ..., needed:] += moved[:kept]
        if short_too:
            after[run.there, ..., needed:] += moved[max(kept, 0) :].sum(axis=0)
    return after
