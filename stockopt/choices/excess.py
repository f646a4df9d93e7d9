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
    at_least = np.flip(np.cumsum(np.flip(chance, axis=-1), axis=-1), axis=-1)
    return np.concatenate([at_least[..., 1:], np.zeros_like(chance[..., :1])], axis=-1)


def find_expected_short(chance: Floats) -> Floats:
    """Return E[(N - n)+] for n = 0 .. K: the expected backorders at stock level n.

    Parameters
    ----------
    chance
        (..., K+1): chance that k pieces are needed; each adds to 1.

    Notes
    -----
    E[(N - n)+] is the sum of P(N > j) over j >= n. Source: Sherbrooke, Optimal Inventory
    Modeling of Systems (1992), chapter 2, expected backorders (from memory).

    Examples
    --------
    >>> find_expected_short(np.array([0.5, 0.25, 0.25])).tolist()
    [0.75, 0.25, 0.0]
    """
    beyond = find_chance_beyond(chance)
    return np.flip(np.cumsum(np.flip(beyond, axis=-1), axis=-1), axis=-1)
