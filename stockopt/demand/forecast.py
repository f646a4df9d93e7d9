"""Pieces that each boat will need of each part, stretch by stretch."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from stockopt.ageing.ageing import Ageing
from stockopt.demand.demand import LIFE_CLASSES, Demand, PartDemand, Stretch, UsedWith
from stockopt.demand.fitted import FittedNeeds, count_part
from stockopt.demand.mixture import Needs, find_class_means, mix_needs, need_nothing
from stockopt.demand.plans import Cuts, PartPlan, list_used_with, make_plans
from stockopt.demand.stretches import find_restocking, make_stretches, write_out_legs
from stockopt.demand.used_with import add_others
from stockopt.demand.weibull import WeibullLives
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives
from stockopt.units import CONSEQUENCES


def forecast_demand(ageing: Ageing, lives: Lives, fleet: Fleet) -> Demand:
    """Return the pieces needed of every part by every boat with legs to come.

    Parameters
    ----------
    ageing
        What is known of each part's life, as nodes, and the boats' factors.
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
    failure or schedule, with none of the other's pieces replaced before departure; where some are
    :func:`~stockopt.demand.used_with.count_replaced` counts it anew. The pieces of it used up by
    replacing those before departure are not counted here: they hang on the choice made for the
    other part. Only changes of the other part's own positions count, not of pieces it is itself
    used up with.
    """
    voyages = write_out_legs(fleet)
    positions = lives.positions[lives.positions["boat"].isin(list(voyages))]
    used_with = list_used_with(fleet)
    plans = make_plans(voyages, positions, used_with, find_restocking(fleet))
    desk = _Desk(
        plans=plans,
        used_with=used_with,
        usual=dict(zip(fleet.parts["part"], fleet.parts["consequence"], strict=True)),
        uses={},
        stretches={},
        kept={},
    )
    parts: dict[tuple[str, str], PartDemand] = {}
    waiting: dict[tuple[str, str], FittedNeeds] = {}
    for key, needs, feeds in _count_in_order(ageing, positions, fleet, desk):
        if feeds:
            desk.uses[key] = needs.uses()
        if feeds and key[1] in used_with:
            waiting[key] = needs
        else:
            parts[key] = desk.make_demand(key, needs)
    for key in plans.keys() - parts.keys():
        parts[key] = desk.make_demand(key, waiting.get(key))
    kept = dict(sorted(desk.kept.items()))
    return Demand(parts=dict(sorted(parts.items())), notes=(), used_with=kept)


def _count_in_order(
    ageing: Ageing, positions: pd.DataFrame, fleet: Fleet, desk: _Desk
) -> Iterator[tuple[tuple[str, str], FittedNeeds, bool]]:
    """Yield the needs of each boat for each part fitted, and whether others are used with it.

    Parts that others are used with come first, so that few needs are kept node by node.
    """
    feeding = {other for others in desk.used_with.values() for other in others}
    every = dict(zip(fleet.parts["part"], fleet.parts["replace_every"], strict=True))
    rows = {str(part): found for part, found in positions.groupby("part")}
    for part in sorted(rows, key=lambda part: (part not in feeding, part)):
        change_at = math.inf if math.isnan(every[part]) else float(every[part])
        # Boats that wear out their parts alike are counted together.
        factors = rows[part]["boat"].map(lambda boat: ageing.boat_factors.get(boat, 1.0))
        for factor, alike in rows[part].groupby(factors):
            nodes = ageing.parts[part].nodes.on_boat(float(factor))
            life = WeibullLives(shape=nodes.shape, scale=nodes.scale, change_at=change_at)
            for key, needs in count_part(part, life, nodes.weight, alike, desk.plans).items():
                yield key, needs, part in feeding


@dataclass(frozen=True, slots=True, kw_only=True)
class _Desk:
    """What is looked up for every boat and part.

    `uses` are the needs of parts that others are used with, by boat and part and the way the legs
    are cut; `stretches` are those made already; `kept` is told of parts used with others.
    """

    plans: Mapping[tuple[str, str], PartPlan]
    used_with: Mapping[str, Mapping[str, int]]
    usual: Mapping[str, str]
    uses: dict[tuple[str, str], Mapping[Cuts, Needs]]
    stretches: dict[tuple[object, ...], tuple[Stretch, ...]]
    kept: dict[tuple[str, str], UsedWith]

    def make_demand(self, key: tuple[str, str], fitted: FittedNeeds | None) -> PartDemand:
        """Return one boat's demand for one part, with what is used up with other parts."""
        boat, part = key
        cuts = self.plans[key].cuts
        if fitted:
            needs, consequence = fitted.needs[cuts], fitted.consequence
        else:
            needs, consequence = need_nothing(len(cuts)), self.usual[part]
        others = tuple(
            (other, quantity, self.uses[boat, other][cuts])
            for other, quantity in sorted(self.used_with.get(part, {}).items())
            if (boat, other) in self.uses
        )
        if others:
            self.kept[key] = UsedWith(own=needs, others=others)
            needs = add_others(self.kept[key], (0,) * len(others))
        by_stretch, whole, within = mix_needs(needs)
        return PartDemand(
            boat=boat,
            part=part,
            positions=len(whole) - 1,
            consequence=consequence,
            stretches=self._stretches(boat, self.plans[key]),
            by_stretch=by_stretch,
            whole=whole,
            within=within,
            failures=fitted.failures if fitted else np.zeros(1),
            failure_shares=(
                fitted.failure_shares if fitted else np.eye(3)[CONSEQUENCES.index(consequence)]
            ),
            remaining=fitted.remaining if fitted else np.zeros(1),
            remaining_now=fitted.remaining_now if fitted else 0.0,
            by_class=find_class_means(needs, LIFE_CLASSES),
        )

    def _stretches(self, boat: str, plan: PartPlan) -> tuple[Stretch, ...]:
        """Return the stretches, the same ones for all parts alike."""
        key = (boat, plan.cuts, plan.machines)
        if key not in self.stretches:
            self.stretches[key] = make_stretches(
                plan.voyage.legs, plan.cuts, plan.running, plan.under_way
            )
        return self.stretches[key]
