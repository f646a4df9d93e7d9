"""When the spares run out: the pieces short on the whole plan, told apart by stretch."""

from __future__ import annotations

import numpy as np

from stockopt.choices.excess import Floats, find_chance_beyond, find_expected_short


def share_out_short(by_stretch: Floats, whole: Floats) -> Floats:
    """Return the pieces expected short in each stretch, with n pieces for the whole plan.

    Parameters
    ----------
    by_stretch
        (S, K+1): chance that stretch s needs k pieces.
    whole
        (K+1,): chance that the whole plan needs k pieces.

    Returns
    -------
    Floats
        (S, K+1): by stretch and n = 0 .. K. The sum over the stretches is E[(N - n)+]; with none
        aboard each stretch is short of what it needs.

    Notes
    -----
    Given how many pieces the whole plan needs they fall on the stretches as if these were
    independent. That is exact for failures at random at a known rate, as then each piece falls on
    its stretch by itself. The short of stretch s is E[(N_s - n)+] less
    E[(N_s-1 - n)+], with N_s the pieces needed until its end. For other parts it is near, least so
    for those changed on schedule; it is put right in proportion where the sums are known.

    Examples
    --------
    Two pieces, or none; with one aboard the second is short, and it is the later one:

    >>> half = np.array([0.5, 0.0, 0.5])
    >>> share_out_short(np.array([[0.75, 0.0, 0.25], [0.75, 0.0, 0.25]]), half)[:, 1].tolist()
    [0.25, 0.25]
    >>> share_out_short(np.array([[0.5, 0.5, 0.0], [0.5, 0.5, 0.0]]), half)[:, 1].tolist()
    [0.0, 0.5]
    """
    until, after = _add_up(by_stretch), _add_up(by_stretch[::-1])[::-1]
    apart = until[-1]
    weight = np.divide(whole, apart, out=np.zeros_like(whole), where=apart > 0.0)
    pieces = np.arange(len(whole))
    together = pieces[:, None] + pieces
    given = np.where(together < len(whole), weight[np.minimum(together, len(whole) - 1)], 0.0)
    needed = until * (after @ given)
    until_end = find_expected_short(find_chance_beyond(needed))
    short = np.maximum(np.diff(until_end, axis=0), 0.0)
    short = short * _divide(by_stretch @ pieces, short[:, 0])[:, None]
    return np.asarray(
        short * _divide(find_expected_short(find_chance_beyond(whole)), short.sum(axis=0))
    )


def _divide(wanted: Floats, found: Floats) -> Floats:
    """Return by what to multiply what was found; 1 where nothing was."""
    return np.divide(wanted, found, out=np.ones_like(found), where=found > 1e-12)


def _add_up(by_stretch: Floats) -> Floats:
    """Return the chance of k pieces in the first 0 .. S stretches, if independent: (S+1, K+1)."""
    sums = np.zeros((len(by_stretch) + 1, by_stretch.shape[1]))
    sums[0, 0] = 1.0
    for stretch, chances in enumerate(by_stretch):
        sums[stretch + 1] = np.convolve(sums[stretch], chances)[: len(chances)]
    return sums
