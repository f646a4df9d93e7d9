"""Pieces needed, made by hand, from Poisson mixtures or from simulated seasons."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd
from scipy.special import gamma, gammainc
from scipy.stats import poisson

from stockopt.choices.aboard import Terms
from stockopt.demand.demand import Demand, Leg, PartDemand, Stretch
from stockopt.lives.lives import Lives

FIRST_DAY = date(2031, 5, 1)


def make_lives(*boats):
    """Return lives of which only the boats with something fitted are known."""
    return Lives(lives=pd.DataFrame(), positions=pd.DataFrame({"boat": list(boats)}), notes=())


def make_stretches(*ports, days=10.0, chase_days=None, departs_on=FIRST_DAY):
    """Return stretches of one leg each, to the ports in turn."""
    return tuple(
        Stretch(
            legs=(
                Leg(
                    departs_on=departs_on + timedelta(days=days * turn),
                    days=days,
                    to_port=port,
                    chase_days=chase_days,
                ),
            ),
            leg_shares=(1.0,),
        )
        for turn, port in enumerate(ports)
    )


def make_need(
    by_stretch,
    *,
    whole=None,
    within=None,
    boat="Alba",
    part="seal",
    consequence="stops",
    stretches=None,
    failures=None,
    failure_shares=None,
    remaining=None,
    remaining_now=0.0,
):
    """Return a demand from chances by f, stretch and pieces; stretches independent by default."""
    by_stretch = np.asarray(by_stretch, dtype=float)
    replaced, count, _ = by_stretch.shape
    if whole is None:
        whole = np.array([convolve(list(chances)) for chances in by_stretch])
        by_stretch = pad(by_stretch, whole.shape[-1])
    if within is None:
        within = np.cumsum(by_stretch, axis=-1).prod(axis=1)
    pieces = np.arange(whole.shape[-1])
    shares = {"stops": [1, 0, 0], "limits": [0, 1, 0], "nuisance": [0, 0, 1]}
    return PartDemand(
        boat=boat,
        part=part,
        positions=replaced - 1,
        consequence=consequence,
        stretches=stretches or make_stretches(*["Isla"] * count),
        by_stretch=by_stretch,
        whole=whole,
        within=within,
        failures=whole @ pieces if failures is None else np.asarray(failures, dtype=float),
        failure_shares=np.array(failure_shares or shares[consequence], dtype=float),
        remaining=np.zeros(replaced) if remaining is None else np.asarray(remaining, dtype=float),
        remaining_now=float(remaining_now),
    )


def make_poisson_need(rates, weights, hours, *, positions=1, **more):
    """Return the demand of parts that fail at a constant, unknown rate, exactly.

    `rates` (per hour) and `weights` are the posterior; `hours` are by stretch. A constant rate
    knows no age: replacing now changes nothing, and what is fitted at the end is as good as new.
    """
    rates, weights, hours = (np.asarray(values, dtype=float) for values in (rates, weights, hours))
    means = positions * rates[:, None] * hours  # (nodes, stretches)
    most = int(poisson.isf(1e-9, means.sum(axis=1).max())) + 1
    pieces = np.arange(most + 1)
    by_stretch = np.einsum("j,jsk->sk", weights, poisson.pmf(pieces, means[..., None]))
    whole = weights @ poisson.pmf(pieces, means.sum(axis=1)[:, None])
    within = weights @ poisson.cdf(pieces, means[..., None]).prod(axis=1)
    each_f = (positions + 1, 1)
    return make_need(
        np.tile(by_stretch, (positions + 1, 1, 1)),
        whole=np.tile(whole, each_f),
        within=np.tile(within, each_f),
        failures=np.full(positions + 1, weights @ means.sum(axis=1)),
        remaining=np.full(positions + 1, float(positions)),
        **more,
    )


def make_terms(stretches, **more):
    """Return terms with round numbers; `shortage_costs` and `restock_prices` may be one number."""
    given = {
        "floor": 0,
        "on_hand": 0,
        "credit": 50.0,
        "failing_cost": 200.0,
        "fitting_cost": 30.0,
        "shortage_costs": 2000.0,
        "restock_prices": 120.0,
        "stops": True,
        "bulky": True,
        **more,
    }
    for name in ("shortage_costs", "restock_prices"):
        given[name] = np.broadcast_to(np.asarray(given[name], dtype=float), stretches)
    return Terms(**given)


def make_demand(*needs):
    return Demand(parts={(need.boat, need.part): need for need in needs}, notes=())


def convolve(chances):
    total = np.array([1.0])
    for chance in chances:
        total = np.convolve(total, chance)
    return total


def pad(chances, length):
    missing = length - chances.shape[-1]
    return np.pad(chances, [(0, 0)] * (chances.ndim - 1) + [(0, missing)])


@dataclass(frozen=True)
class Seasons:
    """Pieces needed (R, S), failures (R,), unspent lives at the end and at the start (R,)."""

    needed: np.ndarray
    failures: np.ndarray
    remaining: np.ndarray
    at_start: np.ndarray


def simulate_seasons(rng, count, *, nodes, ages, hours, replace_now=0, replace_every=np.inf):
    """Play `count` seasons failure by failure.

    Each season draws one (shape, scale) of `nodes` (rows shape, scale, weight) for all positions;
    the `replace_now` oldest pieces start new; a piece leaves at its failure or at the age
    `replace_every`. Unspent life is the piece's own time to its next change, in mean lives.
    """
    shapes, scales, weights = np.asarray(nodes, dtype=float).T
    drawn = rng.choice(len(weights), size=count, p=weights)
    shape, scale = shapes[drawn], scales[drawn]
    ends = np.cumsum(hours)
    needed = np.zeros((count, len(hours)))
    failures, remaining, at_start = np.zeros(count), np.zeros(count), np.zeros(count)
    mean_life = scale * gamma(1 + 1 / shape) * gammainc(1 / shape, (replace_every / scale) ** shape)
    started = [0.0] * replace_now + sorted(ages, reverse=True)[replace_now:]
    for age in started:
        # the life of a piece known to have reached this age
        life = scale * ((age / scale) ** shape + rng.exponential(size=count)) ** (1.0 / shape)
        clock = np.minimum(life, replace_every) - age
        at_start += clock / mean_life
        failed = life < replace_every
        running = np.flatnonzero(clock < ends[-1])
        while len(running):
            stretch = np.searchsorted(ends, clock[running], side="right")
            needed[running, stretch] += 1
            failures[running] += failed[running]
            life = rng.exponential(size=len(running)) ** (1.0 / shape[running]) * scale[running]
            clock[running] += np.minimum(life, replace_every)
            failed[running] = life < replace_every
            running = running[clock[running] < ends[-1]]
        remaining += (clock - ends[-1]) / mean_life
    return Seasons(needed=needed, failures=failures, remaining=remaining, at_start=at_start)


def need_of(seasons_by_f, **more):
    """Return the demand whose chances are the frequencies of the simulated seasons."""
    most = int(max(seasons.needed.sum(axis=1).max() for seasons in seasons_by_f))

    def frequencies(counts):
        return np.bincount(counts.astype(int), minlength=most + 1) / len(counts)

    return make_need(
        [[frequencies(stretch) for stretch in seasons.needed.T] for seasons in seasons_by_f],
        whole=np.array([frequencies(s.needed.sum(axis=1)) for s in seasons_by_f]),
        within=np.array([np.cumsum(frequencies(s.needed.max(axis=1))) for s in seasons_by_f]),
        failures=[s.failures.mean() for s in seasons_by_f],
        remaining=[s.remaining.mean() for s in seasons_by_f],
        remaining_now=seasons_by_f[0].at_start.mean(),
        **more,
    )


@dataclass(frozen=True)
class Played:
    """What one choice cost and missed in every season; each (R,)."""

    later_cost: np.ndarray
    short: np.ndarray
    restock_cost: np.ndarray


def play(seasons, terms, *, carry, replace_now, restock, lives_now=0.0):
    """Live through every season with one choice, stretch by stretch, counting spares.

    `lives_now` are the unspent lives fitted before departure.
    """
    count, stretches = seasons.needed.shape
    aboard = np.full(count, float(carry))
    short, restock_cost = np.zeros(count), np.zeros(count)
    cost = terms.failing_cost * seasons.failures + terms.fitting_cost * replace_now
    for stretch in range(stretches):
        asked = seasons.needed[:, stretch]
        from_locker = np.minimum(asked, aboard)
        aboard = aboard - from_locker
        short += asked - from_locker
        cost = cost + terms.shortage_costs[stretch] * (asked - from_locker)
        if restock and stretch < stretches - 1:
            restock_cost += terms.restock_prices[stretch] * (carry - aboard)
            aboard = np.full(count, float(carry))
    ashore = max(terms.on_hand - carry - replace_now, 0)
    left = aboard + seasons.remaining + ashore - terms.on_hand - lives_now
    return Played(
        later_cost=cost + restock_cost - terms.credit * left,
        short=short,
        restock_cost=restock_cost,
    )
