"""What fails when: the pieces of one part on every boat, run until they fail or are due.

Each position has random numbers of its own, told by its name and the seed: whatever plan is played
and in whatever order the tables stand, its pieces meet the same fate. A season is one future of the
whole fleet: all positions of a part share the life drawn for it.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import gamma, gammainc, gammaincc, gammainccinv

from stockopt.ageing.ageing import Nodes
from stockopt.rehearsal.calendar import Bools, Calendar, Floats, Ints
from stockopt.units import CONSEQUENCES

#: Below this, the chance of an age is too small to be told apart in double precision.
_NOTHING_LEFT = 1e-280
#: A piece that fails before it is due less often than this lasts until then, on average too.
_HARDLY_ANY = 1e-12
#: The greatest logarithm of a hazard: beyond it a piece fails at once in any case.
_MOST = 600.0


def find_hazard(age: float | Floats, shape: Floats, scale: Floats) -> Floats:
    """Return the cumulative hazard (age / scale)^shape, without overflow."""
    with np.errstate(divide="ignore"):
        exponent = shape * np.log(np.asarray(age) / scale)
    return np.asarray(np.exp(np.minimum(exponent, _MOST)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One position: where it is, what is fitted there, how grave it is when that fails.

    `age` is that at the first departure, or, where not `known`, what it is at least; `grade` is the
    place of its consequence among CONSEQUENCES.
    """

    boat: str
    machine: str
    slot: int
    clock: str
    age: float
    known: bool
    grade: int

    @property
    def order(self) -> tuple[bool, float, str, int]:
        """Oldest first, an unknown age counting as the oldest."""
        return self.known, -self.age if self.known else 0.0, self.machine, self.slot


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """The life drawn for a part: shape and scale of each season (R,), and the age it is due at."""

    shape: Floats
    scale: Floats
    due: float

    def on_boat(self, factor: float) -> Life:
        """Return the life on a boat whose pieces fail `factor` times as often at every age."""
        if factor == 1.0:
            return self
        scale = self.scale * factor ** (-1.0 / self.shape)
        return Life(shape=self.shape, scale=scale, due=self.due)

    def mean(self) -> Floats:
        """Return the mean time from new until failed or due: (R,)."""
        mean = self.scale * gamma(1.0 + 1.0 / self.shape)
        if math.isfinite(self.due):
            hazard = find_hazard(self.due, self.shape, self.scale)
            mean = mean * gammainc(1.0 / self.shape, hazard)
            mean = np.where(hazard < _HARDLY_ANY, self.due, mean)
        return np.asarray(mean)


@dataclass(frozen=True, slots=True, kw_only=True)
class Events:
    """Needs of one part, by boat, season and day; each array (E,).

    Parameters
    ----------
    boat, season, leg
        Numbers: of the boat and the leg in the calendar.
    day
        From the day of the plan.
    grade
        Of a failure, its place among CONSEQUENCES; -1 where nothing failed (a change on schedule,
        or a piece used up with another part).
    luck
        Even on 0 to 1: decides whether a store has the piece on its shelf.
    """

    boat: Ints
    season: Ints
    leg: Ints
    day: Floats
    grade: Ints
    luck: Floats

    def picked(self, chosen: Bools | Ints) -> Events:
        """Return some of the events."""
        return Events(**{name: getattr(self, name)[chosen] for name in _COLUMNS})


_COLUMNS = ("boat", "season", "leg", "day", "grade", "luck")


@dataclass(frozen=True, slots=True, kw_only=True)
class Future:
    """All that can befall one part: with each position as found, and with a new piece in it.

    Parameters
    ----------
    seats
        P positions, by boat, on each the oldest first.
    boat
        (P,): number of each seat's boat in the calendar.
    turn
        (P,): 0 for the position of its boat that is replaced first, and so on.
    events, seat, fresh
        Events of both kinds together, the number of the position of each, and whether it befalls a
        new piece: (E,).
    unspent, unspent_fresh
        (P, R): time until the next need after the last leg, in mean lives.
    unspent_now
        (P, R): time until the first need, nothing being replaced, in mean lives.
    """

    seats: tuple[Seat, ...]
    boat: Ints
    turn: Ints
    events: Events
    seat: Ints
    fresh: Bools
    unspent: Floats
    unspent_fresh: Floats
    unspent_now: Floats


def list_seats(positions: pd.DataFrame, calendar: Calendar) -> tuple[Seat, ...]:
    """Return the positions of one part on boats with legs to come, as at departure."""
    seats = []
    for row in positions.to_dict("records"):
        if row["boat"] not in calendar.first:
            continue
        known = not math.isnan(row["age"])
        # A part that ages by the calendar ages in port until she departs as well.
        departs = float(calendar.departs[calendar.first[row["boat"]]])
        lain = departs if row["clock"] == "days" else 0.0
        seats.append(
            Seat(
                boat=row["boat"],
                machine=row["machine"],
                slot=int(row["slot"]),
                clock=row["clock"],
                age=float(row["age"] if known else row["age_at_least"]) + lain,
                known=known,
                grade=CONSEQUENCES.index(row["consequence"]),
            )
        )
    return tuple(sorted(seats, key=lambda seat: (seat.boat, seat.order)))


def draw_life(seed: int, part: str, nodes: Nodes, due: float, seasons: int) -> Life:
    """Return the life of a part in each season, drawn from its posterior."""
    reached = np.cumsum(nodes.weight)
    lot = make_random(seed, "life", part).random(seasons)
    node = np.minimum(np.searchsorted(reached / reached[-1], lot), len(reached) - 1)
    return Life(shape=nodes.shape[node], scale=nodes.scale[node], due=due)


def make_random(seed: int, *names: object) -> np.random.Generator:
    """Return the random numbers that belong to a name."""
    text = "\0".join(str(name) for name in names).encode()
    key = int.from_bytes(hashlib.blake2b(text, digest_size=8).digest(), "big")
    return np.random.default_rng([seed, key])


def play_out(
    seed: int,
    part: str,
    seats: Sequence[Seat],
    lives: Sequence[Life],
    calendar: Calendar,
    *,
    replaced: Sequence[bool],
    seasons: int,
) -> Future:
    """Run every position leg by leg to the end of its boat's last leg.

    Parameters
    ----------
    seed, part
        What the random numbers go by.
    seats
        P positions of the part.
    lives
        Of each position's part on its boat.
    calendar
        The legs.
    replaced
        Whether a new piece is to be looked at too, for each position.
    seasons
        R.
    """
    number = {boat: index for index, boat in enumerate(calendar.boats)}
    unspent, now, found, seat_of, fresh_of = [], [], [], [], []
    unspent_fresh = np.zeros((len(seats), seasons))
    for place, (seat, life) in enumerate(zip(seats, lives, strict=True)):
        mean = life.mean()
        reached = calendar.reached(seat.boat, seat.machine, seat.clock)
        for fresh in (False, True) if replaced[place] else (False,):
            run = _run(make_random(seed, part, seat.boat, seat.machine, seat.slot), seat, life,
                       float(reached[-1]), fresh=fresh)  # fmt: skip
            events = _on_the_calendar(run, seat, number[seat.boat], calendar, reached)
            found.append(events)
            seat_of.append(np.full(len(events.day), place))
            fresh_of.append(np.full(len(events.day), fresh))
            if fresh:
                unspent_fresh[place] = run.left / mean
            else:
                unspent.append(run.left / mean)
                now.append(run.first / mean)
    events = join_events(found)
    order = in_order(events)
    empty = np.zeros((0, seasons))
    boat = np.array([number[seat.boat] for seat in seats], dtype=np.int64)
    first = np.searchsorted(boat, boat)
    return Future(
        seats=tuple(seats),
        boat=boat,
        turn=np.arange(len(seats)) - first,
        events=events.picked(order),
        seat=np.concatenate([np.zeros(0, dtype=np.int64), *seat_of])[order],
        fresh=np.concatenate([np.zeros(0, dtype=bool), *fresh_of])[order],
        unspent=np.array(unspent) if unspent else empty,
        unspent_fresh=unspent_fresh,
        unspent_now=np.array(now) if now else empty,
    )


def join_events(several: Iterable[Events]) -> Events:
    """Return several lots of events as one, lot by lot."""
    lots = list(several)
    whole = ("boat", "season", "leg", "grade")
    return Events(
        **{
            name: np.concatenate(
                [
                    np.zeros(0, dtype=np.int64 if name in whole else np.float64),
                    *(getattr(lot, name) for lot in lots),
                ]
            )
            for name in _COLUMNS
        }
    )


def in_order(events: Events) -> Ints:
    """Return the places of the events by boat, season, leg and day."""
    return np.lexsort((events.day, events.leg, events.season, events.boat))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    """One position until the end: its needs (E,) by season, clock time and whether it failed.

    `first` and `left` (R,) are the times from departure to the first need, and from the end to the
    next.
    """

    season: Ints
    time: Floats
    failed: Bools
    luck: Floats
    first: Floats
    left: Floats


def _run(random: np.random.Generator, seat: Seat, life: Life, until: float, *, fresh: bool) -> _Run:
    """Fit piece after piece in one position, in all seasons side by side.

    A season's n-th piece has the same random numbers whatever came before, so that plans and
    lives that differ are played against the same luck.
    """
    seasons = len(life.shape)
    lot = random.random(seasons)
    age: float | Floats = 0.0 if fresh else seat.age
    if not fresh and not seat.known and seat.age < life.due:
        age = _draw_age(lot, seat.age, life)
    time, failed = _next_need(random, life, np.arange(seasons), age)
    first = time.copy()
    running = np.flatnonzero(time < until)
    lots: list[tuple[Ints, Floats, Bools, Floats]] = []
    while len(running):
        luck = random.random(seasons)[running]
        lots.append((running, time[running], failed[running], luck))
        more, fails = _next_need(random, life, running, 0.0)
        time[running] += more
        failed[running] = fails
        running = running[time[running] < until]
    nothing = np.zeros(0)
    return _Run(
        season=np.concatenate([np.zeros(0, dtype=np.int64), *(lot[0] for lot in lots)]),
        time=np.concatenate([nothing, *(lot[1] for lot in lots)]),
        failed=np.concatenate([np.zeros(0, dtype=np.bool_), *(lot[2] for lot in lots)]),
        luck=np.concatenate([nothing, *(lot[3] for lot in lots)]),
        first=first,
        left=time - until,
    )


def _next_need(
    random: np.random.Generator, life: Life, running: Ints, age: float | Floats
) -> tuple[Floats, Bools]:
    """Return how long pieces of an age last from now, and whether they then fail or are due."""
    more = random.standard_exponential(len(life.shape))[running]
    shape, scale = life.shape[running], life.scale[running]
    hazard = more + find_hazard(age, shape, scale)
    reached = scale * hazard ** (1.0 / shape)
    lasts = np.maximum(np.minimum(reached, life.due) - age, 0.0)
    return lasts, reached < np.maximum(life.due, age)


def _draw_age(lot: Floats, least: float, life: Life) -> Floats:
    """Return ages of pieces whose fitting nobody saw: as likely as a new piece outlasts each.

    Above `least`, and below `due` where the part is changed on schedule.
    """
    power = 1.0 / life.shape
    low = find_hazard(least, life.shape, life.scale)
    top = gammaincc(power, low)
    bottom = np.zeros_like(top)
    if math.isfinite(life.due):
        bottom = gammaincc(power, find_hazard(life.due, life.shape, life.scale))
    inside = top - bottom > _NOTHING_LEFT
    level = np.where(inside, bottom + (1.0 - lot) * (top - bottom), 0.5)
    drawn = life.scale * gammainccinv(power, level) ** power
    # Where next to none get so old, what is beyond falls off like an exponential.
    beyond = life.scale * (low - np.log1p(-lot)) ** power
    return np.asarray(np.minimum(np.where(inside, drawn, beyond), life.due))


def _on_the_calendar(
    run: _Run, seat: Seat, boat: int, calendar: Calendar, reached: Floats
) -> Events:
    """Return a position's needs as events on their legs; running is even over a leg's days."""
    own = np.searchsorted(reached, run.time, side="right")
    begun = np.append(0.0, reached[:-1])
    leg = own + calendar.first[seat.boat]
    length = reached - begun
    share = (run.time - begun[own]) / length[own]
    over = calendar.until_next if seat.clock == "days" else calendar.days
    return Events(
        boat=np.full(len(own), boat),
        season=run.season,
        leg=leg,
        day=calendar.departs[leg] + share * over[leg],
        grade=np.where(run.failed, seat.grade, -1),
        luck=run.luck,
    )
