"""Seasons small enough to count on one's fingers, and a slow way to count longer ones."""

from datetime import date

import numpy as np
from builders import make_fleet

from stockopt.ageing.ageing import Ageing, Nodes, PartAgeing
from stockopt.lives.build import build_lives
from stockopt.rehearsal.calendar import write_out
from stockopt.rehearsal.futures import Events
from stockopt.rehearsal.held import NEVER, Aboard, InDate
from stockopt.rehearsal.money import Money
from stockopt.rehearsal.policy import Policy, Stowed
from stockopt.rehearsal.seasons import World
from stockopt.sourcing import price_offers

#: Departs 30 days after the day of the plan: ten days at sea, five in port, then two weeks back.
LEGS = (
    {"boat": "Alba", "departs_on": date(2031, 5, 1), "days": 10, "to_port": "Isla", "hours": 40},
    {"boat": "Alba", "departs_on": date(2031, 5, 16), "days": 7, "to_port": "Porto", "hours": 14}
    | {"times": 2, "chase_days": 1},
)

NUMBERS = (
    "exposure",
    "shape",
    "shape_low",
    "shape_high",
    "scale",
    "mean_life",
    "mean_life_low",
    "mean_life_high",
)


def make_voyages(legs=LEGS, **tables):
    """Return a fleet with legs and whatever tables are given."""
    tables.setdefault("machines", [{"boat": "Alba", "machine": "engine", "model": "M"}])
    tables.setdefault("boats", [{"boat": "Alba", "home_port": "Porto", "day_cost": 100}])
    tables.setdefault("parts", [{"part": "seal", "price": 10, "clock": "hours"}])
    tables.setdefault("fitted", [{"model": "M", "part": "seal"}])
    tables.setdefault(
        "readings",
        [
            {
                "boat": row["boat"],
                "machine": row["machine"],
                "read_on": date(2031, 4, 1),
                "hours": 0,
            }
            for row in tables["machines"]
        ],
    )
    return make_fleet(legs=list(legs), **tables)


def make_calendar(legs=LEGS, **tables):
    return write_out(make_voyages(legs, **tables))


def make_events(*needs, luck=0.0):
    """Return events of boat 0 from (season, leg, day) or (season, leg, day, grade)."""
    rows = sorted((*need, -1)[:4] for need in needs)
    season, leg, day, grade = (np.array(column) for column in zip(*rows, strict=True))
    return Events(
        boat=np.zeros(len(rows), dtype=np.int64),
        season=season,
        leg=leg,
        day=day.astype(float),
        grade=grade,
        luck=np.full(len(rows), luck),
    )


def make_money(calendar, stretch, **changes):
    """Return prices by leg: a piece 10 anywhere, a lost day 100, a day in port to wait."""
    legs = len(calendar.days)
    usual = {
        "restock": np.full(legs, 10.0),
        "short": np.full(legs, 10.0),
        "wait": np.ones(legs),
        "in_reach": np.zeros(legs, dtype=bool),
        "empty_wait": np.array([5.0]),
        "lost_day": np.array([100.0]),
        "failing": np.array([[50.0, 20.0, 5.0]]),
        "fitting": 7.0,
        "worth": np.array([4.0]),
        "spare_worth": np.array([4.0]),
        "end_leg": np.searchsorted(stretch, stretch, side="right") - 1,
        "at_store": np.zeros(legs, dtype=bool),
        "end_day": calendar.departs + calendar.days,
        "fallback": 10.0,
    }
    stretch = np.array(stretch)
    return Money(stretch=stretch, last_stretch=stretch[-1:], **(usual | changes))


def make_aboard(carry, seasons, *, restock=False, late=0, joins=NEVER, in_date=None):
    whole = np.ones((1, seasons), dtype=np.int64)
    return Aboard(
        carry=carry * whole,
        restock=np.array([restock]),
        late=late * whole,
        joins=np.full((1, seasons), joins),
        in_date=in_date,
    )


def make_dated(last_days, seasons, *, bought=np.inf, keeps=np.inf, **more):
    """Return spares by their last good days, those on order first; a piece keeps so many days."""
    until = np.array([last_days], dtype=float) + 1.0
    in_date = InDate(until=until, expire=np.array([True]), bought=bought + 1.0, keeps=keeps)
    return make_aboard(len(last_days), seasons, in_date=in_date, **more)


def make_ageing(**parts):
    """Return parts whose lives are known for certain: part=(shape, scale)."""
    known = {}
    for part, (shape, scale) in parts.items():
        nodes = Nodes(shape=np.array([shape]), scale=np.array([scale]), weight=np.ones(1))
        numbers = dict.fromkeys(NUMBERS, 1.0)
        blank = dict.fromkeys(("rate_per_1000", "rate_low", "rate_high", "ml_shape", "ml_scale"))
        known[part] = PartAgeing(
            part=part, clock="hours", failures=0, prior_only=True, prior="", nodes=nodes,
            **numbers, **blank,
        )  # fmt: skip
    return Ageing(parts=known, notes=())


def make_world(fleet, ageing, *, seasons=2, seed=1, **changes):
    return World(
        fleet=fleet,
        lives=build_lives(fleet),
        ageing=ageing,
        offers=price_offers(fleet),
        seasons=seasons,
        seed=seed,
        **changes,
    )


def make_policy(spend_now=0.0, *, bought=False, **stowed):
    """Return a policy for Alba: part=(carry, replace_now, restock); hers before, or bought now."""
    lines = {
        ("Alba", part): Stowed(
            carry=carry,
            replace_now=replace_now,
            restock=restock,
            on_hand=0 if bought else carry + replace_now,
        )
        for part, (carry, replace_now, restock) in stowed.items()
    }
    return Policy(name="test", stowed=lines, spend_now=spend_now, drawn=(), goods={})
