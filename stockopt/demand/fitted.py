"""Needs of every boat for one part that is fitted to her."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from stockopt.demand.counts import NEW, Counts, Position, count_needs
from stockopt.demand.mixture import Needs, add_positions, find_chances, sum_up_uses
from stockopt.demand.plans import Cuts, PartPlan, Windows, list_windows
from stockopt.demand.weibull import Floats, WeibullLives
from stockopt.units import CONSEQUENCES


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedNeeds:
    """Needs of one boat for one part fitted to her.

    `needs` are by the cuts asked. `failures` and `remaining` are (F,); `failure_shares` (3,);
    `remaining_now` is what `remaining` was before departure, with nothing replaced.
    """

    needs: Mapping[Cuts, Needs]
    failures: Floats
    failure_shares: Floats
    remaining: Floats
    remaining_now: float
    consequence: str

    def uses(self) -> dict[Cuts, Needs]:
        """Return what other parts used with this one go by."""
        return {cuts: sum_up_uses(needs) for cuts, needs in self.needs.items()}


def count_part(
    part: str,
    life: WeibullLives,
    weight: Floats,
    rows: pd.DataFrame,
    plans: Mapping[tuple[str, str], PartPlan],
) -> dict[tuple[str, str], FittedNeeds]:
    """Return the needs of every boat for one part.

    Positions whose clocks run alike are counted together, whatever boat they are on, and those
    that are alike in age as well only once.
    """
    seats: dict[str, list[_Seat]] = {}
    groups: dict[Windows, dict[Position, int]] = {}
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
        windows = list_windows(plan.voyage.running(machine, clock), plan.asked)
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
    windows: Windows
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
    plan: PartPlan,
    counted: Mapping[Windows, _Group],
    mean: Floats,
    weight: Floats,
) -> FittedNeeds:
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
    lasts_now = sum(
        float(weight @ (group.counts.residual[:, place] / mean))
        for group, place in zip(groups, places, strict=True)
    )
    grades = [CONSEQUENCES.index(seat.consequence) for seat in seats]
    counting = fails if fails.sum() > 0.0 else np.ones(len(seats))
    return FittedNeeds(
        needs=needs,
        failures=_replace_first(fails, fails_new),
        failure_shares=np.bincount(grades, counting, minlength=3) / counting.sum(),
        remaining=_replace_first(lasts, lasts_new),
        remaining_now=lasts_now,
        consequence=CONSEQUENCES[min(grades)],
    )


def _replace_first(old: Floats, new: Floats) -> Floats:
    """Return the sums over positions of which the first f = 0 .. P are new: (P + 1,)."""
    replaced = np.pad(np.cumsum(new), (1, 0))
    still = np.pad(np.cumsum(old[::-1])[::-1], (0, 1))
    return replaced + still
