"""Pieces that each boat will need of each part, stretch by stretch."""

from __future__ import annotations

import math

import numpy as np

from stockopt.ageing.ageing import Ageing
from stockopt.demand.demand import Demand, PartDemand
from stockopt.demand.fitted import FittedNeeds, count_part
from stockopt.demand.mixture import Needs, add_used_with, mix_needs
from stockopt.demand.plans import PartPlan, list_used_with, make_plans
from stockopt.demand.stretches import find_restocking, make_stretches, write_out_legs
from stockopt.demand.weibull import WeibullLives
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives
from stockopt.units import CONSEQUENCES


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
    voyages = write_out_legs(fleet)
    positions = lives.positions[lives.positions["boat"].isin(list(voyages))]
    used_with = list_used_with(fleet)
    plans = make_plans(voyages, positions, used_with, find_restocking(fleet))
    every = dict(zip(fleet.parts["part"], fleet.parts["replace_every"], strict=True))
    usual = dict(zip(fleet.parts["part"], fleet.parts["consequence"], strict=True))

    fitted: dict[tuple[str, str], FittedNeeds] = {}
    for part, rows in positions.groupby("part"):
        nodes = ageing.parts[str(part)].nodes
        change_at = every.get(part, math.nan)
        life = WeibullLives(
            shape=nodes.shape,
            scale=nodes.scale,
            change_at=math.inf if math.isnan(change_at) else float(change_at),
        )
        fitted |= count_part(str(part), life, nodes.weight, rows, plans)

    parts = {}
    for key, plan in sorted(plans.items()):
        others = [
            (fitted[key[0], other], quantity)
            for other, quantity in used_with.get(key[1], {}).items()
            if (key[0], other) in fitted
        ]
        parts[key] = _make_part_demand(key, plan, fitted.get(key), others, usual[key[1]])
    return Demand(parts=parts, notes=())


def _make_part_demand(
    key: tuple[str, str],
    plan: PartPlan,
    fitted: FittedNeeds | None,
    others: list[tuple[FittedNeeds, int]],
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
