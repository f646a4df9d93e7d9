"""Legs written out, and cut where spares of a part can be made up."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from stockopt.demand.demand import Floats, Leg, Stretch
from stockopt.fleet.fleet import Fleet
from stockopt.units import Clock


@dataclass(frozen=True, slots=True, kw_only=True)
class Voyage:
    """The whole plan of one boat.

    Parameters
    ----------
    legs
        From the first departure on.
    days_before
        Days from the day of the plan to the first departure.
    days
        For each leg its days and those in port after it, until the next one departs.
    hours
        For each leg the running hours of a machine that says nothing else.
    own_hours
        For each machine that has any, hours of its own by leg; NaN where it has none.
    """

    legs: tuple[Leg, ...]
    days_before: float
    days: tuple[float, ...]
    hours: tuple[float, ...]
    own_hours: Mapping[str, tuple[float, ...]]

    def under_way(self, machine: str, clock: Clock) -> tuple[float, ...]:
        """Return what each leg adds to a machine's clock before she is in port."""
        if clock == "days":
            return tuple(
                min(leg.days, whole) for leg, whole in zip(self.legs, self.days, strict=True)
            )
        return self.running(machine, clock)

    def running(self, machine: str, clock: Clock) -> tuple[float, ...]:
        """Return what each leg adds to a machine's clock: running hours, or days.

        The calendar does not stop in port: days between two legs count with the one before.
        """
        if clock == "days":
            return self.days
        own = self.own_hours.get(machine)
        if own is None:
            return self.hours
        return tuple(
            usual if math.isnan(hours) else hours
            for hours, usual in zip(own, self.hours, strict=True)
        )


def write_out_legs(fleet: Fleet) -> dict[str, Voyage]:
    """Return the voyage of each boat with legs to come.

    A leg with `times` n is sailed n times back to back; hours of its own hold every time. Legs
    that departed before the day of the plan are not in a fleet's tables.
    """
    own = {
        (boat, departs_on, machine): float(hours)
        for boat, departs_on, machine, hours in zip(
            fleet.leg_hours["boat"],
            fleet.leg_hours["departs_on"].dt.date,
            fleet.leg_hours["machine"],
            fleet.leg_hours["hours"],
            strict=True,
        )
    }
    voyages: dict[str, Voyage] = {}
    for boat, rows in _list_rows(fleet).items():
        rows_of_legs = [row for row in rows for _ in range(row.times)]
        legs = tuple(leg for row in rows for leg in _repeat(row))
        voyages[boat] = Voyage(
            legs=legs,
            days_before=float((legs[0].departs_on - fleet.settings.planned_on).days),
            days=_until_next(legs),
            hours=tuple(row.hours for row in rows_of_legs),
            own_hours={
                machine: tuple(
                    own.get((boat, row.departs_on, machine), math.nan) for row in rows_of_legs
                )
                for machine in {machine for owner, _, machine in own if owner == boat}
            },
        )
    return voyages


class _Row(NamedTuple):
    """One row of the legs table."""

    departs_on: date
    days: float
    to_port: str
    hours: float
    times: int
    chase_days: float


def _list_rows(fleet: Fleet) -> dict[str, list[_Row]]:
    """Return the rows of the legs table by boat, in order of departure."""
    table = fleet.legs
    rows: dict[str, list[_Row]] = {}
    for boat, *cells in zip(
        table["boat"],
        table["departs_on"].dt.date,
        *(table[name] for name in ("days", "to_port", "hours", "times", "chase_days")),
        strict=True,
    ):
        rows.setdefault(boat, []).append(_Row(*cells))
    return {boat: sorted(found) for boat, found in rows.items()}


def _repeat(row: _Row) -> list[Leg]:
    """Return a row of the legs table written out."""
    return [
        Leg(
            departs_on=row.departs_on + timedelta(days=turn * row.days),
            days=row.days,
            to_port=row.to_port,
            chase_days=None if math.isnan(row.chase_days) else row.chase_days,
        )
        for turn in range(row.times)
    ]


def _until_next(legs: tuple[Leg, ...]) -> tuple[float, ...]:
    """Return for each leg the days until the next departs, and the days of the last."""
    days = []
    for leg, later in itertools.pairwise(legs):
        gap = float((later.departs_on - leg.departs_on).days)
        # Dates lose part days; back to back, a leg takes just its own.
        days.append(leg.days if abs(gap - leg.days) < 1.0 else gap)
    return (*days, legs[-1].days)


@dataclass(frozen=True, slots=True)
class Restocking:
    """Where each part can be had on the way."""

    local: frozenset[tuple[str, str]]
    any_part: frozenset[str]
    at_store: Mapping[str, str]

    def possible(self, boat: str, part: str, port: str) -> bool:
        """Return whether `boat` can make up her spares of `part` in `port`."""
        return (
            port in self.any_part
            or (port, part) in self.local
            or (port != "" and self.at_store.get(boat) == port)
        )


def find_restocking(fleet: Fleet) -> Restocking:
    """Return where parts can be had.

    From a local source that quotes them, from any shop of a port with a price factor, or from the
    boat's store in her home port.
    """
    sources = fleet.sources[fleet.sources["kind"] == "local"]
    quoted = sources.merge(fleet.prices, on="source")
    boats = fleet.boats[fleet.boats["store"] != ""]
    ports = fleet.ports[fleet.ports["price_factor"].notna()]
    return Restocking(
        local=frozenset(zip(quoted["delivers_to"], quoted["part"], strict=True)),
        any_part=frozenset(ports["port"]),
        at_store=dict(zip(boats["boat"], boats["home_port"], strict=True)),
    )


def cut_legs(boat: str, part: str, legs: tuple[Leg, ...], places: Restocking) -> tuple[int, ...]:
    """Return how many legs are sailed by the end of each stretch; the last ends the plan."""
    chances = [
        count
        for count, leg in enumerate(legs[:-1], start=1)
        if places.possible(boat, part, leg.to_port)
    ]
    return (*chances, len(legs))


def make_stretches(
    legs: tuple[Leg, ...], cuts: tuple[int, ...], running: Floats, under_way: Floats
) -> tuple[Stretch, ...]:
    """Return the stretches.

    Parameters
    ----------
    legs, cuts
        Legs written out, and how many are sailed by the end of each stretch.
    running
        (machines, legs): what each leg adds to the clock of each machine with the part.
    under_way
        (machines, legs): how much of that is added before the leg ends; the calendar goes on in
        port.
    """
    whole = running.sum(axis=0)
    at_sea = np.divide(
        under_way.sum(axis=0), whole, out=np.ones_like(whole), where=whole > 0.0
    ).tolist()
    stretches = []
    for begin, end in zip((0, *cuts), cuts, strict=False):
        total = running[:, begin:end].sum(axis=0)
        if total.sum() <= 0.0:
            total = np.array([leg.days for leg in legs[begin:end]])
        shares = total / total.sum()
        stretches.append(
            Stretch(
                legs=legs[begin:end],
                leg_shares=tuple(shares.tolist()),
                sea_shares=tuple(at_sea[begin:end]),
            )
        )
    return tuple(stretches)
