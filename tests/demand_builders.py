"""Ageing, positions and fleets for the demand room, in one line each."""

import math

import numpy as np
import pandas as pd
from builders import make_fleet
from scipy.special import gamma

from stockopt.ageing.ageing import Ageing, Nodes, PartAgeing
from stockopt.demand.counts import Position, count_needs
from stockopt.demand.weibull import WeibullLives
from stockopt.lives.lives import Lives


def scale_of_mean(shape, mean=1.0):
    """Return the Weibull scale that gives this mean."""
    return mean / gamma(1.0 + 1.0 / np.asarray(shape, dtype=float))


def make_life(shape, mean=1.0, change_at=math.inf):
    """Return the life of a new piece at one node."""
    return WeibullLives(
        shape=np.array([float(shape)]),
        scale=np.array([float(scale_of_mean(shape, mean))]),
        change_at=change_at,
    )


def count_one(shape, windows, *, age=0.0, known=True, change_at=math.inf, mean=1.0):
    """Return the chances of 1, 2 ... needs or more of one position at one node, by window.

    The whole plan is put before the windows, as count_needs wants it.
    """
    whole = (0.0, max(end for _, end in windows))
    counts = count_needs(
        make_life(shape, mean, change_at),
        np.ones(1),
        [whole, *windows],
        [Position(age=age, known=known)],
    )
    return [chances[0, 0] for chances in counts.at_least[1:]]


def make_ageing(**nodes):
    """Return the ageing of parts given as (shapes, scales, weights); scalars for one node."""
    parts = {}
    for part, (shape, scale, *weight) in nodes.items():
        shape, scale = np.broadcast_arrays(
            np.atleast_1d(np.asarray(shape, float)), np.atleast_1d(np.asarray(scale, float))
        )
        weight = np.asarray(weight[0], float) if weight else np.full(len(shape), 1 / len(shape))
        parts[part] = PartAgeing(
            part=part,
            clock="hours",
            failures=0,
            exposure=0.0,
            rate_per_1000=None,
            rate_low=None,
            rate_high=None,
            shape=1.0,
            shape_low=1.0,
            shape_high=1.0,
            scale=1.0,
            mean_life=1.0,
            mean_life_low=1.0,
            mean_life_high=1.0,
            ml_shape=None,
            ml_scale=None,
            prior_only=False,
            prior="by hand",
            nodes=Nodes(shape=shape, scale=scale, weight=weight),
        )
    return Ageing(parts=parts, notes=())


def make_positions(*rows):
    """Return lives of which only the positions are known.

    Each row is (boat, machine, part, age) or (..., age, more), an age of None being unknown;
    `more` may hold clock, consequence and age_at_least.
    """
    table = []
    for boat, machine, part, age, *more in rows:
        slot = 1 + sum(row["machine"] == machine and row["part"] == part for row in table)
        row = {
            "boat": boat,
            "machine": machine,
            "model": "M",
            "part": part,
            "slot": slot,
            "clock": "hours",
            "age": math.nan if age is None else float(age),
            "age_at_least": 0.0 if age is None else float(age),
            "consequence": "stops",
        }
        table.append(row | (more[0] if more else {}))
    return Lives(lives=pd.DataFrame(), positions=pd.DataFrame(table), notes=())


def make_voyage(parts, legs, **tables):
    """Return a fleet of the parts and legs given; a leg is (departs_on, days, to_port, hours)."""
    return make_fleet(
        machines=[
            {"boat": "Alba", "machine": "port engine", "model": "M"},
            {"boat": "Alba", "machine": "starboard engine", "model": "M"},
        ],
        readings=[
            {"boat": "Alba", "machine": f"{side} engine", "read_on": "2031-03-31", "hours": 900}
            for side in ("port", "starboard")
        ],
        parts=[{"part": part, "price": 10.0} | more for part, more in parts.items()],
        fitted=[{"model": "M", "part": part} for part in parts],
        legs=[
            {"boat": "Alba", "departs_on": on, "days": days, "to_port": port, "hours": hours}
            | (more[0] if more else {})
            for on, days, port, hours, *more in legs
        ],
        **tables,
    )
