"""Which choices are worth handing on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stockopt.choices.excess import Floats

#: One more piece is not looked at when it saves less money than this, in the plan's currency ...
LEAST_SAVING = 0.01
#: ... and takes less than this off the chance of a shortage.
LEAST_CHANCE = 1e-4


def find_last_useful(net_cost: Floats, chance: Floats | None) -> NDArray[np.int64]:
    """Return how many levels beyond the first are worth looking at.

    Parameters
    ----------
    net_cost
        (..., n): expected later cost with 0, 1, 2 ... pieces more, each piece more charged the
        least it can cost: what it would be worth unused.
    chance
        (..., n): chance of a shortage where it matters for readiness, else None.

    Returns
    -------
    NDArray[np.int64]
        (...): the last level that saves at least `LEAST_SAVING` over every lower one, or takes
        at least `LEAST_CHANCE` off the chance.
    """
    best_so_far = np.minimum.accumulate(net_cost, axis=-1)[..., :-1]
    useful = best_so_far - net_cost[..., 1:] >= LEAST_SAVING
    if chance is not None:
        useful |= chance[..., :-1] - chance[..., 1:] >= LEAST_CHANCE
    levels = np.arange(1, net_cost.shape[-1], dtype=np.int64)
    last: NDArray[np.int64] = np.max(np.where(useful, levels, 0), axis=-1, initial=0)
    return last


def find_undominated(criteria: Floats) -> NDArray[np.bool_]:
    """Return which rows no other row beats or equals in everything.

    Parameters
    ----------
    criteria
        (m, d): m choices, d quantities of which less is better. Of equal rows the first stays.

    Returns
    -------
    NDArray[np.bool_]
        (m,). A row left out cannot be needed for a best plan, whatever money, kilos, room or
        chances are worth; a row inside the convex hull can (whole pieces), so it stays.

    Examples
    --------
    >>> find_undominated(np.array([[1.0, 5.0], [2.0, 5.0], [2.0, 4.0], [1.0, 5.0]])).tolist()
    [True, False, True, False]
    """
    m = len(criteria)
    no_worse = np.ones((m, m), dtype=bool)
    for values in criteria.T:
        no_worse &= values[:, None] <= values
    equal = no_worse & no_worse.T
    beats = no_worse & (~equal | np.tri(m, k=-1, dtype=bool).T)
    undominated: NDArray[np.bool_] = ~beats.any(axis=0)
    return undominated
