"""When the pieces fitted today first fail: what is known of each position at departure.

Every later piece is new when it is fitted, so a position differs from any other only until its
first renewal. Two laws say when that is:

* a piece of *known age* that is changed on a schedule comes through its changes at times known
  beforehand until it fails. Its law is that of the first failure; the changes on the way, one at
  `first_change` and one every `change_at` after it, are certain given that time;
* a piece of *unknown age* is changed at a time nobody knows. Its law is that of the first need,
  failure or change, and it has no certain change.

Times count from departure on the clock of the machine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stockopt.demand.weibull import Floats, WeibullLives


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownAges:
    """P pieces of known age; one already past `change_at` is changed at departure, at time 0.

    Parameters
    ----------
    lives
        The life of a new piece, given each of J nodes.
    age
        (P,): at departure.
    """

    lives: WeibullLives
    age: Floats

    @property
    def first_change(self) -> Floats:
        """(P,): time of the first change on schedule; infinite for never."""
        return np.maximum(self.lives.change_at - self.age, 0.0)

    def survival(self, times: Floats) -> Floats:
        """Return the chance of no failure before each time: (J, P, T) for times (P or 1, T)."""
        age = self.age[:, None]
        change_at = self.lives.change_at
        start = self.lives.hazard(age)
        if math.isinf(change_at):
            return np.exp(start - self.lives.hazard(age + times))
        since = times - self.first_change[:, None]
        cycles = np.floor(np.maximum(since, 0.0) / change_at)
        now = np.where(since < 0.0, age + times, since - cycles * change_at)
        whole = self.lives.hazard(np.array(change_at))[:, None, None]
        gone = np.where(since < 0.0, -start, np.maximum(whole - start, 0.0) + cycles * whole)
        return np.exp(-(self.lives.hazard(np.maximum(now, 0.0)) + gone))

    def bends(self, low: Floats, high: Floats) -> Floats:
        """Return the last change on schedule in each interval (P, T), or its lower end."""
        since = np.maximum(high - self.first_change[:, None], 0.0)
        turns = np.floor(since / self.lives.change_at)
        last = self.first_change[:, None] + turns * self.lives.change_at
        return np.where((last > low) & (last < high), last, low)

    def residual(self) -> Floats:
        """Return the expected time to the first need, failure or change: (J, P)."""
        return np.where(
            self.age < self.lives.change_at,
            self.lives.residual(np.minimum(self.age, self.lives.change_at)),
            0.0,
        )

    def fails_first(self, until: float) -> Floats:
        """Return the expected number of first renewals before `until` that are failures: (J, P)."""
        return 1.0 - self.survival(np.array([[until]]))[..., 0]


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownAges:
    """P pieces of unknown age, known to have at least some; none past `change_at`.

    Parameters
    ----------
    lives
        The life of a new piece, given each of J nodes.
    at_least
        (P,): age at departure that each has at least.
    """

    lives: WeibullLives
    at_least: Floats

    @property
    def first_change(self) -> Floats:
        """(P,): no change is certain."""
        return np.full(len(self.at_least), math.inf)

    def survival(self, times: Floats) -> Floats:
        """Return the chance of no need before each time: (J, P, T) for times (P or 1, T)."""
        return self.lives.left_of_unknown(self.at_least, times)

    def bends(self, low: Floats, high: Floats) -> Floats:
        """Return the time by which all are changed if in the interval (P, T), or its lower end."""
        last = self.lives.change_at - self.at_least[:, None]
        return np.where((last > low) & (last < high), last, low)

    def residual(self) -> Floats:
        """Return the expected time to the first need, failure or change: (J, P)."""
        return self.lives.residual_of_unknown(self.at_least)

    def fails_first(self, until: float) -> Floats:
        """Return the expected number of first renewals before `until` that are failures: (J, P)."""
        needed = 1.0 - self.survival(np.array([[until]]))[..., 0]
        if math.isinf(self.lives.change_at):
            return needed
        changes = np.minimum(until, self.lives.change_at - self.at_least)
        return np.maximum(needed - changes * self.lives.changes_of_unknown(self.at_least), 0.0)


FirstLaw = KnownAges | UnknownAges
