"""What is known about each part's life, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from stockopt.errors import Note

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Nodes:
    """A part's posterior as a few weighted points, for mixing probabilities over.

    Parameters
    ----------
    shape, scale, weight
        Each of shape (n,): Weibull shape b, scale e on the part's clock, and weights that add
        to 1.
    """

    shape: Floats
    scale: Floats
    weight: Floats

    def on_boat(self, factor: float) -> Nodes:
        """Return the nodes on a boat whose hazards are `factor` times those of another.

        z (t/e)^b is (t/e')^b with e' = e z^(-1/b).
        """
        if factor == 1.0:
            return self
        scale = self.scale * factor ** (-1.0 / self.shape)
        return Nodes(shape=self.shape, scale=scale, weight=self.weight)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartTests:
    """What a part's records say of four questions, each in numbers and in plain words.

    Numbers are None where there are too few failures to tell; the words then say so.

    Parameters
    ----------
    trend_z, trend_p, trend
        Are failures coming faster than the pieces' ages explain? Laplace's statistic (positive:
        faster) and its two-sided p-value.
    boats_statistic, boats_p, boats
        Do boats differ? Likelihood ratio of a rate of its own for each boat against one for all,
        and its p-value.
    wear_ratio, wear
        Wearing out or at random? How many times likelier the records are with the shape free than
        with a constant rate.
    newest_failures, newest_expected, newest_p, newest
        Do the pieces fitted last fail sooner? Failures among them, those to be expected, and the
        chance of as many.
    """

    trend_z: float | None
    trend_p: float | None
    trend: str
    boats_statistic: float | None
    boats_p: float | None
    boats: str
    wear_ratio: float | None
    wear: str
    newest_failures: int | None
    newest_expected: float | None
    newest_p: float | None
    newest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BestAge:
    """The age at which a piece is best changed before it fails.

    Money in the plan's currency, per 1,000 on the part's clock and position.

    Parameters
    ----------
    age
        On the part's clock; None: run it to failure.
    planned_cost, failing_cost
        Of one change at that age, and of one after a failure.
    cost, cost_to_failure
        Of changing at the best age, and of running every piece to failure.
    words
        The same for a person.
    """

    age: float | None
    planned_cost: float
    failing_cost: float
    cost: float
    cost_to_failure: float
    words: str

    @property
    def saving(self) -> float:
        """What changing at the best age saves against running to failure."""
        return self.cost_to_failure - self.cost


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyPool:
    """What the lives of a family's parts, on one clock, say of its members to come.

    Parameters
    ----------
    family, clock
        Which.
    parts, with_failures, failures
        Members watched, those with a failure, and all their failures.
    by_expected_life
        True: `life` is the ratio of true to expected mean life, over the members that have an
        expected life. False: it is the mean life itself, over all members.
    life, life_spread
        Centre, and standard deviation of its log from one member to the next, with the doubt
        about the centre.
    shape, shape_spread
        The same of the Weibull shape, for a member not said to wear or to fail at random.
    """

    family: str
    clock: str
    parts: int
    with_failures: int
    failures: int
    by_expected_life: bool
    life: float
    life_spread: float
    shape: float
    shape_spread: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatSpread:
    """Whether boats differ: hazard factors drawn from a gamma of mean 1.

    Parameters
    ----------
    spread
        Its standard deviation, likeliest; 0 where the boats do not differ at all.
    statistic, p_value
        Likelihood ratio against no difference, and the chance of as great a one without any; None
        where there are too few boats or failures to tell.
    used
        True where the factors are used: the p-value is below 5 %.
    words
        The same for a person.
    """

    spread: float
    statistic: float | None
    p_value: float | None
    used: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAgeing:
    """One part's life, from its records and its prior. Intervals are 90 %.

    Parameters
    ----------
    part, clock
        Which part; hours or days.
    failures, exposure
        All failures, and all part-hours (or part-days) watched.
    rate_per_1000, rate_low, rate_high
        Failures per 1,000 on the clock as if the rate were constant, with the exact chi-square
        interval; `rate_per_1000` is None when nothing was watched, `rate_high` then too.
    shape, shape_low, shape_high, scale, mean_life, mean_life_low, mean_life_high
        Posterior medians and equal-tailed intervals.
    ml_shape, ml_scale
        Maximum likelihood, where at least 3 failures of known age; else None.
    prior_only
        True when no life of known age was watched, so that the prior alone speaks.
    prior
        The prior in words.
    nodes
        The posterior for mixing.
    tests
        Trend, boats, wear and newest pieces.
    best_age
        When to change a piece before it fails; None where the part has no price.
    """

    part: str
    clock: str
    failures: int
    exposure: float
    rate_per_1000: float | None
    rate_low: float | None
    rate_high: float | None
    shape: float
    shape_low: float
    shape_high: float
    scale: float
    mean_life: float
    mean_life_low: float
    mean_life_high: float
    ml_shape: float | None
    ml_scale: float | None
    prior_only: bool
    prior: str
    nodes: Nodes
    tests: PartTests | None = None
    best_age: BestAge | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ageing:
    """How every part of the fleet's `parts` table ages (current numbers only).

    Parameters
    ----------
    parts
        By part. Where boats differ, each is told for a boat of factor 1.
    notes
        What had to be assumed, and what is doubtful.
    families
        The families whose members' lives were pooled.
    life_factor
        By how much the true mean life exceeds the expected one over the whole fleet; 1 where the
        records do not prove a difference.
    boat_factors
        By boat of the fleet: by how much her parts fail faster than another's of the same age. All
        1 where the boats do not differ.
    boat_spread
        Whether they do.
    """

    parts: Mapping[str, PartAgeing]
    notes: tuple[Note, ...]
    families: tuple[FamilyPool, ...] = ()
    life_factor: float = 1.0
    boat_factors: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    boat_spread: BoatSpread | None = None
