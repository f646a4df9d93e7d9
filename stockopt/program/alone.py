"""The program of one boat that is delivered to alone, in the form that solves fastest.

No other boat draws on her packs, so what it costs to take an option and to bring its pieces in one
way is known whole: one column for each such pair, and none for packs. Symbols: u pair taken, x
packs bought only to fill an order, y order, w free freight.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stockopt.choices.choices import BoatLimits, Choices
from stockopt.errors import NoPlanError
from stockopt.program.arrays import Arrays, Numbers, RowBuilder, Values
from stockopt.program.columns import has_free_column, has_order_column
from stockopt.program.limits import find_risk_share
from stockopt.program.needs import Need, list_lines, list_needs
from stockopt.program.options import Option
from stockopt.program.pick import pick
from stockopt.program.solution import Bought, Picked
from stockopt.program.ways import Ways, count_packs, list_ways
from stockopt.sourcing import Charges, Offer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AloneProgram:
    """One boat's program, and what its columns stand for.

    Parameters
    ----------
    arrays
        The program; its first columns are orders and free freight, then fillers, then pairs.
    place
        Where orders are delivered.
    needs
        Every part of hers, without its options.
    fillers
        (offer, column) of packs bought beyond what is used, to reach a minimum or free freight.
    first_pair
        Number of the first column for a pair.
    pair_need, pair_choice, pair_way
        By pair: the need, the choice taken, and the row of `pieces`, -1 where nothing is wanted.
    pieces
        [way, supply] pieces brought.
    """

    arrays: Arrays
    place: str
    needs: tuple[Need, ...]
    offers: tuple[Offer, ...]
    fillers: tuple[tuple[Offer, int], ...]
    first_pair: int
    pair_need: Numbers
    pair_choice: Numbers
    pair_way: Numbers
    pieces: Numbers


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Draft:
    """What the rows are written from.

    Parameters
    ----------
    needs, limits, charges, sources
        Of the boat; charges by source, all those that could be bought from.
    order, free
        By source: the column, where there is one.
    fillers
        (offer, most packs, column).
    first_pair, ways
        Number of the first pair's column; ways to bring pieces.
    need, way, aboard, risk
        By pair: its need, its row of `ways` or -1, most pieces aboard and share of the risk.
    """

    needs: Sequence[Need]
    limits: BoatLimits
    charges: dict[str, Charges]
    order: dict[str, int]
    free: dict[str, int]
    fillers: tuple[tuple[Offer, int, int], ...]
    first_pair: int
    ways: Ways
    need: Numbers
    way: Numbers
    aboard: Values
    risk: Values

    @property
    def columns(self) -> Numbers:
        """Return the columns of the pairs."""
        return np.arange(self.first_pair, self.first_pair + len(self.need), dtype=np.int32)


def is_alone(choices: Choices) -> bool:
    """Return whether the choices are of one boat at one place, and no two parts share pieces.

    Two parts do where one is used up with the other, or where a set holds both; and pieces that
    meet her on her way are ordered to another place.
    """
    if len(choices.boats) > 1 or any(part.uses or part.ahead for part in choices.parts):
        return False
    if any(offer.contents for part in choices.parts for offer in part.offers):
        return False
    offers = [
        (offer.source, offer.part, offer.pack, offer.price)
        for part in choices.parts
        for offer in part.offers
    ]
    return len(set(offers)) == len(offers)


def build_alone(choices: Choices) -> AloneProgram:
    """Build the program of one boat; errors as for the program as one model."""
    needs = list_needs(choices)
    if not all(need.options for need in needs):
        raise NoPlanError(())
    place = needs[0].place
    lines = list_lines(needs, choices)
    sources = sorted({offer.source for _, offer in lines})
    charges = {source: choices.charges[source, place] for source in sources}
    ordered = [source for source in sources if has_order_column(charges[source])]
    freed = [source for source in ordered if has_free_column(charges[source])]
    fillable = {s for s in ordered if s in freed or charges[s].minimum_order}
    first_filler = len(ordered) + len(freed)
    filling = [line for line in lines.values() if line.offer.source in fillable]
    stock = {part: pieces for (at, part), pieces in choices.stock.items() if at == place}
    ways = list_ways(needs, stock, sources, fillable)
    option, way = _pair_up(needs, ways)
    facts = _list_options(needs, choices.readiness)
    later, aboard, risk = facts[:, 0][option], facts[:, 1][option], facts[:, 2][option]
    draft = _Draft(
        needs=needs,
        limits=choices.boats[needs[0].part.boat],
        charges=charges,
        order={source: column for column, source in enumerate(ordered)},
        free={source: column for column, source in enumerate(freed, len(ordered))},
        fillers=tuple(
            (line.offer, line.most_packs, column)
            for column, line in enumerate(filling, first_filler)
        ),
        first_pair=first_filler + len(filling),
        ways=ways,
        need=facts[:, 3].astype(np.int32)[option],
        way=way,
        aboard=aboard,
        risk=risk,
    )
    worth = {line.offer: line.credit for line in filling}
    cost, spending = _find_costs(draft, later, worth)
    return AloneProgram(
        arrays=_write_rows(draft, cost, spending),
        place=place,
        needs=tuple(replace(need, options=()) for need in needs),
        offers=tuple(offer for _, offer in lines),
        fillers=tuple((offer, column) for offer, _, column in draft.fillers),
        first_pair=draft.first_pair,
        pair_need=draft.need,
        pair_choice=facts[:, 4].astype(np.int32)[option],
        pair_way=way,
        pieces=ways.pieces,
    )


def _list_options(needs: Sequence[Need], readiness: float | None) -> Values:
    """Return [option, (later cost, pieces aboard, risk share, need, choice)] over all needs."""
    return np.array(
        [
            (
                option.choice.later_cost,
                option.choice.aboard,
                find_risk_share(option.choice.shortage_chance, readiness)
                if readiness and need.part.stops
                else 0.0,
                i,
                option.index,
            )
            for i, need in enumerate(needs)
            for option in need.options
        ]
    )


def _pair_up(needs: Sequence[Need], ways: Ways) -> tuple[Numbers, Numbers]:
    """Pair every option, numbered over all needs, with each way to bring what it wants."""
    wanted = np.array([option.wanted for need in needs for option in need.options])
    need = np.repeat(np.arange(len(needs)), [len(need.options) for need in needs])
    step = 1 + max(wanted.max(), ways.wanted.max(initial=0))
    keys = ways.need * step + ways.wanted
    first = np.searchsorted(keys, need * step + wanted, side="left")
    last = np.searchsorted(keys, need * step + wanted, side="right")
    counts = np.where(wanted == 0, 1, last - first)
    option = np.repeat(np.arange(len(wanted)), counts)
    within = np.arange(len(option)) - np.repeat(np.cumsum(counts) - counts, counts)
    way = np.where(wanted[option] == 0, -1, first[option] + within)
    return option.astype(np.int32), way.astype(np.int32)


def _by_pair(draft: _Draft, by_way: Values) -> Values:
    """Give every pair what its way has; 0 where nothing is wanted."""
    return np.append(by_way, 0.0)[draft.way]


def _find_costs(draft: _Draft, later: Values, worth: dict[Offer, float]) -> tuple[Values, Values]:
    """Return by column the cost and the spending."""
    cost = np.zeros(draft.first_pair + len(draft.way))
    spending = np.zeros_like(cost)
    for source, column in draft.order.items():
        charges = draft.charges[source]
        cost[column] = spending[column] = charges.per_order + charges.handling
    for source, column in draft.free.items():
        cost[column] = spending[column] = -draft.charges[source].per_order
    for offer, _, column in draft.fillers:
        cost[column] = (offer.landed - worth[offer]) * offer.pack
        spending[column] = offer.landed * offer.pack
    cost[draft.first_pair :] = later + _by_pair(draft, draft.ways.cost)
    spending[draft.first_pair :] = _by_pair(draft, draft.ways.spending)
    return cost, spending


def _write_rows(draft: _Draft, cost: Values, spending: Values) -> Arrays:
    rows = RowBuilder()
    one_choice = rows.add_rows(len(draft.needs), least=1.0, most=1.0)
    rows.fill(one_choice[draft.need], draft.columns, 1.0)
    _order_before_buying(draft, rows)
    _buy_what_there_is(draft, rows)
    _reach_thresholds(draft, rows)
    _keep_limits(draft, rows, spending)
    upper = np.ones(len(cost))
    for _, most, column in draft.fillers:
        upper[column] = most
    return rows.finish(cost=cost, spending=spending, upper=upper)


def _order_before_buying(draft: _Draft, rows: RowBuilder) -> None:
    """Buy nothing without an order: for every part, sum of u that buy there <= y."""
    for position, source in enumerate(draft.charges):
        if source not in draft.order:
            continue
        buys = np.append(draft.ways.uses[:, position], False)[draft.way]
        needs, row = np.unique(draft.need[buys], return_inverse=True)
        numbers = rows.add_rows(len(needs), most=0.0)
        rows.fill(numbers[row], draft.columns[buys], 1.0)
        rows.fill(numbers, draft.order[source], -1.0)


def _buy_what_there_is(draft: _Draft, rows: RowBuilder) -> None:
    """Fill up no further than there is, nor without an order: packs of u + x <= most y."""
    drawn = {
        offer: (i, s)
        for i, need in enumerate(draft.needs)
        for s, offer in enumerate(need.supplies)
        if offer is not None
    }
    starts = np.searchsorted(draft.need, np.arange(len(draft.needs) + 1))
    numbers = rows.add_rows(len(draft.fillers), most=0.0)
    for row, (offer, most, column) in zip(numbers, draft.fillers, strict=True):
        i, s = drawn[offer]
        pairs = np.arange(starts[i], starts[i + 1])
        pairs = pairs[draft.way[pairs] >= 0]
        packs = np.ceil(draft.ways.pieces[draft.way[pairs], s] / offer.pack)
        rows.fill(row, draft.columns[pairs], packs)
        rows.fill(row, np.array([column, draft.order[offer.source]]), np.array([1.0, -most]))


def _reach_thresholds(draft: _Draft, rows: RowBuilder) -> None:
    """Reach an order's minimum, and free freight only from its value on.

    Goods >= minimum y, goods >= from w, w <= y.
    """
    for position, source in enumerate(draft.charges):
        charges = draft.charges[source]
        free = draft.free.get(source)
        asked = []
        if source in draft.order and charges.minimum_order:
            asked.append((draft.order[source], charges.minimum_order))
        if free is not None:
            asked.append((free, charges.free_freight_from or 0.0))
            ordered = rows.add_rows(1, most=0.0)
            rows.fill(ordered, np.array([free, draft.order[source]]), np.array([1.0, -1.0]))
        goods = _by_pair(draft, draft.ways.goods[:, position])
        for column, threshold in asked:
            (row,) = rows.add_rows(1, least=0.0)
            rows.fill(row, draft.columns, goods)
            rows.fill(row, column, -threshold)
            for offer, _, filler in draft.fillers:
                if offer.source == source:
                    rows.fill(row, filler, offer.price * offer.pack)


def _keep_limits(draft: _Draft, rows: RowBuilder, spending: Values) -> None:
    """Keep weight, stowage, risk and what is spent now within her limits.

    sum kg n u <= kg, sum litres n u <= litres, sum share u <= 1; and what is spent on all of it,
    or without surplus from a store, <= budget.
    """
    limits = draft.limits
    for most, each in (
        (limits.kg, [need.part.kg for need in draft.needs]),
        (limits.litres, [need.part.litres for need in draft.needs]),
    ):
        if most is not None:
            (row,) = rows.add_rows(1, most=most)
            rows.fill(row, draft.columns, np.array(each)[draft.need] * draft.aboard)
    if draft.risk.any():
        (row,) = rows.add_rows(1, most=1.0)
        rows.fill(row, draft.columns, draft.risk)
    if limits.budget is not None:
        (row,) = rows.add_rows(1, most=limits.budget)
        if limits.place == limits.boat:
            rows.fill(row, np.arange(len(spending), dtype=np.int32), spending)
        else:
            rows.fill(row, draft.columns, _by_pair(draft, _find_landed(draft)))


def _find_landed(draft: _Draft) -> Values:
    """Return by way the landed cost of the pieces used, without surplus."""
    landed = np.zeros((len(draft.needs), draft.ways.pieces.shape[1]))
    for i, need in enumerate(draft.needs):
        for s, supply in enumerate(need.supplies if need.most_wanted else ()):
            landed[i, s] = 0.0 if supply is None else supply.landed
    each: Values = (landed[draft.ways.need] * draft.ways.pieces).sum(axis=1)
    return each


def read_alone(
    program: AloneProgram, values: Values
) -> tuple[tuple[Picked, ...], tuple[Bought, ...]]:
    """Read the choices taken and the order lines, sorted, from the values of the columns."""
    taken = np.flatnonzero(values[program.first_pair :] > 0.5)
    picked = []
    packs: Counter[Offer] = Counter()
    for pair in taken[np.argsort(program.pair_need[taken])]:
        need = program.needs[program.pair_need[pair]]
        index, way = int(program.pair_choice[pair]), program.pair_way[pair]
        pieces = [] if way < 0 else program.pieces[way].tolist()[: len(need.supplies)]
        choice = need.part.choices[index]
        option = Option(index=index, choice=choice, wanted=sum(pieces))
        brought = {s: n for s, n in zip(need.supplies, pieces, strict=False) if n}
        picked.append(pick(need, option, brought))
        for offer, bought in picked[-1].bought:
            packs[offer] += count_packs(offer, bought)
    for offer, column in program.fillers:
        packs[offer] += round(values[column])
    lines = (
        Bought(place=program.place, offer=offer, packs=packs[offer])
        for offer in program.offers
        if packs[offer] > 0
    )
    return tuple(picked), tuple(lines)
