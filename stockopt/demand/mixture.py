"""Needs of a whole boat: added over her positions given each node, and only then mixed.

Twins share what is not known of their part, so their needs are independent given a node and not
otherwise. Every array of chances has k, the number of pieces, first: (K + 1, J, S), so that adding
two independent needs is a short loop over long rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockopt.demand.together import find_within
from stockopt.demand.weibull import Floats

#: Of a number of pieces with a chance below this, mixed, only the tail is kept.
_NEVER = 1e-8

#: Groups of nodes that another part's needs are mixed down to before they are added.
_GROUPS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """Needs of one boat for one part given each of J nodes, for each f = 0 .. F - 1.

    Parameters
    ----------
    weight
        (J,): weights of the nodes.
    by_stretch
        F arrays (K + 1, J, S).
    whole
        F arrays (K + 1, J, 1).
    """

    weight: Floats
    by_stretch: tuple[Floats, ...]
    whole: tuple[Floats, ...]


def find_chances(at_least: Sequence[Floats]) -> Floats:
    """Return the chances of k = 0 .. K needs from those of at least 1 .. K, for S windows.

    Parameters
    ----------
    at_least
        S arrays (J, P, K), K its own in each.

    Returns
    -------
    Floats
        (P, K + 1, J, S).
    """
    nodes, positions = at_least[0].shape[:2]
    most = max(chance.shape[-1] for chance in at_least)
    stacked = np.zeros((positions, most + 2, nodes, len(at_least)))
    stacked[:, 0] = 1.0
    for window, chance in enumerate(at_least):
        stacked[:, 1 : chance.shape[-1] + 1, :, window] = chance.transpose(1, 2, 0)
    return stacked[:, :-1] - stacked[:, 1:]


def add_needs(first: Floats, second: Floats) -> Floats:
    """Return the chances of the sum of two needs, independent given the node."""
    if len(first) > len(second):
        first, second = second, first
    added = np.zeros((len(first) + len(second) - 1, *second.shape[1:]))
    for pieces, chance in enumerate(first):
        added[pieces : pieces + len(second)] += chance * second
    return added


def trim(chances: Floats, weight: Floats) -> Floats:
    """Return the chances with all numbers that hardly ever happen put on the largest kept."""
    mixed = (weight @ chances).max(axis=1)
    beyond = np.cumsum(mixed[::-1])[::-1]
    kept = max(int(np.count_nonzero(beyond >= _NEVER)), 2)
    if kept >= len(chances):
        return chances
    trimmed = chances[:kept].copy()
    trimmed[-1] += chances[kept:].sum(axis=0)
    return trimmed


def add_positions(fitted: Sequence[Floats], new: Sequence[Floats], weight: Floats) -> list[Floats]:
    """Return the needs of all positions when the first f = 0 .. P of them are new.

    Parameters
    ----------
    fitted, new
        For each position, oldest first, the chances as it stands and as if replaced:
        (K + 1, J, S).
    weight
        (J,).
    """
    none = np.ones((1, *fitted[0].shape[1:]))
    still, replaced = [none], [none]
    for chances in reversed(fitted):
        still.append(trim(add_needs(still[-1], chances), weight))
    for chances in new:
        replaced.append(trim(add_needs(replaced[-1], chances), weight))
    return [
        trim(add_needs(old, fresh), weight)
        for old, fresh in zip(reversed(still), replaced, strict=True)
    ]


def need_nothing(stretches: int) -> Needs:
    """Return the needs of a part that is fitted nowhere."""
    return Needs(
        weight=np.ones(1),
        by_stretch=(np.ones((1, 1, stretches)),),
        whole=(np.ones((1, 1, 1)),),
    )


def sum_up_uses(needs: Needs) -> Needs:
    """Return the needs with nodes of like need at f = 0 put together in few groups.

    That changes no chance of any one stretch, nor of the whole: it only rounds how the stretches
    hang together.
    """
    return _group(needs, _GROUPS)


def add_used_with(own: Needs, other: Needs, quantity: int, replaced: int = 0) -> Needs:
    """Return the needs with `quantity` more for every need of another part, of few nodes.

    The two parts' lives are learnt apart, so their nodes are independent. Of the other part so
    many pieces are `replaced` before departure.
    """
    weight = np.outer(own.weight, other.weight).ravel()
    times = len(other.weight)

    def add(mine: Floats, its: Floats) -> Floats:
        spread = np.zeros((quantity * (len(its) - 1) + 1, *its.shape[1:]))
        spread[::quantity] = its
        mine = np.repeat(mine, times, axis=1)
        return trim(add_needs(mine, np.tile(spread, (1, len(own.weight), 1))), weight)

    added = Needs(
        weight=weight,
        by_stretch=tuple(add(mine, other.by_stretch[replaced]) for mine in own.by_stretch),
        whole=tuple(add(mine, other.whole[replaced]) for mine in own.whole),
    )
    return _group(added, _GROUPS * _GROUPS)


def _group(needs: Needs, most: int) -> Needs:
    """Return the needs with nodes of like expected need mixed, to at most `most` groups."""
    if len(needs.weight) <= most:
        return needs
    whole = needs.whole[0][..., 0]
    expected = np.arange(len(whole)) @ whole
    order = np.argsort(expected, kind="stable")
    reached = np.cumsum(needs.weight[order]) - needs.weight[order] / 2.0
    group = np.minimum((reached * most).astype(np.int64), most - 1)
    _, group = np.unique(group, return_inverse=True)
    weight = np.bincount(group, needs.weight[order]).astype(np.float64)
    shares = np.zeros((len(weight), len(order)))
    shares[group, order] = needs.weight[order]
    shares /= np.maximum(weight, 1e-300)[:, None]

    def mix(chances: Floats) -> Floats:
        return np.asarray(np.einsum("gj,kjs->kgs", shares, chances, optimize=True))

    return Needs(
        weight=weight,
        by_stretch=tuple(mix(chances) for chances in needs.by_stretch),
        whole=tuple(mix(chances) for chances in needs.whole),
    )


def find_class_means(needs: Needs, shares: Sequence[float]) -> Floats:
    """Return the expected pieces of the whole plan at f = 0, by class of nodes of rising need.

    Parameters
    ----------
    needs
        Of one boat for one part.
    shares
        (C,): of the weight that each class has, adding to 1; a node may stand in two.
    """
    whole = needs.whole[0][..., 0]
    expected = np.arange(len(whole)) @ whole
    order = np.argsort(expected, kind="stable")
    reached = np.concatenate([[0.0], np.cumsum(needs.weight[order])])
    summed = np.concatenate([[0.0], np.cumsum((needs.weight * expected)[order])])
    edges = np.concatenate([[0.0], np.cumsum(shares)]) * reached[-1]
    return np.asarray(np.diff(np.interp(edges, reached, summed)) / np.diff(edges))


def mix_needs(needs: Needs) -> tuple[Floats, Floats, Floats]:
    """Return the chances by stretch (F, S, K+1), of the whole (F, K+1), and within (F, K+1).

    `within` is the chance that no stretch needs more than k, an estimate but for k = 0: see
    :func:`~stockopt.demand.together.find_within`.
    """
    most = max(len(chances) for chances in needs.whole)
    shape = (len(needs.whole), most)
    by_stretch = np.zeros((shape[0], needs.by_stretch[0].shape[2], most))
    whole, within = np.zeros(shape), np.ones(shape)
    weight = needs.weight
    for f, (apart, total) in enumerate(zip(needs.by_stretch, needs.whole, strict=True)):
        whole[f, : len(total)] = (weight @ total)[:, 0]
        kept = _keep(apart, len(total))
        by_stretch[f, :, : len(kept)] = (weight @ kept).T
        within[f, : len(kept)] = np.minimum(find_within(kept, total[..., 0]) @ weight, 1.0)
    return by_stretch, whole, within


def _keep(chances: Floats, length: int) -> Floats:
    """Return the chances of at most `length` numbers, what is beyond put on the last."""
    if len(chances) <= length:
        return chances
    kept = chances[:length].copy()
    kept[-1] += chances[length:].sum(axis=0)
    return kept
