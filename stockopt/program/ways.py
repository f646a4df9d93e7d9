"""The ways to bring the pieces that one boat wants of each part, whole packs and all.

They are built supply by supply for all parts at once, and ways that cannot be best are dropped on
the way: whatever the other supplies bring, a way that is as good stays as good.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from stockopt.program.arrays import Flags, Numbers, Values
from stockopt.program.needs import Need
from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """Ways to bring pieces, by need and then by pieces.

    Parameters
    ----------
    need, wanted
        Position of the need, and the pieces brought and used.
    pieces
        [way, supply] pieces from each of the need's supplies, 0 beyond its last.
    cost
        Packs at their landed cost less the worth of surplus pieces, and the worth of pieces drawn
        from stock.
    spending
        The part of it that is spent now.
    goods
        [way, source] price of the packs bought, before freight.
    uses
        [way, source] whether anything is bought there.
    """

    need: Numbers
    wanted: Numbers
    pieces: Numbers
    cost: Values
    spending: Values
    goods: Values
    uses: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """Ways for several needs with as many supplies, [need, way, ...]; cost inf where none.

    `goods` and `uses` go by supply; those of one source stand with its first supply.
    """

    pieces: Numbers
    cost: Values
    spending: Values
    goods: Values
    uses: Flags


def list_ways(
    needs: Sequence[Need],
    stock: Mapping[str, int],
    sources: Sequence[str],
    fillable: Set[str],
) -> Ways:
    """List the ways that could be best, for each number of pieces that an option wants.

    Parameters
    ----------
    needs
        Of one boat that shares packs and stock with no other.
    stock
        By part: pieces in the stock of her place.
    sources
        In the order of the columns of `goods` and `uses`.
    fillable
        Sources where a greater order can pay by itself: those with a minimum or free freight.

    Returns
    -------
    Ways
        A way is left out where another costs no more, is paid with no more money now, orders from
        no other sources and from each of `fillable` for no less.
    """
    groups: dict[int, list[int]] = defaultdict(list)
    for i, need in enumerate(needs):
        if need.most_wanted and need.supplies:
            groups[len(need.supplies)].append(i)
    widest = max(1, *(len(need.supplies) for need in needs))
    position = {source: k for k, source in enumerate(sources)}
    found = [
        ways
        for members in groups.values()
        for ways in _list_for_group(needs, members, stock, position, fillable, widest)
    ]
    if not found:
        return _join([_nothing(widest, len(sources))])
    joined = _join(found)
    order = np.lexsort((joined.wanted, joined.need))
    return _join([joined], order)


def _nothing(supplies: int, sources: int) -> Ways:
    none = np.zeros(0, np.int32)
    return Ways(
        need=none,
        wanted=none,
        pieces=np.zeros((0, supplies), np.int32),
        cost=np.zeros(0),
        spending=np.zeros(0),
        goods=np.zeros((0, sources)),
        uses=np.zeros((0, sources), bool),
    )


def _join(found: Sequence[Ways], order: npt.NDArray[np.intp] | slice = slice(None)) -> Ways:
    return Ways(
        need=np.concatenate([ways.need for ways in found])[order],
        wanted=np.concatenate([ways.wanted for ways in found])[order],
        pieces=np.concatenate([ways.pieces for ways in found])[order],
        cost=np.concatenate([ways.cost for ways in found])[order],
        spending=np.concatenate([ways.spending for ways in found])[order],
        goods=np.concatenate([ways.goods for ways in found])[order],
        uses=np.concatenate([ways.uses for ways in found])[order],
    )


def _list_for_group(
    needs: Sequence[Need],
    members: Sequence[int],
    stock: Mapping[str, int],
    position: Mapping[str, int],
    fillable: Set[str],
    widest: int,
) -> list[Ways]:
    """List the ways of the needs that have as many supplies, one value for each number wanted."""
    most = max(needs[i].most_wanted for i in members)
    first, fills = _find_first_supplies(needs, members, fillable)
    totals: list[_State] = []
    for s in range(first.shape[1]):
        one = _take_from(needs, members, s, most, stock, first)
        if s == 0:
            totals = [_pick_ways(one, slice(n, n + 1)) for n in range(most + 1)]
            continue
        totals = [
            _drop_beaten(
                _merge(
                    [
                        (totals[total - n], _pick_ways(one, slice(n, n + 1)))
                        for n in range(total + 1)
                    ]
                ),
                fills,
            )
            for total in range(most + 1)
        ]
    columns = np.array(
        [
            [
                -1 if supply is None else position.get(supply.source, -1)
                for supply in needs[i].supplies
            ]
            for i in members
        ]
    )
    found = []
    for total in range(1, most + 1):
        asked = np.array([any(o.wanted == total for o in needs[i].options) for i in members])
        state = totals[total]
        row, way = np.nonzero(np.isfinite(state.cost) & asked[:, None])
        found.append(
            _flatten(
                state, row, way, columns, np.array(members, np.int32), total, len(position), widest
            )
        )
    return found


def _find_first_supplies(
    needs: Sequence[Need], members: Sequence[int], fillable: Set[str]
) -> tuple[Numbers, Flags]:
    """Return [need, supply] the first supply of the same source, and whether it is fillable."""
    first, fills = [], []
    for i in members:
        sources = [None if supply is None else supply.source for supply in needs[i].supplies]
        first.append([sources.index(source) for source in sources])
        fills.append([source in fillable for source in sources])
    return np.array(first, np.int32), np.array(fills)


def _take_from(
    needs: Sequence[Need],
    members: Sequence[int],
    s: int,
    most: int,
    stock: Mapping[str, int],
    first: Numbers,
) -> _State:
    """Return the ways to take 0, 1, ... `most` pieces from supply `s` alone."""
    count = np.arange(most + 1)
    facts = []
    for i in members:
        supply, part = needs[i].supplies[s], needs[i].part
        if supply is None:
            facts.append((1.0, 0.0, 0.0, part.leftover, float(stock.get(part.part, 0)), 0.0))
        else:
            had = math.inf if supply.most is None else float(supply.most * supply.pack)
            facts.append((supply.pack, supply.landed, supply.price, part.leftover, had, 1.0))
    pack, landed, price, leftover, there, bought = (
        np.array(column, float)[:, None] for column in zip(*facts, strict=True)
    )
    brought = np.ceil(count / pack) * pack * bought
    spending = brought * landed
    cost = spending - (brought - count * bought) * leftover + count * (1.0 - bought) * leftover
    cost = np.where(count <= there, cost, np.inf)
    rows = np.arange(len(members))
    goods = np.zeros((*cost.shape, first.shape[1]))
    goods[rows, :, first[:, s]] = brought * price
    pieces = np.zeros((*cost.shape, first.shape[1]), np.int32)
    pieces[:, :, s] = count
    uses = np.zeros((*cost.shape, first.shape[1]), bool)
    uses[rows, :, first[:, s]] = (count > 0) & (bought > 0.0)
    return _State(pieces=pieces, cost=cost, spending=spending, goods=goods, uses=uses)


def _pick_ways(state: _State, taken: slice | tuple[npt.NDArray[np.intp], ...]) -> _State:
    """Take some of the ways of every need."""
    key = (slice(None), taken) if isinstance(taken, slice) else taken
    return _State(
        pieces=state.pieces[key],
        cost=state.cost[key],
        spending=state.spending[key],
        goods=state.goods[key],
        uses=state.uses[key],
    )


def _merge(pairs: Sequence[tuple[_State, _State]]) -> _State:
    """Put together, for each pair, every way of the first with the one way of the second."""
    return _State(
        pieces=np.concatenate([a.pieces + b.pieces for a, b in pairs], axis=1),
        cost=np.concatenate([a.cost + b.cost for a, b in pairs], axis=1),
        spending=np.concatenate([a.spending + b.spending for a, b in pairs], axis=1),
        goods=np.concatenate([a.goods + b.goods for a, b in pairs], axis=1),
        uses=np.concatenate([a.uses | b.uses for a, b in pairs], axis=1),
    )


def _drop_beaten(state: _State, fills: Flags) -> _State:
    """Drop the ways that another is as good as; of two alike the first stays."""
    rows = np.arange(len(state.cost))[:, None]
    order = np.lexsort((state.uses.sum(axis=2), state.spending, state.cost), axis=1)
    state = _pick_ways(state, (rows, order))
    there = np.isfinite(state.cost)
    kept = there.copy()
    # What counts as more goods to have: only at sources that can be filled up.
    goods = np.where(fills[:, None, :], state.goods, 0.0)
    for p in range(int(there.sum(axis=1).max(initial=0)) - 1):
        here = slice(p, p + 1)
        later = slice(p + 1, None)
        beaten = kept[:, here] & (state.spending[:, here] <= state.spending[:, later])
        for s in range(fills.shape[1]):
            beaten &= state.uses[:, later, s] | ~state.uses[:, here, s]
            beaten &= goods[:, here, s] >= goods[:, later, s]
        kept[:, later] &= ~beaten
    order = np.argsort(~kept, axis=1, kind="stable")[:, : max(1, int(kept.sum(axis=1).max()))]
    state = _pick_ways(state, (rows, order))
    cost = np.where(kept[rows, order], state.cost, np.inf)
    return _State(
        pieces=state.pieces,
        cost=cost,
        spending=state.spending,
        goods=state.goods,
        uses=state.uses,
    )


def _flatten(
    state: _State,
    row: npt.NDArray[np.intp],
    way: npt.NDArray[np.intp],
    columns: npt.NDArray[np.intp],
    members: Numbers,
    total: int,
    sources: int,
    widest: int,
) -> Ways:
    pieces = np.zeros((len(row), widest), np.int32)
    goods = np.zeros((len(row), sources))
    uses = np.zeros((len(row), sources), bool)
    pieces[:, : columns.shape[1]] = state.pieces[row, way]
    for s in range(columns.shape[1]):
        at = columns[row, s]
        known = np.flatnonzero(at >= 0)
        goods[known, at[known]] += state.goods[row[known], way[known], s]
        uses[known, at[known]] |= state.uses[row[known], way[known], s]
    return Ways(
        need=members[row],
        wanted=np.full(len(row), total, np.int32),
        pieces=pieces,
        cost=state.cost[row, way],
        spending=state.spending[row, way],
        goods=goods,
        uses=uses,
    )


def count_packs(offer: Offer, pieces: int) -> int:
    """Return the packs that hold this many pieces."""
    return math.ceil(pieces / offer.pack)
