"""The season that was: legs made of the days that went by and the hours that meters showed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from statistics import median

import numpy as np
import pandas as pd

from stockopt.errors import CommandError, Note
from stockopt.fleet.fleet import Fleet
from stockopt.lives.machines import day_number, day_numbers, iso, list_machines
from stockopt.lives.meters import Clock, read_clock
from stockopt.lives.records import sort_records

#: A season looked back on, unless asked otherwise: what a plan is made for at most.
YEAR = timedelta(days=365)

#: Legs of a fleet that plans none (common practice, no source: a week's charter).
USUAL_DAYS = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """One machine that was aboard on the day looked back to.

    Parameters
    ----------
    clock
        Its running hours; None where they were never seen.
    last
        Day number on which it, its boat, or the season ended.
    whole
        Whether it stayed to the end of her season.
    """

    clock: Clock | None
    last: int
    whole: bool

    def run(self, begin: float, end: float) -> float:
        """Return the hours run between two day numbers; 0 where they are not known.

        Examples
        --------
        >>> clock = Clock(days=np.array([0.0, 10.0]), amounts=np.array([0.0, 50.0]), per_day=5.0)
        >>> Meter(clock=clock, last=8, whole=False).run(2, 20)
        30.0
        """
        if self.clock is None:
            return 0.0
        first, last = self.clock.at(np.minimum([begin, end], self.last)).tolist()
        if math.isnan(first):
            first = float(self.clock.amounts[0])
        return 0.0 if math.isnan(last) else max(last - first, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """A season that is over, as a fleet on the day it began.

    Parameters
    ----------
    fleet
        The tables as they were known on the day `since`, with the legs that were sailed after it
        and an empty stock; planned on `since`.
    ordered
        The same, planned so early that every source could deliver by then.
    since, until
        The season is from after the one to the end of the other.
    ends
        By boat of the season: day number on which hers ended, when she was sold or it was over.
    meters
        By boat and machine.
    notes
        What could not be told, and what was done about it.
    """

    fleet: Fleet
    ordered: Fleet
    since: date
    until: date
    ends: Mapping[str, int]
    meters: Mapping[tuple[str, str], Meter]
    notes: tuple[Note, ...]

    @property
    def begins(self) -> int:
        """Return the day number of `since`."""
        return day_number(self.since)


def find_until(now: Fleet, since: date, until: date | None) -> date:
    """Return the day on which the season looked back on ends.

    Raises
    ------
    CommandError
        Where nothing was written down on one side of `since`.
    """
    days = pd.concat([now.readings["read_on"], now.replacements["on"]]).dropna()
    if days.empty:
        raise CommandError(
            ["--from: the tables hold no reading and no replacement to look back on"]
        )
    first, last = days.min().date(), days.max().date()
    if since < first:
        raise CommandError(
            [f"--from: nothing was written down by {since}, the first record is of {first}"]
        )
    if since >= last:
        raise CommandError(
            [f"--from: nothing was written down after {since}, the last record is of {last}"]
        )
    if until is not None and until <= since:
        raise CommandError([f"--until: {until} is not after {since}, where the season begins"])
    return min(last if until is None else until, now.settings.planned_on, *_year(since, until))


def _year(since: date, until: date | None) -> tuple[date, ...]:
    return (since + YEAR,) if until is None else ()


def sail_again(now: Fleet, since: date, until: date) -> Past:
    """Make the season that was.

    Parameters
    ----------
    now
        The tables as they are.
    since, until
        From :func:`find_until`.

    Notes
    -----
    The legs that were sailed are in no table: what is there is to come. So each boat is taken to
    have sailed back to back, in even legs about as long as most of hers to come, ending where most
    of them end, as far within the store's reach. The hours that her meters showed are spread evenly
    over them.

    What was on the shelves on `since` is in no table either: nothing is taken to have been there.

    Raises
    ------
    CommandError
        Where no boat was there.
    """
    notes: list[Note] = []
    then = _know(now, since)
    ends = dict(_find_boats(then, now, since, until, notes))
    if not ends:
        raise CommandError([f"--from: no boat has a record by {since} and days in the fleet after"])
    meters = _find_meters(then, now, ends, since, notes)
    legs, leg_hours = _make_legs(now, ends, meters, since)
    boats = list(ends)
    fleet = replace(
        then,
        machines=then.machines[then.machines["boat"].isin(boats) | _is_over(now, then, since)],
        legs=_as_table(legs, then.legs),
        leg_hours=_as_table(leg_hours, then.leg_hours),
        stock=then.stock.iloc[:0],
    )
    early = timedelta(days=math.ceil(_find_slowest(then)))
    settings = replace(then.settings, planned_on=since - early)
    return Past(
        fleet=fleet,
        ordered=replace(fleet, settings=settings),
        since=since,
        until=until,
        ends=ends,
        meters=meters,
        notes=tuple(notes),
    )


def _know(now: Fleet, since: date) -> Fleet:
    """Return the tables with what was written down by a day."""
    day = pd.Timestamp(since)
    return replace(
        now,
        settings=replace(now.settings, planned_on=since),
        readings=now.readings[now.readings["read_on"] <= day],
        replacements=now.replacements[now.replacements["on"] <= day],
        machines=now.machines[~(now.machines["fitted_on"] > day)],
        notes=(),
    )


def _is_over(now: Fleet, then: Fleet, since: date) -> pd.Series[bool]:
    """Tell which machines were on boats sold by a day: there is something to learn from them."""
    sold = now.boats.loc[now.boats["left_on"] <= pd.Timestamp(since), "boat"]
    return then.machines["boat"].isin(list(sold))


def _find_slowest(fleet: Fleet) -> float:
    days = fleet.sources["late_days"].fillna(fleet.sources["lead_days"])
    return 0.0 if days.empty else float(days.max())


def _find_boats(
    then: Fleet, now: Fleet, since: date, until: date, notes: list[Note]
) -> Iterator[tuple[str, int]]:
    """Yield the boats that were there, and the day on which the season of each ended."""
    begins, over = day_number(since), day_number(until)
    seen = {*then.readings["boat"], *then.replacements["boat"]}
    table = now.boats
    for row, boat, joined, left in zip(
        table.index,
        table["boat"],
        day_numbers(table["joined_on"]),
        day_numbers(table["left_on"]),
        strict=True,
    ):
        if left is not None and left <= begins:
            continue
        if (joined is not None and joined > begins) or boat not in seen:
            text = f"{boat} has no record by {since}: left out of the look back"
            notes.append(Note(table="boats", row=row, column="boat", text=text))
            continue
        if left is not None and left < over:
            text = (
                f"{boat} left on {iso(left)}: her season is taken to have been planned until then"
            )
            notes.append(Note(table="boats", row=row, column="left_on", text=text))
        yield boat, over if left is None else min(over, left)


def _find_meters(
    then: Fleet, now: Fleet, ends: Mapping[str, int], since: date, notes: list[Note]
) -> dict[tuple[str, str], Meter]:
    """Return the machines that were aboard on the day, with all that is known of their hours."""
    begins, today = day_number(since), day_number(now.settings.planned_on)
    machines, _ = list_machines(now, today)
    records, _ = sort_records(now, machines, today)
    aboard = {(boat, name) for boat, name in zip(
        then.machines["boat"], then.machines["machine"], strict=True)}  # fmt: skip
    meters = {}
    for index, machine in enumerate(machines.all):
        key = (machine.boat, machine.machine)
        gone = machine.replaced_on
        fitted = machine.fitted_on
        if machine.boat not in ends or key not in aboard:
            continue
        if (fitted is not None and fitted > begins) or (gone is not None and gone <= begins):
            continue
        clock, _ = read_clock(machine, records.sightings[index])
        last = ends[machine.boat]
        if gone is not None and gone < last:
            text = f"{machine.name}: replaced whole on {iso(gone)}; what was changed on the new one"
            notes.append(Note(table="machines", text=f"{text} is not counted"))
        meters[key] = Meter(
            clock=clock,
            last=last if gone is None else min(last, gone),
            whole=gone is None or gone >= last,
        )
    return meters


Row = Mapping[str, object]


def _make_legs(
    now: Fleet, ends: Mapping[str, int], meters: Mapping[tuple[str, str], Meter], since: date
) -> tuple[list[Row], list[Row]]:
    """Return the rows of `legs` and `leg_hours`."""
    legs: list[Row] = []
    leg_hours: list[Row] = []
    begins = day_number(since)
    homes = dict(zip(now.boats["boat"], now.boats["home_port"], strict=True))
    for boat, end in sorted(ends.items()):
        days, port, chase = _usual_leg(now.legs, boat, homes[boat])
        times = max(round((end - begins) / days), 1)
        departs_on = pd.Timestamp(iso(begins))
        legs.append(
            {
                "boat": boat,
                "departs_on": departs_on,
                "days": (end - begins) / times,
                "to_port": port,
                "hours": 0.0,
                "times": times,
                "chase_days": chase,
            }
        )
        leg_hours += [
            {
                "boat": boat,
                "departs_on": departs_on,
                "machine": machine,
                "hours": meter.run(begins, end) / times,
            }
            for (owner, machine), meter in meters.items()
            if owner == boat
        ]
    return legs, leg_hours


def _usual_leg(legs: pd.DataFrame, boat: str, home: str) -> tuple[float, str, float]:
    """Return days, port and chase days of most of a boat's legs to come.

    Of a boat that has none: those of the fleet, ending in her home port.
    """
    mine = legs[legs["boat"] == boat]
    some = legs if mine.empty else mine
    some = some.loc[some.index.repeat(some["times"])] if len(some) else some
    days = median(some["days"].tolist()) if len(some) else USUAL_DAYS
    port = home if mine.empty else _commonest(some["to_port"].tolist())
    reach = some["chase_days"].isna()
    chase = math.nan
    if len(some) and not reach.mean() > 0.5:
        chase = float(median(some.loc[~reach, "chase_days"].tolist()))
    return days, port, chase


def _commonest(names: Sequence[str]) -> str:
    return min(set(names), key=lambda name: (-names.count(name), name))


def _as_table(rows: Sequence[Row], like: pd.DataFrame) -> pd.DataFrame:
    """Return rows as a table of the same columns and kinds as another."""
    index = pd.RangeIndex(2, 2 + len(rows), name=like.index.name)
    return pd.DataFrame(list(rows), columns=like.columns, index=index).astype(like.dtypes.to_dict())
