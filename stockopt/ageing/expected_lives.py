"""Whether the fleet's expected lives are too long or too short as a whole."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import chdtrc

from stockopt.ageing.likelihood import Records
from stockopt.ageing.moments import find_moments
from stockopt.ageing.pooling import pool_groups
from stockopt.ageing.posterior import blocks, find_posterior
from stockopt.ageing.prior import Priors
from stockopt.errors import Note

Floats = NDArray[np.float64]

#: Families (and parts without one) with failures below which nothing is said.
LEAST_WITNESSES = 6
#: Chance taken of correcting expected lives that are right on the whole.
LEVEL = 0.05
#: Parts asked; of more, as many spread evenly over their names.
MOST_PARTS = 150


def find_life_factor(
    parts: pd.DataFrame, records: Records, priors: Priors
) -> tuple[float, tuple[Note, ...]]:
    """Return by how much true mean lives exceed expected ones, and a note where they do.

    Parameters
    ----------
    parts
        The fleet's parts table.
    records, priors
        Of its parts, in order.

    Returns
    -------
    factor
        1 where the records do not prove a difference.

    Notes
    -----
    The slope of a part's log marginal likelihood by a shift of its log expected life, told in
    prior spreads, is the posterior mean of its place (Fisher's identity). Slopes of one family are
    added first, because its parts may err together. Then the squared sum over the sum of squares
    is chi-square with 1 degree of freedom where there is no shift.

    *Source*: score test with clusters, Liang & Zeger, Biometrika 73 (1986) 13-22, from memory.
    """
    failed = records.failures > 0
    told = (parts["expected_life"] > 0.0).to_numpy() & records.watched
    alone = "part " + parts["part"]
    named = alone.where(parts["family"] == "", "family " + parts["family"])
    witness = pd.factorize(named)[0]
    heard = np.zeros(len(parts), dtype=bool)
    heard[witness[told & failed]] = True
    if heard.sum() < LEAST_WITNESSES:
        return 1.0, ()
    chosen = _spread(told & heard[witness], parts["part"])
    own_records, own_priors = records.of(chosen), priors.of(chosen)
    places = _places(own_records, own_priors)
    slopes = np.bincount(witness[chosen], weights=places)
    if chdtrc(1.0, slopes.sum() ** 2 / (slopes**2).sum()) > LEVEL:
        return 1.0, ()
    together = np.zeros(len(places), dtype=np.int64)
    place = pool_groups(own_records, own_priors, together, 1).life[0]
    factor = float(np.exp(place * own_priors.log_life_spread[0]))
    text = (
        f"the fleet's parts last {factor:.2f} times their expected lives on the whole "
        f"({int(own_records.failures.sum())} failures of {int(heard.sum())} families and single "
        "parts): expected lives were taken times that"
    )
    return factor, (Note(table="parts", column="expected_life", text=text),)


def _spread(marked: NDArray[np.bool_], names: pd.Series) -> NDArray[np.bool_]:
    """Return the marks of at most so many parts, whatever the order of the table."""
    places = np.flatnonzero(marked)
    every = max(-(-len(places) // MOST_PARTS), 1)
    if every > 1:
        places = places[np.argsort(names.iloc[places].to_numpy(), kind="stable")]
    chosen = np.zeros_like(marked)
    chosen[places[::every]] = True
    return chosen


def _places(records: Records, priors: Priors) -> Floats:
    """Return the posterior means of log mean life, from the prior's centre in prior spreads."""
    found = [
        find_moments(find_posterior(records.block(block), priors.of(block))).life
        for block in blocks(len(records.failures))
    ]
    return np.asarray((np.concatenate(found) - priors.log_life) / priors.log_life_spread)
