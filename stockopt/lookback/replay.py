"""A plan or a rule met by what really failed, day by day."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd

from stockopt.ageing.ageing import Ageing
from stockopt.lives.lives import Lives
from stockopt.lookback.history import Change, add_used_up
from stockopt.lookback.season import Past
from stockopt.rehearsal.bill import write_bill
from stockopt.rehearsal.calendar import Calendar, Floats, write_out
from stockopt.rehearsal.dates import Dates
from stockopt.rehearsal.deliveries import Deliveries
from stockopt.rehearsal.engine import Used, use_spares
from stockopt.rehearsal.futures import Events, in_order, list_seats
from stockopt.rehearsal.money import Money, Till
from stockopt.rehearsal.played import Tally, start_tally
from stockopt.rehearsal.policy import Policy, Stowed
from stockopt.rehearsal.stores import Stores
from stockopt.sourcing import Offers
from stockopt.units import CONSEQUENCES

#: Share of the pieces asked of a store that it has where the plan sets it no level (common
#: practice, no source).
FILL_RATE = 0.9
#: What really failed is one season. It is played so often, as a store has a piece without a level
#: or not, and as the orders of stores take longer or shorter; money is the mean over them.
COPIES = 20
_SEED = 1

_NOTHING = Stowed(carry=0, replace_now=0, restock=False, on_hand=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One part on one boat: pieces needed, of them short, spares left at the end.

    `avoided` failures are not among those needed: the piece had been changed before departure.
    """

    boat: str
    part: str
    needed: int
    short: int
    left: int
    avoided: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """A piece that was needed and not aboard; `failed` is False for a change on schedule."""

    on: date
    boat: str
    machine: str
    part: str
    failed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Replayed:
    """What a plan or rule came to; money in the plan's currency.

    Parameters
    ----------
    name
        In words.
    spend_now
        Pieces at their landed cost and the charges of orders, before departure.
    fitting, failing, shortages, restocking
        Money for changes before departure, for failures even with the spare aboard, for pieces
        short and the days lost to them, for spares made up.
    stores
        What stores paid for pieces, orders and money tied up, less what their boats paid them.
    worth_left
        What spares left at the end, and pieces bought that went nowhere, are still worth.
    needed, short, left, avoided
        Pieces, over all lines.
    stopped
        Boats that were short of a part that stops them, after a failure: a change on schedule can
        wait.
    lines
        By boat and part, those on which anything was needed, carried or avoided.
    missed
        The pieces short, by day.
    by_boat
        By boat: what she paid after departure, and for changes before it.
    """

    name: str
    spend_now: float
    fitting: float
    failing: float
    shortages: float
    restocking: float
    stores: float
    worth_left: float
    needed: int
    short: int
    left: int
    avoided: int
    stopped: tuple[str, ...]
    lines: tuple[Line, ...]
    missed: tuple[Missed, ...]
    by_boat: Mapping[str, float]

    @property
    def covered(self) -> int:
        """Pieces needed that were aboard."""
        return self.needed - self.short

    @property
    def later(self) -> float:
        """What it cost after the pieces were bought."""
        return self.fitting + self.failing + self.shortages + self.restocking + self.stores

    @property
    def total(self) -> float:
        """What it cost in all, less what is left."""
        return self.spend_now + self.later - self.worth_left


class Stage:
    """What every policy is replayed on.

    Parameters
    ----------
    past, then, ageing, offers
        The season, positions and what was known on the day it began, prices.
    """

    def __init__(self, past: Past, then: Lives, ageing: Ageing, offers: Offers) -> None:
        self.calendar: Calendar = write_out(past.fleet)
        self._ageing = ageing
        self._early = float((past.since - past.ordered.settings.planned_on).days)
        self._dates = Dates(past.fleet, self.calendar, bought_on=-self._early)
        self._till = Till(past.fleet, offers, self.calendar, self._dates)
        self._deliveries = Deliveries(
            past.fleet, self.calendar, seed=_SEED, seasons=COPIES, times=None
        )
        self._stores = Stores(
            past.fleet, offers, self.calendar, self._till, seed=_SEED, seasons=COPIES
        )
        positions = then.positions[then.positions["boat"].isin(list(self.calendar.boats))]
        self._positions = {str(part): rows for part, rows in positions.groupby("part")}
        parts = past.fleet.parts
        self._usual = dict(zip(parts["part"], parts["consequence"], strict=True))
        self._due = dict(zip(parts["part"], parts["replace_every"], strict=True))
        used = past.fleet.used_with
        self._uses: dict[str, list[tuple[str, int]]] = {}
        for part, other, quantity in zip(
            used["part"], used["with_part"], used["quantity"], strict=True
        ):
            if other in self._positions:
                self._uses.setdefault(part, []).append((other, int(quantity)))

    def replay(self, policy: Policy, changes: Sequence[Change]) -> Replayed:
        """Meet a policy with what was really changed.

        A piece that it changes before departure, oldest first, is not there any more: what really
        happened to it first is taken not to have happened where that was within the mean life that
        a new piece is expected to have, and counts where it came later. Everything after that is as
        it was.
        """
        by_name = set(self.calendar.boats)
        avoided = self._find_avoided(policy, changes)
        left_over = [change for change in changes if change not in avoided]
        parts = sorted({*self._positions, *self._uses})
        tally = start_tally(self.calendar.boats, parts, COPIES)
        played = [self._play(part, policy, left_over, avoided, tally) for part in parts]
        self._stores.pay_charges(tally)
        unused = -sum(
            self._till.spare_worth(one.boat, one.part) * one.pieces
            for one in policy.drawn
            if one.boat in by_name
        )
        stopped = sorted({boat for one in played for boat in one.stopped})
        missed = [piece for one in played for piece in one.missed]
        lines = [line for one in played for line in one.lines]
        by_boat = sum((one.by_boat for one in played), np.zeros(len(self.calendar.boats)))
        return Replayed(
            name=policy.name,
            spend_now=policy.spend_now,
            fitting=sum(one.fitting for one in played),
            failing=sum(one.failing for one in played),
            shortages=sum(one.shortages for one in played),
            restocking=sum(one.restocking for one in played),
            stores=float((tally.stores + tally.tied_up).mean()),
            worth_left=unused + sum(one.worth_left for one in played),
            needed=sum(line.needed for line in lines),
            short=sum(line.short for line in lines),
            left=sum(line.left for line in lines),
            avoided=len(avoided),
            stopped=tuple(stopped),
            lines=tuple(sorted(lines, key=lambda line: (line.boat, line.part))),
            missed=tuple(sorted(missed, key=lambda one: (one.on, one.boat, one.part))),
            by_boat=dict(zip(self.calendar.boats, by_boat.tolist(), strict=True)),
        )

    def _find_avoided(self, policy: Policy, changes: Sequence[Change]) -> set[Change]:
        new: dict[tuple[str, str, str, int], float] = {}
        for part, rows in self._positions.items():
            turn: dict[str, int] = {}
            life = self._ageing.parts[part]
            for seat in list_seats(rows, self.calendar):
                rank = turn.setdefault(seat.boat, 0)
                turn[seat.boat] += 1
                if rank < policy.stowed.get((seat.boat, part), _NOTHING).replace_now:
                    factor = self._ageing.boat_factors.get(seat.boat, 1.0)
                    lasts = life.mean_life * factor ** (-1.0 / life.shape)
                    due = float(self._due[part])
                    new[seat.boat, seat.machine, part, seat.slot] = (
                        lasts if math.isnan(due) else min(lasts, due)
                    )
        return {
            change
            for change in changes
            if change.first
            and change.ran <= new.get((change.boat, change.machine, change.part, change.slot), -1.0)
        }

    def _play(
        self,
        part: str,
        policy: Policy,
        changes: Sequence[Change],
        avoided: Iterable[Change],
        tally: Tally,
    ) -> _PartPlayed:
        calendar = self.calendar
        needs = add_used_up(changes, part, self._uses.get(part, []), calendar.boats)
        grade = self._find_grades(part)
        money = self._till.price(part, grade)
        events = self._make_events(part, needs)
        lines = [policy.stowed.get((boat, part), _NOTHING) for boat in calendar.boats]
        aboard, replaced = self._deliveries.bring(
            [replace(line, ahead_day=line.ahead_day - self._early) for line in lines]
        )
        used = use_spares(events, self._dates.stamp(part, lines, aboard), money)
        keys = self._stores.keys_of(policy, part)
        counters = [self._stores.open_counter(policy, key) for key in keys]
        bill, served = write_bill(used, money, calendar, fill_rate=FILL_RATE, counters=counters)
        for key, one in zip(keys, served, strict=True):
            self._stores.book(policy, key, one, tally)
        failing = _pay_failures(events, money, used.need.shape)
        fitting = money.fitting * replaced[:, 0]
        missed = tuple(self._list_missed(part, needs, used))
        spared = [change.boat for change in avoided if change.part == part]
        return _PartPlayed(
            lines=tuple(_list_lines(part, calendar.boats, used, spared)),
            missed=missed,
            stopped=tuple(
                one.boat
                for one in missed
                if one.failed and CONSEQUENCES[grade[one.boat]] == "stops"
            ),
            fitting=float(fitting.sum()),
            failing=float(failing.sum()),
            shortages=float(bill.short.mean(axis=1).sum()),
            restocking=float(bill.restock.mean(axis=1).sum()),
            worth_left=float(money.spare_worth @ used.left[:, 0]),
            by_boat=fitting + failing + bill.short.mean(axis=1) + bill.restock.mean(axis=1),
        )

    def _find_grades(self, part: str) -> dict[str, int]:
        """Return the gravest consequence of a part on each boat."""
        usual = CONSEQUENCES.index(self._usual[part])
        grade = dict.fromkeys(self.calendar.boats, usual)
        rows = self._positions.get(part, pd.DataFrame(columns=["boat", "consequence"]))
        for boat, some in rows.groupby("boat")["consequence"]:
            grade[str(boat)] = min(CONSEQUENCES.index(one) for one in some)
        return grade

    def _make_events(self, part: str, needs: Sequence[Change]) -> Events:
        """Return the needs as events, the same in every copy of the season."""
        calendar = self.calendar
        number = {boat: row for row, boat in enumerate(calendar.boats)}
        own: dict[tuple[str, str], int] = {}
        if part in self._positions:
            rows = self._positions[part]
            for boat, machine, consequence in zip(
                rows["boat"], rows["machine"], rows["consequence"], strict=True
            ):
                own[boat, machine] = CONSEQUENCES.index(consequence)
        boat = np.array([number[need.boat] for need in needs], dtype=np.int64)
        day = np.array([need.day for need in needs], dtype=np.float64)
        grade = [
            own[need.boat, need.machine] if need.failed and need.part == part else -1
            for need in needs
        ]
        leg = np.array([self._find_leg(need) for need in needs], dtype=np.int64)
        season = np.repeat(np.arange(COPIES), len(needs))
        events = Events(
            boat=np.tile(boat, COPIES),
            season=season,
            leg=np.tile(leg, COPIES),
            day=np.tile(day, COPIES),
            grade=np.tile(np.array(grade, dtype=np.int64), COPIES),
            luck=(season + 0.5) / COPIES,
        )
        return events.picked(in_order(events))

    def _find_leg(self, need: Change) -> int:
        legs = self.calendar.legs_of(need.boat)
        ends = (self.calendar.departs + self.calendar.days)[legs.start : legs.stop]
        return legs.start + min(int(np.searchsorted(ends, need.day)), len(legs) - 1)

    def _list_missed(self, part: str, needs: Sequence[Change], used: Used) -> Iterator[Missed]:
        """Yield the pieces short."""
        first = used.shortages.season == 0
        why: dict[tuple[str, float], Change] = {}
        for need in sorted(needs, key=lambda need: need.failed):
            why[need.boat, need.day] = need
        for number, day in zip(
            used.shortages.boat[first].tolist(), used.shortages.day[first].tolist(), strict=True
        ):
            need = why[self.calendar.boats[number], day]
            yield Missed(
                on=need.on, boat=need.boat, machine=need.machine, part=part, failed=need.failed
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class _PartPlayed:
    """What one part came to on all boats; see :class:`Replayed`. `by_boat` is (B,)."""

    lines: tuple[Line, ...]
    missed: tuple[Missed, ...]
    stopped: tuple[str, ...]
    fitting: float
    failing: float
    shortages: float
    restocking: float
    worth_left: float
    by_boat: Floats


def _pay_failures(events: Events, money: Money, shape: tuple[int, ...]) -> Floats:
    """Return what failures cost each boat even with the spare aboard: (B,)."""
    failed = events.grade >= 0
    cost = money.failing[events.boat[failed], events.grade[failed]]
    paid = np.bincount(events.boat[failed], weights=cost, minlength=shape[0])
    return np.asarray(paid / shape[1])


def _list_lines(
    part: str, boats: Sequence[str], used: Used, spared: Sequence[str]
) -> Iterator[Line]:
    for row, boat in enumerate(boats):
        line = Line(
            boat=boat,
            part=part,
            needed=int(used.need[row, 0]),
            short=int(used.short[row, 0]),
            left=int(used.left[row, 0]),
            avoided=spared.count(boat),
        )
        if line.needed or line.left or line.avoided:
            yield line
