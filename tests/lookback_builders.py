"""A past small enough to count on one's fingers: one boat, a season of 90 days."""

from dataclasses import replace
from datetime import date, timedelta

from builders import PLANNED_ON, make_fleet

from stockopt.lives.build import build_lives
from stockopt.lookback.history import read_history
from stockopt.lookback.replay import Stage
from stockopt.lookback.season import sail_again
from stockopt.sourcing import price_offers

#: The season: from after this day to the day of the plan, 90 days later.
SINCE = date(2031, 1, 1)
BEGUN = SINCE - timedelta(days=200)


def on(day):
    """Return the day so many days into the season."""
    return SINCE + timedelta(days=day)


def change(day, part="seal", reason="failed", **more):
    row = {"on": on(day), "boat": "Alba", "machine": "engine", "part": part, "reason": reason}
    return row | more


def usual_tables(**tables):
    """Return tables: 10 hours a day, a seal that stops her, ten-day legs to Isla, a dear port.

    A piece costs 10 at home and 20 in Isla; a lost day 100; half a day is lost to any failure.
    """
    usual = {
        "boats": [{"boat": "Alba", "home_port": "Porto", "day_cost": 100}],
        "machines": [
            {"boat": "Alba", "machine": "engine", "model": "M", "fitted_on": BEGUN}
            | {"hours_at_fitting": 0}
        ],
        "readings": [
            {"boat": "Alba", "machine": "engine", "read_on": day, "hours": hours}
            for day, hours in ((BEGUN, 0), (SINCE, 2000), (PLANNED_ON, 2900))
        ],
        "parts": [{"part": "seal", "price": 10, "clock": "hours", "consequence": "stops"}],
        "fitted": [{"model": "M", "part": "seal"}],
        "ports": [{"port": "Isla", "price_factor": 2, "wait_days": 1}],
        "legs": [{"boat": "Alba", "departs_on": PLANNED_ON, "days": 10, "to_port": "Isla"}],
    }
    return usual | tables


def make_past(since=SINCE, until=PLANNED_ON, **tables):
    """Return the tables as they are, and the season that was."""
    now = make_fleet(**usual_tables(**tables))
    return now, sail_again(now, since, until)


def make_history(now, past):
    return read_history(past, build_lives(past.fleet), now, build_lives(now))


def replay(policy, ageing, **tables):
    """Return what a policy came to."""
    now, past = make_past(**tables)
    stage = Stage(past, build_lives(past.fleet), ageing, price_offers(past.fleet))
    return stage.replay(policy, make_history(now, past).changes)


def with_mean_life(ageing, **lives):
    """Return parts whose new pieces last so long."""
    changed = {part: replace(ageing.parts[part], mean_life=life) for part, life in lives.items()}
    return replace(ageing, parts={**ageing.parts, **changed})
