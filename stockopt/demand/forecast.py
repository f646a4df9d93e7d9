"""Pieces that each boat will need of each part, stretch by stretch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from stockopt.ageing.ageing import Ageing
from stockopt.demand.counts import NEW, Counts, Position, count_needs
from stockopt.demand.demand import Demand, PartDemand
from stockopt.demand.mixture import Needs, add_positions, add_used_with, find_chances, mix_needs
from stockopt.demand.stretches import (
    Restocking,
    Voyage,
    cut_legs,
    find_restocking,
    make_stretches,
    write_out_legs,
)
from stockopt.demand.weibull import Floats, WeibullLives
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives
from stockopt.units import CONSEQUENCES

_Cuts = tuple[int, ...]
_Windows = tuple[tuple[float, float], ...]


def forecast_demand(ageing: Ageing, lives: Lives, fleet: Fleet) -> Demand:
    """Return the pieces needed of every part by every boat with legs to come.

    Parameters
    ----------
    ageing
        What is known of each part's life, as nodes.
    lives
        The positions as they stand on the day of the plan.
    fleet
        The tables: legs, where parts can be had, `replace_every`, `used_with`.

    Returns
    -------
    Demand
        One entry for each boat with legs to come and each part fitted to her, or used with one
        that is.

    Notes
    -----
    Ages are as at departure: a part that ages by the calendar ages in port as well.

    With `replace_every` a piece is changed at that age; one already older is due at departure and
    counts as a piece needed on the first stretch, unless it is replaced before. A piece that falls
    due just when a stretch ends belongs to the next, and on the last day to none.

    The oldest positions are replaced first; an unknown age counts as the oldest, and ties go by
    machine and slot.

    A part used with another also needs its quantity at every change of the other under way,
    failure or schedule, with none of the other's pieces replaced before departure. The pieces of
    it used up by replacing those before departure are not counted here: they hang on the choice
    made for the other part. Only changes of the other part's own positions count, not of pieces
    it is itself used up with.
    """
    voyages, notes = write_out_legs(fleet)
    positions = lives.positions[lives.positions["boat"].isin(list(voyages))]
    used_with = _list_used_with(fleet)
    plans = _make_plans(voyages, positions, used_with, find_restocking(fleet))
    every = dict(zip(fleet.parts["part"], fleet.parts["replace_every"], strict=True))
    usual = dict(zip(fleet.parts["part"], fleet.parts["consequence"], strict=True))

    fitted: dict[tuple[str, str], _Fitted] = {}
    for part, rows in positions.groupby("part"):
        nodes = ageing.parts[str(part)].nodes
        change_at = every.get(part, math.nan)
        life = WeibullLives(
            shape=nodes.shape,
            scale=nodes.scale,
            change_at=math.inf if math.isnan(change_at) else float(change_at),
        )
        fitted |= _count_part(str(part), life, nodes.weight, rows, plans)

    parts = {}
    for key, plan in sorted(plans.items()):
        others = [
            (fitted[key[0], other], quantity)
            for other, quantity in used_with.get(key[1], {}).items()
            if (key[0], other) in fitted
        ]
        parts[key] = _make_part_demand(key, plan, fitted.get(key), others, usual[key[1]])
    return Demand(parts=parts, notes=tuple(notes))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """One boat's plan as one part sees it.

    `machines` are those the part is fitted to or, fitted to none, those of the parts it is used
    with. `asked` are all the ways to cut the legs for which the part's needs are asked.
    """

    voyage: Voyage
    cuts: _Cuts
    machines: tuple[tuple[str, str], ...]
    asked: tuple[_Cuts, ...]

    @property
    def running(self) -> Floats:
        """(machines, legs): what each leg adds to each machine's clock."""
        return np.array(
            [self.voyage.running(machine, clock) for machine, clock in self.machines]  # type: ignore[arg-type]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fitted:
    """Needs of one boat for one part fitted to her.

    `needs` are by the cuts asked. `failures` and `remaining` are (F,); `failure_shares` (3,).
    """

    needs: Mapping[_Cuts, Needs]
    failures: Floats
    failure_shares: Floats
    remaining: Floats
    consequence: str


def _list_used_with(fleet: Fleet) -> dict[str, dict[str, int]]:
    """Return for each part used up with others those others and the pieces per change."""
    table: dict[str, dict[str, int]] = {}
    for part, other, quantity in zip(
        fleet.used_with["part"],
        fleet.used_with["with_part"],
        fleet.used_with["quantity"],
        strict=True,
    ):
        table.setdefault(part, {})[other] = int(quantity)
    return table


def _make_plans(
    voyages: Mapping[str, Voyage],
    positions: pd.DataFrame,
    used_with: Mapping[str, Mapping[str, int]],
    places: Restocking,
) -> dict[tuple[str, str], _Plan]:
    """Return the plan of each boat for each part fitted, or used with one that is."""
    machines: dict[tuple[str, str], dict[tuple[str, str], None]] = {}
    for boat, part, machine, clock in zip(
        *(positions[name] for name in ("boat", "part", "machine", "clock")), strict=True
    ):
        machines.setdefault((boat, part), {})[machine, clock] = None
    fitted = set(machines)
    asked: dict[tuple[str, str], set[_Cuts]] = {}
    for boat, voyage in voyages.items():
        for part, others in used_with.items():
            found = [other for other in others if (boat, other) in fitted]
            cuts = cut_legs(boat, part, voyage.legs, places)
            for other in found:
                asked.setdefault((boat, other), set()).add(cuts)
            if found and (boat, part) not in fitted:
                both = [pair for other in found for pair in machines[boat, other]]
                machines[boat, part] = dict.fromkeys(both)
    plans = {}
    for (boat, part), found_on in machines.items():
        cuts = cut_legs(boat, part, voyages[boat].legs, places)
        plans[boat, part] = _Plan(
            voyage=voyages[boat],
            cuts=cuts,
            machines=tuple(found_on),
            asked=(cuts, *sorted(asked.get((boat, part), set()) - {cuts})),
        )
    return plans


def _list_windows(running: Iterable[float], asked: tuple[_Cuts, ...]) -> _Windows:
    """Return the whole plan on a clock, then every stretch of every way to cut it."""
    reached = np.concatenate([[0.0], np.cumsum(list(running))]).round(9).tolist()
    windows = [(0.0, reached[-1])]
    for cuts in asked:
        windows += [
            (reached[begin], reached[end]) for begin, end in zip((0, *cuts), cuts, strict=False)
        ]
    return tuple(windows)


def _count_part(
    part: str,
    life: WeibullLives,
    weight: Floats,
    rows: pd.DataFrame,
    plans: Mapping[tuple[str, str], _Plan],
) -> dict[tuple[str, str], _Fitted]:
    """Return the needs of every boat for one part.

    Positions whose clocks run alike are counted together, whatever boat they are on, and those
    that are alike in age as well only once.
    """
    seats: dict[str, list[_Seat]] = {}
    groups: dict[_Windows, dict[Position, int]] = {}
    known = rows["age"].notna()
    for boat, machine, slot, clock, age, is_known, consequence in zip(
        rows["boat"],
        rows["machine"],
        rows["slot"],
        rows["clock"],
        rows["age"].where(known, rows["age_at_least"]),
        known,
        rows["consequence"],
        strict=True,
    ):
        plan = plans[boat, part]
        before = plan.voyage.days_before if clock == "days" else 0.0
        position = Position(age=float(age) + before, known=bool(is_known))
        windows = _list_windows(plan.voyage.running(machine, clock), plan.asked)
        group = groups.setdefault(windows, {NEW: 0})
        group.setdefault(position, len(group))
        seats.setdefault(boat, []).append(
            _Seat(
                order=(bool(is_known), -position.age if is_known else 0.0, machine, int(slot)),
                position=position,
                windows=windows,
                consequence=consequence,
            )
        )
    counted = {
        windows: _Group(places=group, counts=count_needs(life, weight, windows, list(group)))
        for windows, group in groups.items()
    }
    mean = life.mean
    return {
        (boat, part): _add_up(
            sorted(found, key=lambda seat: seat.order), plans[boat, part], counted, mean, weight
        )
        for boat, found in seats.items()
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seat:
    """One position of one boat: its place in the order of replacing, and what is known of it."""

    order: tuple[bool, float, str, int]
    position: Position
    windows: _Windows
    consequence: str


class _Group:
    """Positions counted together, and where each stands among them."""

    def __init__(self, *, places: Mapping[Position, int], counts: Counts) -> None:
        self.places = places
        self.counts = counts
        self.whole = find_chances(counts.at_least[:1])
        self.by_stretch = find_chances(counts.at_least[1:])
        self.expected = counts.at_least[0].sum(axis=-1)


def _add_up(
    seats: list[_Seat],
    plan: _Plan,
    counted: Mapping[_Windows, _Group],
    mean: Floats,
    weight: Floats,
) -> _Fitted:
    """Return the needs of one boat from those of her positions, oldest first."""
    groups = [counted[seat.windows] for seat in seats]
    places = [group.places[seat.position] for group, seat in zip(groups, seats, strict=True)]
    fresh = [group.places[NEW] for group in groups]

    def each(name: str, chosen: list[int]) -> list[Floats]:
        return [getattr(group, name)[place] for group, place in zip(groups, chosen, strict=True)]

    whole = add_positions(each("whole", places), each("whole", fresh), weight)
    every = add_positions(each("by_stretch", places), each("by_stretch", fresh), weight)
    needs, taken = {}, 0
    for cuts in plan.asked:
        mine = slice(taken, taken + len(cuts))
        taken += len(cuts)
        needs[cuts] = Needs(
            weight=weight,
            by_stretch=tuple(chances[..., mine] for chances in every),
            whole=tuple(whole),
        )

    def mixed(chosen: list[int]) -> tuple[Floats, Floats]:
        failures, remaining = [], []
        for group, seat, place in zip(groups, seats, chosen, strict=True):
            counts = group.counts
            failures.append(weight @ counts.failures[:, place])
            left = counts.residual[:, place] - seat.windows[0][1]
            lives_left = group.expected[:, place] + left / mean
            remaining.append(weight @ np.maximum(lives_left, 0.0))
        return np.array(failures), np.array(remaining)

    (fails, lasts), (fails_new, lasts_new) = mixed(places), mixed(fresh)
    grades = [CONSEQUENCES.index(seat.consequence) for seat in seats]
    counting = fails if fails.sum() > 0.0 else np.ones(len(seats))
    return _Fitted(
        needs=needs,
        failures=_replace_first(fails, fails_new),
        failure_shares=np.bincount(grades, counting, minlength=3) / counting.sum(),
        remaining=_replace_first(lasts, lasts_new),
        consequence=CONSEQUENCES[min(grades)],
    )


def _replace_first(old: Floats, new: Floats) -> Floats:
    """Return the sums over positions of which the first f = 0 .. P are new: (P + 1,)."""
    replaced = np.pad(np.cumsum(new), (1, 0))
    still = np.pad(np.cumsum(old[::-1])[::-1], (0, 1))
    return replaced + still


def _make_part_demand(
    key: tuple[str, str],
    plan: _Plan,
    fitted: _Fitted | None,
    others: list[tuple[_Fitted, int]],
    usual_consequence: str,
) -> PartDemand:
    """Return one boat's demand for one part, with what is used with the others."""
    consequence = fitted.consequence if fitted else usual_consequence
    if fitted:
        needs = fitted.needs[plan.cuts]
    else:
        one = np.ones((1, 1, 1))
        needs = Needs(
            weight=np.ones(1), by_stretch=(np.repeat(one, len(plan.cuts), axis=2),), whole=(one,)
        )
    for other, quantity in others:
        needs = add_used_with(needs, other.needs[plan.cuts], quantity)
    by_stretch, whole, within = mix_needs(needs)
    grade = CONSEQUENCES.index(consequence)
    return PartDemand(
        boat=key[0],
        part=key[1],
        positions=len(whole) - 1,
        consequence=consequence,
        stretches=make_stretches(plan.voyage.legs, plan.cuts, plan.running),
        by_stretch=by_stretch,
        whole=whole,
        within=within,
        failures=fitted.failures if fitted else np.zeros(1),
        failure_shares=fitted.failure_shares if fitted else np.eye(3)[grade],
        remaining=fitted.remaining if fitted else np.zeros(1),
    )
