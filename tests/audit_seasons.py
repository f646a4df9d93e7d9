"""What is fitted to a boat, run leg by leg until it fails or is due, in R seasons side by side.

Nothing here calls the forecast. From the rooms before it come the tables, the positions as they
stand and the nodes of each part's posterior.
"""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import pandas as pd
from scipy.special import gamma, gammainc, gammaincc, gammainccinv

GRADES = ("stops", "limits", "nuisance")


@dataclass(frozen=True)
class Sailed:
    """A leg as sailed: days from the day of the plan, and where each of its rows' cells lead."""

    departs: float
    days: float
    to_port: str
    chase_days: float
    hours: float
    row_departs_on: object


def write_out(fleet, boat):
    """Return the boat's legs, one for every time each is sailed."""
    rows = fleet.legs[fleet.legs["boat"] == boat].sort_values("departs_on")
    today = pd.Timestamp(fleet.settings.planned_on)
    legs = []
    for row in rows.to_dict("records"):
        for turn in range(row["times"]):
            begin = (row["departs_on"] - today) / timedelta(days=1) + turn * row["days"]
            legs.append(
                Sailed(
                    departs=begin,
                    days=row["days"],
                    to_port=row["to_port"],
                    chase_days=row["chase_days"],
                    hours=row["hours"],
                    row_departs_on=row["departs_on"],
                )
            )
    return legs


def run_clock(fleet, boat, legs, machine, clock):
    """Return what each leg adds to a machine's clock; days in port go with the leg before."""
    if clock == "days":
        begins = [leg.departs for leg in legs] + [legs[-1].departs + legs[-1].days]
        return np.diff(begins)
    own = fleet.leg_hours
    own = own[(own["boat"] == boat) & (own["machine"] == machine)]
    special = dict(zip(own["departs_on"], own["hours"], strict=True))
    return np.array([special.get(leg.row_departs_on, leg.hours) for leg in legs])


def can_restock(fleet, boat, part, port):
    """Return whether spares can be made up in a port: in its shops, or from the boat's store."""
    if port == "":
        return False
    shops = fleet.ports[fleet.ports["price_factor"].notna()]["port"]
    quays = fleet.sources[fleet.sources["kind"] == "local"]
    here = quays[quays["delivers_to"] == port]["source"]
    quotes = fleet.prices[(fleet.prices["part"] == part) & fleet.prices["source"].isin(here)]
    (owner,) = fleet.boats[fleet.boats["boat"] == boat].to_dict("records")
    at_store = owner["store"] != "" and owner["home_port"] == port
    return at_store or port in set(shops) or len(quotes) > 0


@dataclass(frozen=True)
class Events:
    """Pieces needed under way; each (E,), in no order.

    `season` says whose; `leg` and `day` (from the day of the plan) when; `grade` is the place of
    the position's consequence among GRADES, -1 where nothing failed.
    """

    season: np.ndarray
    leg: np.ndarray
    day: np.ndarray
    grade: np.ndarray


@dataclass(frozen=True)
class Seasons:
    """One part on one boat in R seasons: its events, and unspent lives at the end and today (R,).

    `grade` is the gravest consequence of its positions, as a place among GRADES.
    """

    events: Events
    grade: int
    unspent: np.ndarray
    unspent_now: np.ndarray


def draw_lives(rng, ageing, parts, count):
    """Return for each part one (shape, scale) a season, shared by all boats: {part: (R,), (R,)}."""
    drawn = {}
    for part in sorted(parts):
        nodes = ageing.parts[part].nodes
        chosen = rng.choice(len(nodes.weight), size=count, p=nodes.weight / nodes.weight.sum())
        drawn[part] = nodes.shape[chosen], nodes.scale[chosen]
    return drawn


def play_part(rng, fleet, boat, rows, life, legs, replace_now):
    """Play the positions of one part on one boat, the oldest `replace_now` of them new."""
    shape, scale = life
    count = len(shape)
    (every,) = fleet.parts[fleet.parts["part"] == rows[0]["part"]]["replace_every"]
    due = np.inf if np.isnan(every) else float(every)
    mean_life = scale * gamma(1 + 1 / shape)
    if np.isfinite(due):
        mean_life = mean_life * gammainc(1 / shape, (due / scale) ** shape)
    found, unspent, unspent_now = [], np.zeros(count), np.zeros(count)
    for turn, row in enumerate(_oldest_first(rows)):
        running = run_clock(fleet, boat, legs, row["machine"], row["clock"])
        lain = legs[0].departs if row["clock"] == "days" else 0.0
        first = _first_need(rng, row, shape, scale, due, lain)
        unspent_now += first[0] / mean_life
        if turn < replace_now:
            first = _new_need(rng, shape, scale, due)
        when, left = _run_on(rng, first, shape, scale, due, running.sum())
        unspent += left / mean_life
        grade = GRADES.index(row["consequence"])
        found.append(_on_the_calendar(when, running, legs, row["clock"], grade))
    return Seasons(
        events=gather(found),
        grade=min(GRADES.index(row["consequence"]) for row in rows),
        unspent=unspent,
        unspent_now=unspent_now,
    )


def _oldest_first(rows):
    """An unknown age counts as the oldest; ties go by machine and slot."""

    def order(row):
        unknown = np.isnan(row["age"])
        return (0, 0.0) if unknown else (1, -row["age"])

    return sorted(rows, key=lambda row: (*order(row), row["machine"], row["slot"]))


def _first_need(rng, row, shape, scale, due, lain):
    """Return how long the piece fitted today lasts from departure, and whether it then fails."""
    known = not np.isnan(row["age"])
    age = np.full(len(shape), (row["age"] if known else row["age_at_least"]) + lain)
    if not known and age[0] < due:
        age = _draw_age(rng, shape, scale, age, due)
    hazard = (age / scale) ** shape + rng.exponential(size=len(shape))
    life = scale * hazard ** (1 / shape)
    return np.maximum(np.minimum(life, due) - age, 0.0), life < np.maximum(due, age)


def _draw_age(rng, shape, scale, least, due):
    """Draw an age above `least` and below `due` with a density in proportion to survival."""
    low = (least / scale) ** shape
    top = gammaincc(1 / shape, low)
    bottom = gammaincc(1 / shape, (due / scale) ** shape) if np.isfinite(due) else 0.0
    share = rng.random(len(shape))
    # so far out that nothing is left in double precision, the age ends like an exponential
    age = scale * (low + rng.exponential(size=len(shape))) ** (1 / shape)
    inside = top - bottom > 1e-280
    level = np.where(inside, bottom + share * (top - bottom), 0.5)
    drawn = scale * gammainccinv(1 / shape, level) ** (1 / shape)
    return np.where(inside, drawn, np.minimum(age, due))


def _new_need(rng, shape, scale, due):
    life = scale * rng.exponential(size=len(shape)) ** (1 / shape)
    return np.minimum(life, due), life < due


def _run_on(rng, first, shape, scale, due, until):
    """Return all needs before `until`, (season, time, failed), and how long the next is after."""
    time, failed = first[0].copy(), first[1].copy()
    seasons, times, failures = [], [], []
    running = np.flatnonzero(time < until)
    while len(running):
        seasons.append(running)
        times.append(time[running])
        failures.append(failed[running])
        more, fails = _new_need(rng, shape[running], scale[running], due)
        time[running] += more
        failed[running] = fails
        running = running[time[running] < until]
    empty = np.zeros(0)
    joined = (
        np.concatenate([np.zeros(0, dtype=np.int64), *seasons]),
        np.concatenate([empty, *times]),
        np.concatenate([empty.astype(bool), *failures]),
    )
    return joined, time - until


def _on_the_calendar(when, running, legs, clock, grade):
    season, time, failed = when
    reached = np.concatenate([[0.0], np.cumsum(running)])
    leg = np.searchsorted(reached[1:], time, side="right")
    departs, days = (np.array([getattr(a, name) for a in legs]) for name in ("departs", "days"))
    since = time - reached[leg]
    length = np.ones(len(running)) if clock == "days" else days / np.maximum(running, 1e-12)
    day = departs[leg] + since * length[leg]
    return Events(season=season, leg=leg, day=day, grade=np.where(failed, grade, -1))


def gather(several, times=1):
    """Return several lots of events as one, each event `times` times."""
    names = ("season", "leg", "day", "grade")
    return Events(
        **{
            name: np.repeat(
                np.concatenate(
                    [np.zeros(0, dtype=np.int64), *(getattr(one, name) for one in several)]
                ),
                times,
            ).astype(np.float64 if name == "day" else np.int64)
            for name in names
        }
    )


def use_up_with(own, uses):
    """Return the events of a part with those of the parts it is used with: (events, quantity)."""
    used = [gather([events], quantity) for events, quantity in uses]
    used = [
        Events(season=e.season, leg=e.leg, day=e.day, grade=np.full(len(e.leg), -1)) for e in used
    ]
    return gather([own, *used])
