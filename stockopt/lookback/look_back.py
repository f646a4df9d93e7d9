"""The look back's verb: a plan, and rules of thumb, met by what really failed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from stockopt.ageing.ageing import Ageing
from stockopt.choices.choices import Choices
from stockopt.fleet.fleet import Fleet
from stockopt.lives.build import build_lives
from stockopt.lives.lives import Lives
from stockopt.lookback.foretold import foretell, list_used
from stockopt.lookback.history import count_failures, read_history
from stockopt.lookback.lookback import BoatLooked, Lookback
from stockopt.lookback.replay import Replayed, Stage
from stockopt.lookback.score import LastYear, Scores, score_parts
from stockopt.lookback.season import YEAR, Past
from stockopt.plan import Plan
from stockopt.rehearsal.buying import keep_rule
from stockopt.rehearsal.policy import policy_of
from stockopt.rehearsal.rules import list_rules
from stockopt.sourcing import Offers

THE_PLAN = "the plan"


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownThen:
    """What was known on the day looked back to: the values of those rooms."""

    lives: Lives
    ageing: Ageing
    offers: Offers
    choices: Choices


def look_back(
    plan: Plan, past: Past, known: KnownThen, now: Fleet, on_step: Callable[[str], None]
) -> Lookback:
    """Meet a plan made on a day with what failed after it.

    Parameters
    ----------
    plan
        Made for `past.ordered`.
    past
        The season.
    known
        What the plan was made from.
    now
        The tables as they are.
    on_step
        Called with what is done next, in words.
    """
    on_step("Replaying what happened")
    seen = build_lives(now)
    history = read_history(past, known.lives, now, seen)
    stage = Stage(past, known.lives, known.ageing, known.offers)
    places, kits = _places_and_kits(past.fleet, known.choices)

    def replay(one: Plan, name: str) -> Replayed:
        return stage.replay(policy_of(one, places, kits, name), history.changes)

    met = replay(plan, THE_PLAN)
    rules = []
    for rule in list_rules(past.fleet, known.lives):
        on_step(f"Buying for the rule: {rule.name}")
        rules.append(replay(keep_rule(rule, plan, known.choices, past.ordered), rule.name))
    on_step("Scoring the forecast")
    return Lookback(
        fleet=past.fleet.name,
        currency=past.fleet.settings.currency,
        since=past.since,
        until=past.until,
        ordered_on=past.ordered.settings.planned_on,
        records=int(past.fleet.replacements["quantity"].sum()),
        failures_known=int(known.lives.lives["failed"].sum()),
        boats=tuple(_look_at_boats(plan, past, met)),
        plan=met,
        rules=tuple(rules),
        scores=score_forecast(past, known.lives, known.ageing, seen),
        planned=history.planned,
        proved=history.proved,
        not_fitted=history.not_fitted,
        names=dict(zip(past.fleet.parts["part"], past.fleet.parts["name"], strict=True)),
        notes=past.notes,
        paper=past.fleet.settings.paper,
    )


def _places_and_kits(
    fleet: Fleet, choices: Choices
) -> tuple[dict[str, str], dict[str, dict[str, int]]]:
    """Return where orders for each boat are delivered, and what sets hold."""
    places = {boat: limits.place for boat, limits in choices.boats.items()}
    kits: dict[str, dict[str, int]] = defaultdict(dict)
    table = fleet.kits
    for kit, part, quantity in zip(table["kit"], table["part"], table["quantity"], strict=True):
        kits[kit][part] = int(quantity)
    return places, kits


def score_forecast(past: Past, then: Lives, ageing: Ageing, seen: Lives) -> Scores:
    """Score the forecast of each part's failures beside last year's rate carried forward.

    Parameters
    ----------
    past
        The season.
    then, ageing
        What the records told on the day it began.
    seen
        The lives as they are known now.
    """
    year_ago = past.since - YEAR
    settings = replace(past.fleet.settings, planned_on=year_ago)
    before = list_used(build_lives(replace(past.fleet, settings=settings)))
    by_then = list_used(then)
    ran = {part: max(total - before.get(part, 0.0), 0.0) for part, total in by_then.items()}
    return score_parts(
        foretell(past, then, ageing, seen),
        LastYear(failures=count_failures(then, year_ago), exposure=ran),
        dict(zip(past.fleet.parts["part"], past.fleet.parts["name"], strict=True)),
    )


def _look_at_boats(plan: Plan, past: Past, replayed: Replayed) -> Iterator[BoatLooked]:
    needed: dict[str, int] = defaultdict(int)
    short: dict[str, int] = defaultdict(int)
    told: dict[str, float] = defaultdict(float)
    for line in replayed.lines:
        needed[line.boat] += line.needed
        short[line.boat] += line.short
    for carried in plan.carry:
        told[carried.boat] += carried.expected_need
    for boat in plan.boats:
        yield BoatLooked(
            boat=boat.boat,
            ends_on=date(1970, 1, 1) + timedelta(days=past.ends[boat.boat]),
            told_need=told[boat.boat],
            needed=needed[boat.boat],
            told_short=boat.expected_shortages,
            short=short[boat.boat],
            readiness=boat.readiness,
            stopped=boat.boat in replayed.stopped,
            money=replayed.by_boat[boat.boat],
        )
