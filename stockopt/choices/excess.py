"""From the chance of needing k pieces to pieces short and pieces left, for every n carried."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def find_chance_beyond(chance: Floats) -> Floats:
    """Return P(N > n) for n = 0 .. K.

    Parameters
    ----------
    chance
        (..., K+1): chance that k pieces are needed; each adds to 1.

    Examples
    --------
    >>> find_chance_beyond(np.array([0.5, 0.25, 0.25])).tolist()
    [0.5, 0.25, 0.0]
    """
    beyond = np.zeros_like(chance)
    beyond[..., :-1] = _sum_from(chance[..., 1:])
    return beyond


def find_expected_short(beyond: Floats) -> Floats:
    """Return E[(N - n)+] for n = 0 .. K: the expected backorders at stock level n.

    Parameters
    ----------
    beyond
        (..., K+1): P(N > n), from :func:`find_chance_beyond`.

    Notes
    -----
    E[(N - n)+] is the sum of P(N > j) over j >= n. Source: Sherbrooke, Optimal Inventory
    Modeling of Systems (1992), chapter 2, expected backorders (from memory).

    Examples
    --------
    >>> find_expected_short(np.array([0.5, 0.25, 0.0])).tolist()
    [0.75, 0.25, 0.0]
    """
    return _sum_from(beyond)


def _sum_from(values: Floats) -> Floats:
    """Return the sums from each place to the end, smallest terms first to keep their digits."""
    return values[..., ::-1].cumsum(axis=-1)[..., ::-1]
