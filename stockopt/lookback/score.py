"""Forecasts scored by what came, beside last year's rate carried forward."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.stats import poisson

from stockopt.demand.demand import Floats
from stockopt.lookback.foretold import Foretold

#: Of a part that nothing failed of last year, so many failures are carried forward: with none no
#: failure could ever come, and a single one would make any other forecast look right (common
#: practice, no source: half a failure).
NONE_FAILED = 0.5

#: Intervals hold this share.
HELD = 0.9
#: No forecast calls anything less likely than this.
LEAST = 1e-8
#: Classes of the picture of where the actual counts fell.
CLASSES = 5
#: Fewer failures than this over the fleet tell nothing.
FEWEST = 10
#: Standard errors that a difference must have to be told.
CLEARLY = 2.0

Verdict = Literal["too few", "no difference", "better", "worse"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """One forecast of one part's count.

    Parameters
    ----------
    mean
        Expected count.
    low, high
        Central 90 % interval: less than `low` has a chance of at most 5 %, more than `high` too.
    share
        Chance of a count in it, which whole numbers make at least 90 %.
    inside
        Whether the actual count is.
    log_score
        Natural logarithm of the chance of the actual count: the higher the better.
    """

    mean: float
    low: int
    high: int
    share: float
    inside: bool
    log_score: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PartScore:
    """One part: what came, what was foretold, and last year's rate carried forward.

    Parameters
    ----------
    part, name
        Which.
    actual
        Failures in the season, over the fleet.
    forecast, last_year
        Both forecasts of it.
    failed_last_year
        Failures in the year before.
    below, upto
        Chance that the forecast gave to fewer than `actual`, and to no more.
    """

    part: str
    name: str
    actual: int
    forecast: Scored
    last_year: Scored
    failed_last_year: int
    below: float
    upto: float

    @property
    def better(self) -> float:
        """By how much the forecast's log score is above last year's."""
        return self.forecast.log_score - self.last_year.log_score


@dataclass(frozen=True, slots=True, kw_only=True)
class Scores:
    """All parts together.

    Parameters
    ----------
    parts
        By how many failed, most first.
    failures
        In all.
    difference, error
        Sum over the parts of the differences in log score, forecast less last year's, and its
        standard error.
    failed_before, of_those
        Parts of which something failed last year, and the sum of the differences over them: what
        :data:`NONE_FAILED` has no part in.
    share_better
        Share of the parts on which the forecast scores higher; equal ones count half.
    covered, told
        Share of the parts whose count fell into the forecast's interval, and that it told.
    covered_last_year, told_last_year
        The same of last year's rate.
    places
        Share of the counts in each fifth of what the forecasts held possible; each a fifth where
        they are right.
    verdict
        What the difference says.
    """

    parts: tuple[PartScore, ...]
    failures: int
    difference: float
    error: float
    failed_before: int
    of_those: float
    share_better: float
    covered: float
    told: float
    covered_last_year: float
    told_last_year: float
    places: tuple[float, ...]
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class LastYear:
    """What is carried forward: failures, and what the pieces ran, by part."""

    failures: Mapping[str, int]
    exposure: Mapping[str, float]

    def expect(self, part: str, exposure: float) -> float:
        """Return the failures expected of a part while its pieces run `exposure`.

        Where nothing is known of what they ran last year, as many are expected as failed then.

        Examples
        --------
        >>> LastYear(failures={"seal": 4}, exposure={"seal": 1000.0}).expect("seal", 500.0)
        2.0
        """
        failed = max(float(self.failures.get(part, 0)), NONE_FAILED)
        ran = self.exposure.get(part, 0.0)
        return failed * exposure / ran if ran > 0.0 else failed


def score_parts(
    foretold: Iterable[Foretold], last_year: LastYear, names: Mapping[str, str]
) -> Scores:
    """Score every part, and all of them together.

    Parameters
    ----------
    foretold
        The forecasts and the actual counts.
    last_year
        What is carried forward, as a Poisson count.
    names
        Of the parts.

    Notes
    -----
    Log score: *Source*: Good, Journal of the Royal Statistical Society B 14 (1952), from memory.
    Where counts fall: the non-randomised histogram of Czado, Gneiting & Held, Biometrics 65
    (2009), from memory.
    """
    parts = []
    for one in foretold:
        expected = last_year.expect(one.part, one.exposure)
        cumulated = np.cumsum(one.chances)
        parts.append(
            PartScore(
                part=one.part,
                name=names[one.part],
                actual=one.actual,
                forecast=score_count(one.chances, one.actual),
                last_year=score_count(_poisson(expected, one.actual), one.actual),
                failed_last_year=int(last_year.failures.get(one.part, 0)),
                below=_upto(cumulated, one.actual - 1),
                upto=_upto(cumulated, one.actual),
            )
        )
    parts.sort(key=lambda part: (-part.actual, -part.forecast.mean, part.part))
    return sum_up(parts)


def sum_up(parts: Sequence[PartScore]) -> Scores:
    """Return the scores of all parts together."""
    differences = np.array([part.better for part in parts])
    failures = sum(part.actual for part in parts)
    total = float(differences.sum())
    before = [part.better for part in parts if part.failed_last_year]
    error = math.sqrt(len(parts)) * float(differences.std(ddof=1)) if len(parts) > 1 else math.inf
    return Scores(
        parts=tuple(parts),
        failures=failures,
        difference=total,
        error=error,
        failed_before=len(before),
        of_those=sum(before),
        share_better=_mean([0.5 if d == 0.0 else float(d > 0.0) for d in differences]),
        covered=_mean([part.forecast.inside for part in parts]),
        told=_mean([part.forecast.share for part in parts]),
        covered_last_year=_mean([part.last_year.inside for part in parts]),
        told_last_year=_mean([part.last_year.share for part in parts]),
        places=find_places(parts),
        verdict=judge(total, error, sum(before), failures),
    )


def judge(difference: float, error: float, of_those: float, failures: int) -> Verdict:
    """Say what a difference in log score is worth.

    One side is better only where the parts that failed last year do not say the opposite: on the
    others last year's rate is no more than the half failure that it was given.

    Examples
    --------
    >>> judge(9.0, 3.0, 4.0, 40), judge(-9.0, 3.0, -4.0, 40), judge(9.0, 3.0, 4.0, 4)
    ('better', 'worse', 'too few')
    >>> judge(3.0, 3.0, 1.0, 40), judge(9.0, 3.0, -1.0, 40)
    ('no difference', 'no difference')
    """
    if failures < FEWEST:
        return "too few"
    if abs(difference) < CLEARLY * error or difference * of_those < 0.0:
        return "no difference"
    return "better" if difference > 0.0 else "worse"


def score_count(chances: Floats, actual: int) -> Scored:
    """Score a forecast by what came.

    Parameters
    ----------
    chances
        (K + 1,): of each count; beyond K none was held possible.
    actual
        The count that came.

    Examples
    --------
    >>> scored = score_count(np.array([0.5, 0.25, 0.25]), 1)
    >>> scored.mean, scored.low, scored.high, scored.inside, round(scored.log_score, 4)
    (0.75, 0, 2, True, -1.3863)
    """
    cumulated = np.cumsum(chances)
    tail = (1.0 - HELD) / 2.0
    last = len(chances) - 1
    # Sums that miss a bound by their last digit do not move the interval.
    low = min(int(np.searchsorted(cumulated, tail - 1e-12)), last)
    high = min(int(np.searchsorted(cumulated, 1.0 - tail - 1e-12)), last)
    chance = float(chances[actual]) if actual <= last else 0.0
    return Scored(
        mean=float(np.arange(last + 1) @ chances),
        low=low,
        high=high,
        share=float(chances[low : high + 1].sum()),
        inside=low <= actual <= high,
        log_score=math.log(max(chance, LEAST)),
    )


def find_places(parts: Sequence[PartScore]) -> tuple[float, ...]:
    """Return the share of the counts in each class of what was held possible.

    A count that takes the chances from `below` to `upto` is spread evenly over them.

    Examples
    --------
    >>> find_places([])
    (0.0, 0.0, 0.0, 0.0, 0.0)
    """
    edges = np.linspace(0.0, 1.0, CLASSES + 1)
    share = np.zeros(CLASSES)
    for part in parts:
        width = max(part.upto - part.below, LEAST)
        reached = np.clip((edges - part.below) / width, 0.0, 1.0)
        reached[-1] = 1.0
        share += np.diff(reached)
    return tuple((share / max(len(parts), 1)).tolist())


def _poisson(expected: float, actual: int) -> Floats:
    most = max(int(poisson.ppf(1.0 - LEAST, expected)), actual) + 1
    return np.asarray(poisson.pmf(np.arange(most + 1), expected))


def _upto(cumulated: Floats, count: int) -> float:
    if count < 0:
        return 0.0
    return float(min(cumulated[min(count, len(cumulated) - 1)], 1.0))


def _mean(values: Sequence[float]) -> float:
    return float(np.mean(values)) if len(values) else 0.0
