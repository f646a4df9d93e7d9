"""A look back, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from stockopt.errors import Note
from stockopt.lookback.replay import Replayed
from stockopt.lookback.score import Scores
from stockopt.units import Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatLooked:
    """One boat: what the plan told, and what came.

    Parameters
    ----------
    boat
        Which.
    ends_on
        Last day of her season.
    told_need, needed
        Pieces needed, told and in fact.
    told_short, short
        Pieces short.
    readiness, stopped
        Chance told of no shortage of a part that stops her; whether one came.
    money
        What she paid after departure, and for changes before it.
    """

    boat: str
    ends_on: date
    told_need: float
    needed: int
    told_short: float
    short: int
    readiness: float
    stopped: bool
    money: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lookback:
    """A plan made with what was known on a day, and what came after.

    Parameters
    ----------
    fleet, currency
        Name of the fleet, money of the plan.
    since, until, ordered_on
        The season is from after the one day to the end of the other; orders were placed so early
        that all could be there when it began.
    records, failures_known
        Replacements known on the day, in pieces, and failures among the lives learnt from.
    boats
        By name.
    plan, rules
        What the plan and rules of thumb came to.
    scores
        Forecasts of each part's failures against what came.
    planned, proved, not_fitted
        Pieces changed in the season that needed no spare, or of which nothing is known: see
        :class:`~stockopt.lookback.history.History`.
    names
        By part.
    notes
        What could not be told, and what was done about it.
    paper
        What it is printed on.
    """

    fleet: str
    currency: str
    since: date
    until: date
    ordered_on: date
    records: int
    failures_known: int
    boats: tuple[BoatLooked, ...]
    plan: Replayed
    rules: tuple[Replayed, ...]
    scores: Scores
    planned: int
    proved: int
    not_fitted: int
    names: Mapping[str, str]
    notes: tuple[Note, ...]
    paper: Paper = "a4"
