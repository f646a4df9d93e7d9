"""The fit of all parts, repeated with the boats' factors until these settle."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.ageing.ageing import BoatSpread, Nodes
from stockopt.ageing.boats import collect_cells, find_boat_spread, fit_factors
from stockopt.ageing.families import Beliefs, learn_priors
from stockopt.ageing.likelihood import Records, collect_records
from stockopt.ageing.nodes import choose_nodes
from stockopt.ageing.posterior import Summary, blocks, find_posterior, summarise
from stockopt.ageing.watched import Watched, watch

Floats = NDArray[np.float64]

_MOST_ROUNDS = 6
_CLOSE = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """Every part's posterior, given the boats' factors.

    Parameters
    ----------
    records, beliefs
        What it came from: exposure counts as often as its boat's factor says.
    summary, nodes
        The posterior of the parts, in order.
    """

    records: Records
    beliefs: Beliefs
    summary: Summary
    nodes: list[Nodes]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatFit:
    """The boats' factors, (boats,), and whether they differ."""

    factor: Floats
    spread: BoatSpread


def fit_rounds(
    lives: pd.DataFrame, table: pd.DataFrame, boats: pd.Index
) -> tuple[Fitted, Watched, BoatFit]:
    """Fit every part, and the boats' factors where boats differ.

    Parameters
    ----------
    lives
        Lives of known age, as in :class:`stockopt.lives.lives.Lives`, of parts of the table.
    table
        The fleet's parts table.
    boats
        Every boat of the fleet, in the order of the factors.
    """
    parts = pd.Index(table["part"])
    boat = boats.get_indexer(pd.Index(lives["boat"]))
    watched = watch(lives, parts, boats)
    fitted = _fit(collect_records(lives, parts), table)
    factor, spread = find_boat_spread(collect_cells(watched, fitted.summary.shape))
    if not spread.used:
        return fitted, watched, BoatFit(factor=factor, spread=spread)
    variance = spread.spread**2
    for _ in range(_MOST_ROUNDS):
        fitted = _fit(collect_records(lives, parts, factor[boat]), table)
        likeliest = fit_factors(collect_cells(watched, fitted.summary.shape))
        settled = np.abs(likeliest.factor - factor).max() < _CLOSE
        factor, variance = likeliest.factor, likeliest.variance
        if settled:
            break
    spread = replace(spread, spread=float(np.sqrt(variance)))
    return fitted, watched, BoatFit(factor=factor, spread=spread)


def _fit(records: Records, table: pd.DataFrame) -> Fitted:
    """Fit every part, block of parts by block."""
    beliefs = learn_priors(table, records)
    summaries: list[Summary] = []
    nodes: list[Nodes] = []
    for block in blocks(len(records.failures)):
        own_records, own_priors = records.block(block), beliefs.priors.of(block)
        posterior = find_posterior(own_records, own_priors)
        summaries.append(summarise(posterior))
        nodes += choose_nodes(posterior, own_records, own_priors)
    summary = Summary(
        **{
            field.name: np.concatenate([getattr(each, field.name) for each in summaries])
            for field in fields(Summary)
        }
    )
    return Fitted(records=records, beliefs=beliefs, summary=summary, nodes=nodes)
