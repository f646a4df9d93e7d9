"""From lives to how every part ages: the one way into the room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.ageing.ageing import Ageing, Nodes, PartAgeing
from stockopt.ageing.exact import rate_interval
from stockopt.ageing.families import learn_priors
from stockopt.ageing.likelihood import Records, collect_records
from stockopt.ageing.maximum import fit_maximum
from stockopt.ageing.nodes import choose_nodes
from stockopt.ageing.posterior import Summary, blocks, find_posterior, summarise
from stockopt.ageing.prior import Priors
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives

Floats = NDArray[np.float64]
Columns = dict[str, Sequence[object]]

#: The constant rate is told per so many hours or days.
_RATE_PER = 1000.0


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

    records = collect_records(seen[seen["age_known"]], parts)
    beliefs = learn_priors(fleet.parts, records)
    columns: Columns = {
        "part": list(parts),
        "clock": list(fleet.parts["clock"]),
        "prior": beliefs.words,
        "prior_only": (~parts.isin(seen.loc[seen["age_known"], "part"])).tolist(),
        **_constant_rates(seen, parts),
        **_likeliest(records),
        **_posterior(records, beliefs.priors),
    }
    names = list(columns)
    ageing = (
        PartAgeing(**dict(zip(names, row, strict=True)))
        for row in zip(*columns.values(), strict=True)
    )
    return Ageing(
        parts={part.part: part for part in ageing},
        notes=beliefs.notes,
        families=beliefs.families,
        life_factor=beliefs.life_factor,
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


def _posterior(records: Records, priors: Priors) -> Columns:
    """Return medians, intervals and nodes, block of parts by block."""
    summaries: list[Summary] = []
    nodes: list[Nodes] = []
    for block in blocks(len(records.failures)):
        own_records, own_priors = records.block(block), priors.of(block)
        posterior = find_posterior(own_records, own_priors)
        summaries.append(summarise(posterior))
        nodes += choose_nodes(posterior, own_records, own_priors)
    columns: Columns = {
        field.name: [value for each in summaries for value in getattr(each, field.name).tolist()]
        for field in fields(Summary)
    }
    return {**columns, "nodes": nodes}


def _known(values: Floats) -> list[float | None]:
    """Return the values, those not known or without bound as None."""
    return [value if np.isfinite(value) else None for value in values.tolist()]
