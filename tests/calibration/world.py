"""Fleets whose pieces' true lives are known: the distributions they are drawn from, and records.

None of the distributions is the priors' own; all were written down before the first run.

* A fleet has 1 to 12 boats, 10 to 30 parts and 1 to 6 years of history. A boat is new (0.4 of
  them; records from her first day, which lies in the history), came with a past that is known
  (0.3; late entry) or with one that is not (0.3; first ages unknown, 0 to 10 years of past).
* A boat runs each engine 150 to 800 h a year (log-uniform), a quarter as fast from November to
  March; one or two engines; 0.6 of them a watermaker with 0.2 to 0.8 of those hours. 0.1 of the
  engines were replaced whole by a new one.
* Parts come in families of 1 to 6 that wear (0.5), fail at random (0.25) or neither is known
  (0.25): shapes uniform over 1.5 to 4, 0.8 to 1.2, 0.8 to 3. A family's centre is log-uniform over
  300 to 6,000 h, or of days by the calendar (0.25 of the families); a member's mean life is up to
  twice or half of that, log-uniform. 0.8 of the families are told.
* The expected life is told for 0.7 of the parts and misses the true mean by a factor that is
  log-uniform over `told_within` either way; by default the whole range is tenfold, as published
  rates for the same kind of part disagree (common practice, no source).
* 1, 2, 4 or 6 pieces to a machine (0.5, 0.25, 0.15, 0.1). 0.25 of the parts that wear are changed
  on schedule at 0.3 to 1 of the true mean life. Pieces that still work are pulled (swapped,
  borrowed) at random, 1 in 8 mean lives. Half of the fleets write down slots.
* The season to come is 150 days, with 0.3 to 0.6 of a year's hours.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from lives_builders import make_unchecked_fleet
from scipy.special import gamma

from stockopt.fleet.fleet import Fleet
from stockopt.settings import Settings

PLANNED_ON = date(2031, 4, 1)
SEASON_DAYS = 150
TENFOLD = 10.0**0.5

SHAPES = {"wears": (1.5, 4.0), "random": (0.8, 1.2), "": (0.8, 3.0)}


@dataclass(frozen=True, kw_only=True)
class TruePart:
    """One part as it is: shape and mean on its clock; the model it is fitted to, and how many."""

    part: str
    clock: str
    shape: float
    mean: float
    change_at: float
    model: str
    quantity: int

    @property
    def scale(self) -> float:
        return self.mean / gamma(1.0 + 1.0 / self.shape)


@dataclass(kw_only=True)
class World:
    """A fleet's records, the truth behind them, and what the season to come will need."""

    fleet: Fleet
    truth: Mapping[str, TruePart]
    needs: Mapping[tuple[str, str], int]
    slots_told: bool


@dataclass
class Meter:
    """A machine's running hours: linear from month to month; days count from the plan's."""

    days: np.ndarray
    hours: np.ndarray

    def hours_on(self, day):
        return np.interp(day, self.days, self.hours)

    def day_of(self, hours):
        return np.interp(hours, self.hours, self.days)


@dataclass
class Tables:
    """Rows of the tables while they are drawn."""

    boats: list = field(default_factory=list)
    machines: list = field(default_factory=list)
    readings: list = field(default_factory=list)
    parts: list = field(default_factory=list)
    fitted: list = field(default_factory=list)
    replacements: list = field(default_factory=list)
    legs: list = field(default_factory=list)
    leg_hours: list = field(default_factory=list)


def draw_world(
    seed: int,
    told_within: float = TENFOLD,
    past_told: bool = True,
    years: float | None = None,
    most_boats: int = 12,
) -> World:
    """Draw one fleet, its records and its next season.

    `years` of history instead of 1 to 6, and at most so many boats, where that is given.

    Without `past_told` nothing was written down before a boat joined but when her engines were
    fitted, new: the pieces she came with may have been changed before.
    """
    rng = np.random.default_rng([2031, seed])
    tables = Tables()
    truth = _draw_parts(rng, tables, told_within)
    slots_told = bool(rng.random() < 0.5)
    history = 365.0 * rng.uniform(1.0, 6.0)
    if years is not None:
        history = 365.0 * years
    needs: dict[tuple[str, str], int] = {}
    for number in range(min(most_boats, int(rng.integers(1, 13)))):
        boat = f"Boat {number + 1}"
        _draw_boat(rng, tables, boat, history, truth, slots_told, past_told, needs)
    fleet = make_unchecked_fleet(Settings(planned_on=PLANNED_ON), **vars(tables))
    return World(fleet=fleet, truth=truth, needs=needs, slots_told=slots_told)


def _log_uniform(rng, low, high):
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def _draw_parts(rng, tables, told_within):
    wanted = int(rng.integers(10, 31))
    truth: dict[str, TruePart] = {}
    while len(truth) < wanted:
        family = f"family {len(truth) + 1}" if rng.random() < 0.8 else ""
        wear = str(rng.choice(["wears", "random", ""], p=[0.5, 0.25, 0.25]))
        clock = "days" if rng.random() < 0.25 else "hours"
        centre = _log_uniform(rng, 300.0, 6000.0)
        for _ in range(int(rng.integers(1, 7))):
            if len(truth) == wanted:
                break
            part = TruePart(
                part=f"P{len(truth) + 1}",
                clock=clock,
                shape=float(rng.uniform(*SHAPES[wear])),
                mean=centre * _log_uniform(rng, 0.5, 2.0),
                change_at=np.inf,
                model="engine" if rng.random() < 0.7 else "watermaker",
                quantity=int(rng.choice([1, 2, 4, 6], p=[0.5, 0.25, 0.15, 0.1])),
            )
            row = {"part": part.part, "name": part.part, "clock": clock, "wear": wear}
            row |= {"family": family, "price": 10.0}
            if rng.random() < 0.7:
                row["expected_life"] = part.mean * _log_uniform(rng, 1 / told_within, told_within)
            if wear == "wears" and rng.random() < 0.25:
                row["replace_every"] = float(np.ceil(part.mean * rng.uniform(0.3, 1.0)))
                part = TruePart(**{**vars(part), "change_at": row["replace_every"]})
            truth[part.part] = part
            tables.parts.append(row)
            tables.fitted.append(
                {"model": part.model, "part": part.part, "quantity": part.quantity}
            )
    return truth


def _draw_boat(rng, tables, boat, history, truth, slots_told, past_told, needs):
    past = str(rng.choice(["new", "known", "unknown"], p=[0.4, 0.3, 0.3]))
    first = -int(rng.uniform(0.3, 1.0) * history) if past == "new" else -int(history)
    begun = first if past == "new" else first - int(365.0 * rng.uniform(0.0, 10.0))
    yearly, share = _log_uniform(rng, 150.0, 800.0), rng.uniform(0.3, 0.6)
    tables.boats.append({"boat": boat, "joined_on": None if past == "unknown" else on(first)})
    tables.legs.append(
        {
            "boat": boat,
            "departs_on": PLANNED_ON,
            "days": SEASON_DAYS,
            "to_port": "Home",
            "hours": share * yearly,
        }
    )
    names = [("port engine", "engine", 1.0), ("starboard engine", "engine", 1.0)]
    machines = names[: int(rng.integers(1, 3))]
    if rng.random() < 0.6:
        machines.append(("watermaker", "watermaker", float(rng.uniform(0.2, 0.8))))
    for machine, model, factor in machines:
        season = share * yearly * factor
        if factor != 1.0:
            tables.leg_hours.append(
                {"boat": boat, "departs_on": PLANNED_ON, "machine": machine, "hours": season}
            )
        spans = [(begun, 0, past != "unknown")]
        if rng.random() < 0.1:
            swapped = int(first * rng.uniform(0.1, 0.9))
            spans = [(begun, swapped, past != "unknown"), (swapped, 0, True)]
        place = {"boat": boat, "machine": machine}
        for start, stop, told in spans:
            meter = _run_meter(start, stop, yearly * factor)
            row = {**place, "model": model}
            if told:
                row |= {"fitted_on": on(start), "hours_at_fitting": 0.0}
            tables.machines.append(row)
            told_from = start if told and past_told else max(start, first)
            _read_meter(tables, place, meter, told_from, stop)
            for part in truth.values():
                if part.model == model:
                    count = _follow(
                        rng, tables, place, part, meter, (told_from, stop), slots_told, season
                    )
                    if stop == 0:
                        needs[boat, part.part] = needs.get((boat, part.part), 0) + count


def on(day):
    """Return the day so many days from the plan's."""
    return PLANNED_ON + timedelta(days=int(day))


def _run_meter(start, stop, yearly):
    days = np.unique(np.append(np.arange(start, stop, 30), stop)).astype(float)
    months = np.array([on(day).month for day in days[:-1]])
    slow = (months >= 11) | (months <= 3)
    rate = yearly / 365.0 * np.where(slow, 0.25, 1.0) / (7 / 12 + 5 / 12 * 0.25)
    return Meter(days, np.concatenate([[0.0], np.cumsum(rate * np.diff(days))]))


def _read_meter(tables, place, meter, first, stop):
    seen = sorted({first, *(int(day) for day in meter.days if first <= day <= stop)} - {stop})
    tables.readings += [
        {**place, "read_on": on(day), "hours": float(meter.hours_on(day))} for day in seen
    ]
    # On the day a machine takes another's place a reading belongs to the new one.
    last = stop if stop == 0 else stop - 1
    if last > seen[-1]:
        tables.readings.append({**place, "read_on": on(last), "hours": meter.hours_on(last)})


def _follow(rng, tables, place, part, meter, told, slots_told, season):
    """Write down every change of a part on a machine; return the needs of the season to come.

    Pieces live on without a break; what falls due on a day is written down on that day.
    """
    start, first, stop = meter.days[0], *told
    by_hours = part.clock == "hours"
    end = meter.hours[-1] if by_hours else stop - start
    needs = 0
    for slot in range(1, part.quantity + 1):
        clock = 0.0
        while True:
            life = part.scale * rng.weibull(part.shape)
            pulled = rng.exponential(8.0 * part.mean)
            lasts = min(life, pulled, part.change_at)
            if clock + lasts >= end:
                break
            clock += lasts
            day = meter.day_of(clock) if by_hours else start + clock
            if day >= first:
                row = {**place, "on": on(day), "part": part.part}
                row["reason"] = _reason(rng, life, pulled, part.change_at)
                if by_hours:
                    row["hours"] = clock
                if slots_told:
                    row["slot"] = slot
                tables.replacements.append(row)
        ahead = end + (season if by_hours else SEASON_DAYS)
        clock += min(life, part.change_at)
        while clock < ahead:
            needs += 1
            clock += min(part.scale * rng.weibull(part.shape), part.change_at)
    return needs


def _reason(rng, life, pulled, change_at):
    if life <= min(pulled, change_at):
        return str(rng.choice(["failed", "worn", "unknown"], p=[0.8, 0.15, 0.05]))
    return "scheduled" if change_at <= pulled else str(rng.choice(["swapped", "borrowed"]))
