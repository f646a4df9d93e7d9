"""Every part played through every season, under each of several policies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from stockopt.ageing.ageing import Ageing
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives
from stockopt.rehearsal.bill import Bill, write_bill
from stockopt.rehearsal.calendar import Calendar, Floats, Ints, write_out
from stockopt.rehearsal.dates import Dates
from stockopt.rehearsal.deliveries import Deliveries
from stockopt.rehearsal.engine import Used, use_spares
from stockopt.rehearsal.futures import (
    Events,
    Future,
    draw_life,
    in_order,
    join_events,
    list_seats,
    play_out,
)
from stockopt.rehearsal.money import Money, Till
from stockopt.rehearsal.played import LineSeen, Tally, start_tally
from stockopt.rehearsal.policy import Policy, Stowed
from stockopt.rehearsal.stores import Stores
from stockopt.sourcing import Offers
from stockopt.units import CONSEQUENCES

#: Share of the pieces asked of a store that it has on its shelf, as long as the plan sets no
#: levels for it (common practice, no source): what the plan was made with.
FILL_RATE = 0.9

NOTHING = Stowed(carry=0, replace_now=0, restock=False, on_hand=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """What seasons are drawn from.

    Parameters
    ----------
    fleet, lives, ageing, offers
        The values of those rooms.
    seasons, seed
        How many, and what they are drawn by.
    rate
        Times as many failures at every age as the records tell.
    times_late
        By how much orders take longer than their sources tell; None where all are in time, as the
        plan takes them to be.
    """

    fleet: Fleet
    lives: Lives
    ageing: Ageing
    offers: Offers
    seasons: int
    seed: int
    rate: float = 1.0
    times_late: float | None = None


def play(world: World, policies: Sequence[Policy]) -> list[Tally]:
    """Play every policy through the same seasons.

    Returns
    -------
    list of Tally
        One for each policy, in their order.
    """
    desk = _Desk(world)
    tallies = [start_tally(desk.calendar.boats, desk.parts, world.seasons) for _ in policies]
    for part in desk.parts:
        scene = desk.set_scene(part, policies)
        for policy, tally in zip(policies, tallies, strict=True):
            _play_part(desk, scene, policy, tally)
    for policy, tally in zip(policies, tallies, strict=True):
        _count_drawn(desk, policy, tally)
        desk.stores.pay_charges(tally)
    return tallies


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scene:
    """One part: its future, those of the parts it is used with, its prices.

    `boats` have it; `grade` is the gravest consequence on each; `sorted` remembers events by what
    was replaced.
    """

    part: str
    boats: tuple[str, ...]
    grade: Mapping[str, int]
    future: Future
    uses: tuple[tuple[str, Future, int], ...]
    money: Money
    sorted: dict[bytes, Events]


class _Desk:
    """What is looked up for one part after another."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.calendar: Calendar = write_out(world.fleet)
        self.dates = Dates(world.fleet, self.calendar)
        self.till = Till(world.fleet, world.offers, self.calendar, self.dates)
        self.deliveries = Deliveries(
            world.fleet,
            self.calendar,
            seed=world.seed,
            seasons=world.seasons,
            times=world.times_late,
        )
        self.stores = Stores(
            world.fleet,
            world.offers,
            self.calendar,
            self.till,
            seed=world.seed,
            seasons=world.seasons,
        )
        self.number = {boat: index for index, boat in enumerate(self.calendar.boats)}
        positions = world.lives.positions
        positions = positions[positions["boat"].isin(list(self.calendar.boats))]
        self._positions = {str(part): rows for part, rows in positions.groupby("part")}
        parts = world.fleet.parts
        self._due = dict(zip(parts["part"], parts["replace_every"], strict=True))
        self._usual = dict(zip(parts["part"], parts["consequence"], strict=True))
        used = world.fleet.used_with
        self._used: dict[str, list[tuple[str, int]]] = {}
        for part, other, quantity in zip(
            used["part"], used["with_part"], used["quantity"], strict=True
        ):
            if other in self._positions:
                self._used.setdefault(part, []).append((other, int(quantity)))
        self.parts = tuple(sorted({*self._positions, *self._used}))

    def set_scene(self, part: str, policies: Sequence[Policy]) -> _Scene:
        """Return all that can befall a part under some policies."""
        future = self._future(part, policies)
        uses = tuple(
            (other, self._future(other, policies), quantity)
            for other, quantity in sorted(self._used.get(part, []))
        )
        grade = {
            seat.boat: CONSEQUENCES.index(self._usual[part])
            for _, other, _ in uses
            for seat in other.seats
        }
        own: dict[str, int] = {}
        for seat in future.seats:
            own[seat.boat] = min(seat.grade, own.get(seat.boat, seat.grade))
        grade.update(own)
        return _Scene(
            part=part,
            boats=tuple(sorted(grade)),
            grade=grade,
            future=future,
            uses=uses,
            money=self.till.price(part, grade),
            sorted={},
        )

    def lines(self, policy: Policy, part: str) -> list[Stowed]:
        """Return what a policy does about a part on each boat."""
        return [policy.stowed.get((boat, part), NOTHING) for boat in self.calendar.boats]

    def _future(self, part: str, policies: Sequence[Policy]) -> Future:
        world = self.world
        rows = self._positions.get(part, pd.DataFrame())
        seats = list_seats(rows, self.calendar)
        every = self._due[part]
        due = math.inf if math.isnan(every) else float(every)
        life = draw_life(world.seed, part, world.ageing.parts[part].nodes, due, world.seasons)
        factors = {
            boat: world.rate * world.ageing.boat_factors.get(boat, 1.0)
            for boat in self.calendar.boats
        }
        on_boat = {boat: life.on_boat(factor) for boat, factor in factors.items()}
        most = {
            boat: max(
                (policy.stowed.get((boat, part), NOTHING).replace_now for policy in policies),
                default=0,
            )
            for boat in self.calendar.boats
        }
        turn: dict[str, int] = {}
        replaced = []
        for seat in seats:
            replaced.append(turn.setdefault(seat.boat, 0) < most[seat.boat])
            turn[seat.boat] += 1
        return play_out(
            world.seed,
            part,
            seats,
            [on_boat[seat.boat] for seat in seats],
            self.calendar,
            replaced=replaced,
            seasons=world.seasons,
        )


def _pick_events(future: Future, replaced: Ints) -> Events:
    """Return the events of a future with the oldest positions of each boat replaced.

    `replaced` is (B, 1), or (B, R) where it differs from season to season.
    """
    new = (
        future.turn[future.seat]
        < replaced[future.events.boat, future.events.season % replaced.shape[1]]
    )
    return future.events.picked(new == future.fresh)


def _gather_events(desk: _Desk, scene: _Scene, policy: Policy, replaced: Ints) -> Events:
    """Return all needs of a part, those that come with changes of other parts among them."""
    if not desk.deliveries.in_time:
        return _join(desk, scene, policy, replaced)
    others = [desk.lines(policy, name) for name, _, _ in scene.uses]
    counts = [[line.replace_now for line in lines] for lines in others]
    key = np.concatenate([replaced[:, 0], *counts]).tobytes()
    if key not in scene.sorted:
        scene.sorted[key] = _join(desk, scene, policy, replaced[:, :1])
    return scene.sorted[key]


def _join(desk: _Desk, scene: _Scene, policy: Policy, replaced: Ints) -> Events:
    events = _pick_events(scene.future, replaced)
    lots = [events]
    for name, other, quantity in scene.uses:
        _, its = desk.deliveries.bring(desk.lines(policy, name))
        used = _pick_events(other, its)
        lots.append(_nothing_fails(used.picked(np.repeat(np.arange(len(used.day)), quantity))))
    if len(lots) == 1:
        return events
    events = join_events(lots)
    return events.picked(in_order(events))


def _nothing_fails(events: Events) -> Events:
    return replace(events, grade=np.full(len(events.day), -1))


def _play_part(desk: _Desk, scene: _Scene, policy: Policy, tally: Tally) -> None:
    """Play one part under one policy and add it to the tally."""
    boats, seasons = desk.calendar.boats, desk.world.seasons
    lines = desk.lines(policy, scene.part)
    aboard, replaced = desk.deliveries.bring(lines)
    aboard = desk.dates.stamp(scene.part, lines, aboard)
    events = _gather_events(desk, scene, policy, replaced)
    used = use_spares(events, aboard, scene.money)
    keys = desk.stores.keys_of(policy, scene.part)
    bill, served = write_bill(
        used,
        scene.money,
        desk.calendar,
        fill_rate=FILL_RATE,
        counters=[desk.stores.open_counter(policy, key) for key in keys],
    )
    for key, one in zip(keys, served, strict=True):
        desk.stores.book(policy, key, one, tally)
    shape = (len(boats), seasons)
    failed = events.grade >= 0
    failing: Floats = np.zeros(shape)
    cost = scene.money.failing[events.boat[failed], events.grade[failed]]
    np.add.at(failing, (events.boat[failed], events.season[failed]), cost)
    fitting: Floats = scene.money.fitting * replaced.astype(np.float64)
    used_up = _use_up(scene, lines, used, replaced, desk.dates.count_wasted(scene.part, lines))
    _add(tally, desk.parts.index(scene.part), used, bill, failing, fitting, used_up)
    for boat in scene.boats:
        row = desk.number[boat]
        if CONSEQUENCES[scene.grade[boat]] == "stops":
            tally.stopped[row] |= used.short[row] > 0
        cost = (failing + fitting + used_up + bill.short + bill.restock)[row]
        dearest = scene.money.dearest(desk.calendar, boat, row)
        seen = _see_line(boat, scene.part, used.need[row], used.short[row], cost, dearest)
        expires = aboard.in_date is not None and bool(aboard.in_date.expire[row])
        tally.lines.append(replace(seen, expires=expires))


def _use_up(
    scene: _Scene, lines: Sequence[Stowed], used: Used, replaced: Ints, wasted: Sequence[int]
) -> Floats:
    """Return the worth that is gone at the end, of spares and of lives: (B, R).

    `wasted` are by boat her pieces that expire ashore.
    """
    future, money = scene.future, scene.money
    taken = [line.on_hand - line.ashore for line in lines]
    gone = (np.array(taken) + np.array(wasted))[:, None] - used.left.astype(np.float64)
    # Pieces for changes that were not made are left over.
    gone -= np.array([[line.replace_now] for line in lines]) - replaced
    new = future.turn[:, None] < replaced[future.boat]
    lives: Floats = np.zeros_like(gone)
    unspent = np.where(new, future.unspent_fresh, future.unspent)
    np.add.at(lives, future.boat, future.unspent_now - unspent)
    return np.asarray(money.spare_worth[:, None] * gone + money.worth[:, None] * lives)


def _add(
    tally: Tally,
    part: int,
    used: Used,
    bill: Bill,
    failing: Floats,
    fitting: Floats,
    used_up: Floats,
) -> None:
    tally.failing += failing
    tally.short += bill.short
    tally.restock += bill.restock
    tally.used_up += used_up
    tally.fitting += fitting
    tally.need += used.need
    tally.missing += used.short
    paid = failing + bill.short + bill.restock + fitting
    tally.part_money[part] = paid.sum(axis=0)
    tally.part_need[part] = used.need.sum(axis=0)
    tally.part_missing[part] = used.short.sum(axis=0)


def _see_line(
    boat: str, part: str, need: Ints, short: Ints, cost: Floats, dearest: float
) -> LineSeen:
    def see(values: Floats | Ints) -> tuple[float, float]:
        return float(values.mean()), float(values.std()) / math.sqrt(len(values))

    return LineSeen(
        boat=boat,
        part=part,
        need=see(need),
        short=see(short),
        chance=see((short > 0).astype(np.float64)),
        cost=see(cost),
        dearest=dearest,
    )


def _count_drawn(desk: _Desk, policy: Policy, tally: Tally) -> None:
    """Count pieces that left a store's stock as used up, and surplus of packs as left over."""
    for extra in policy.drawn:
        if extra.boat in desk.number:
            worth = desk.till.spare_worth(extra.boat, extra.part)
            tally.used_up[desk.number[extra.boat]] += worth * extra.pieces
