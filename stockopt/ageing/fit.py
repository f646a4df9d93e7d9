"""From lives to how every part ages: the one way into the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.ageing.ageing import Ageing, BestAge, PartAgeing
from stockopt.ageing.best_age import find_best_age
from stockopt.ageing.change_costs import list_change_costs
from stockopt.ageing.exact import rate_interval
from stockopt.ageing.likelihood import Records, collect_records
from stockopt.ageing.maximum import fit_maximum
from stockopt.ageing.part_tests import note_newest, run_tests
from stockopt.ageing.posterior import Summary
from stockopt.ageing.rounds import BoatFit, Fitted, fit_rounds
from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives

Floats = NDArray[np.float64]
Columns = dict[str, Sequence[object]]

#: The constant rate is told per so many hours or days.
_RATE_PER = 1000.0

#: Boats named in the note that boats differ; of more, the fastest and slowest.
_BOATS_TOLD = 8


def fit_ageing(lives: Lives, fleet: Fleet) -> Ageing:
    """Learn how every part of the parts table ages.

    Parameters
    ----------
    lives
        Every life seen. One of unknown age tells nothing of the shape and counts in the constant
        rate alone.
    fleet
        Its parts table gives the priors.

    Returns
    -------
    Ageing
        Every part number of the parts table; one without a life has its prior.
    """
    parts = pd.Index(fleet.parts["part"])
    seen = lives.lives
    if not seen["part"].isin(parts).all():
        raise ValueError("lives of a part that the parts table does not hold")

    known = seen[seen["age_known"]]
    boats = pd.Index(fleet.boats["boat"])
    fitted, watched, boat_fit = fit_rounds(known, fleet.parts, boats)
    beliefs = fitted.beliefs
    tests = run_tests(
        watched, fitted.records, beliefs.priors, fitted.summary.shape, boat_fit.factor
    )
    columns: Columns = {
        "part": list(parts),
        "clock": list(fleet.parts["clock"]),
        "prior": beliefs.words,
        "prior_only": (~parts.isin(known["part"])).tolist(),
        **_constant_rates(seen, parts),
        **_likeliest(collect_records(known, parts)),
        **{field.name: getattr(fitted.summary, field.name).tolist() for field in fields(Summary)},
        "nodes": fitted.nodes,
        "tests": tests,
        "best_age": _best_ages(fleet, lives.positions, fitted),
    }
    names = list(columns)
    ageing = (
        PartAgeing(**dict(zip(names, row, strict=True)))
        for row in zip(*columns.values(), strict=True)
    )
    return Ageing(
        parts={part.part: part for part in ageing},
        notes=(*beliefs.notes, *_note_boats(boats, boat_fit), *note_newest(list(parts), tests)),
        families=beliefs.families,
        life_factor=beliefs.life_factor,
        boat_factors=dict(zip(boats, boat_fit.factor.tolist(), strict=True)),
        boat_spread=boat_fit.spread,
    )


def _constant_rates(seen: pd.DataFrame, parts: pd.Index) -> Columns:
    """Return failures, exposure and the constant rate with its exact interval."""
    part = parts.get_indexer(pd.Index(seen["part"]))
    run = (seen["left"] - seen["entered"]).to_numpy(dtype=np.float64)
    fell = part[seen["failed"].to_numpy(dtype=bool)]
    # Sorted, so that the sum does not depend on the order of the lives.
    order = np.lexsort((run, part))
    exposure = np.asarray(
        np.bincount(part[order], weights=run[order], minlength=len(parts)), dtype=np.float64
    )
    failures = np.bincount(fell, minlength=len(parts)).astype(np.int64)
    low, high = rate_interval(failures, exposure)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate = np.where(exposure > 0.0, failures / exposure, np.nan)
    return {
        "failures": failures.tolist(),
        "exposure": exposure.tolist(),
        "rate_per_1000": _known(rate * _RATE_PER),
        "rate_low": (low * _RATE_PER).tolist(),
        "rate_high": _known(high * _RATE_PER),
    }


def _likeliest(records: Records) -> Columns:
    shape, scale = fit_maximum(records)
    return {"ml_shape": _known(shape), "ml_scale": _known(scale)}


def _best_ages(fleet: Fleet, positions: pd.DataFrame, fitted: Fitted) -> list[BestAge | None]:
    costs = list_change_costs(fleet, positions)
    unknown, failures = fitted.beliefs.unknown, fitted.records.failures
    return [
        find_best_age(nodes, costs[part], clock, known=failed > 0 or part not in unknown)
        if part in costs
        else None
        for part, clock, nodes, failed in zip(
            fleet.parts["part"], fleet.parts["clock"], fitted.nodes, failures, strict=True
        )
    ]


def _note_boats(boats: pd.Index, fit: BoatFit) -> list[Note]:
    """Say which boats' parts fail fastest and slowest, where boats differ."""
    if not fit.spread.used:
        return []
    order = np.argsort(fit.factor, kind="stable")
    told = [f"{boats[at]} {fit.factor[at]:.2f}" for at in order[::-1]]
    if len(told) > _BOATS_TOLD:
        half = _BOATS_TOLD // 2
        told = [*told[:half], "...", *told[-half:]]
    text = f"{fit.spread.words}; times the mean rate: {', '.join(told)}"
    return [Note(table="replacements", column="boat", text=text)]


def _known(values: Floats) -> list[float | None]:
    """Return the values, those not known or without bound as None."""
    return [value if np.isfinite(value) else None for value in values.tolist()]
