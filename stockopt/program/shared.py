"""The program of boats that share a store, in the form that solves fastest.

Pieces of one part are alike for all boats of a place that can draw on the same supplies: so there
is one column for what each supply brings to all of them together, not one for each boat. Symbols:
z take, Q pieces for such a group from one supply, P packs, y order, w free freight.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.program.arrays import Arrays, Numbers, RowBuilder, Values
from stockopt.program.columns import find_orders, has_free_column, has_order_column
from stockopt.program.limits import find_risk_share
from stockopt.program.needs import Line, Need, Supply, list_lines, list_needs
from stockopt.program.options import Option
from stockopt.program.pick import pick
from stockopt.program.solution import Bought, Picked
from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Needs that can draw on the same supplies at the same worth, and their columns.

    Parameters
    ----------
    needs
        Positions of the needs.
    supplies, columns
        What brings pieces, and the column for the pieces of each.
    """

    needs: tuple[int, ...]
    supplies: tuple[Supply, ...]
    columns: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SharedProgram:
    """The program, and what its columns stand for.

    Parameters
    ----------
    arrays
        The program; its first columns are orders and free freight, then packs, then pieces, then
        options.
    order, free, packs
        The columns by (source, place), and by (place, offer).
    groups
        Who shares pieces.
    needs
        Every need, without its options.
    first_option
        Number of the first column for an option.
    need, choice, wanted
        By option: its need, the choice it takes, and the pieces it wants.
    boat
        By need: which boat's it is, numbered.
    """

    arrays: Arrays
    order: Mapping[tuple[str, str], int]
    free: Mapping[tuple[str, str], int]
    packs: Mapping[tuple[str, Offer], int]
    groups: tuple[Group, ...]
    needs: tuple[Need, ...]
    first_option: int
    need: Numbers
    choice: Numbers
    wanted: Numbers
    boat: Numbers


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Draft:
    """What the rows are written from; columns as in :class:`SharedProgram`, facts by option."""

    choices: Choices
    needs: Sequence[Need]
    lines: Mapping[tuple[str, Offer], Line]
    order: Mapping[tuple[str, str], int]
    free: Mapping[tuple[str, str], int]
    packs: Mapping[tuple[str, Offer], int]
    groups: tuple[Group, ...]
    group: Numbers
    boats: Mapping[str, int]
    columns: Numbers
    need: Numbers
    wanted: Values
    aboard: Values
    risk: Values
    later: Values


def build_shared(choices: Choices) -> SharedProgram:
    """Build the program of boats that share orders; errors as for the program as one model."""
    needs = list_needs(choices)
    if not all(need.options for need in needs):
        raise NoPlanError(())
    lines = list_lines(needs, choices)
    orders = sorted(find_orders(lines))
    ordered = [key for key in orders if has_order_column(choices.charges[key])]
    freed = [key for key in ordered if has_free_column(choices.charges[key])]
    first_packs = len(ordered) + len(freed)
    groups = _group_needs(needs, choices, first_packs + len(lines))
    first_option = first_packs + len(lines) + sum(len(group.columns) for group in groups)
    facts = _list_facts(needs, choices.readiness)
    group = np.full(len(needs), -1, np.int32)
    for g, members in enumerate(groups):
        group[list(members.needs)] = g
    boats = {boat: k for k, boat in enumerate(sorted({need.part.boat for need in needs}))}
    draft = _Draft(
        choices=choices,
        needs=needs,
        lines=lines,
        order={key: column for column, key in enumerate(ordered)},
        free={key: column for column, key in enumerate(freed, len(ordered))},
        packs={key: column for column, key in enumerate(lines, first_packs)},
        groups=groups,
        group=group,
        boats=boats,
        columns=np.arange(first_option, first_option + len(facts), dtype=np.int32),
        need=facts[:, 0].astype(np.int32),
        wanted=facts[:, 2],
        aboard=facts[:, 3],
        risk=facts[:, 4],
        later=facts[:, 5],
    )
    return SharedProgram(
        arrays=_write(draft),
        order=draft.order,
        free=draft.free,
        packs=draft.packs,
        groups=groups,
        needs=tuple(replace(need, options=()) for need in needs),
        first_option=first_option,
        need=draft.need,
        choice=facts[:, 1].astype(np.int32),
        wanted=draft.wanted.astype(np.int32),
        boat=np.array([boats[need.part.boat] for need in needs], np.int32),
    )


def _group_needs(needs: Sequence[Need], choices: Choices, first: int) -> tuple[Group, ...]:
    """Group the needs; one whose boat has a budget of her own stands alone."""
    members: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for i, need in enumerate(needs):
        if need.most_wanted:
            own = i if choices.boats[need.part.boat].budget is not None else -1
            worth = need.part.leftover if None in need.supplies else 0.0
            members[need.place, need.part.part, need.supplies, worth, own].append(i)
    groups = []
    for alike in members.values():
        supplies = needs[alike[0]].supplies
        columns = tuple(range(first, first + len(supplies)))
        groups.append(Group(needs=tuple(alike), supplies=supplies, columns=columns))
        first += len(supplies)
    return tuple(groups)


def _list_facts(needs: Sequence[Need], readiness: float | None) -> Values:
    """Return [option, (need, choice, wanted, pieces aboard, risk share, later cost)]."""
    return np.array(
        [
            (
                i,
                option.index,
                option.wanted,
                option.choice.aboard,
                find_risk_share(option.choice.shortage_chance, readiness)
                if readiness and need.part.stops
                else 0.0,
                option.choice.later_cost,
            )
            for i, need in enumerate(needs)
            for option in need.options
        ],
        dtype=float,
    )


def _write(draft: _Draft) -> Arrays:
    """Write costs, spending and rows."""
    count = int(draft.columns[-1]) + 1
    cost, spending, upper = np.zeros(count), np.zeros(count), np.ones(count)
    for key, column in draft.order.items():
        charges = draft.choices.charges[key]
        cost[column] = spending[column] = charges.per_order + charges.handling
    for key, column in draft.free.items():
        cost[column] = spending[column] = -draft.choices.charges[key].per_order
    for (place, offer), column in draft.packs.items():
        line = draft.lines[place, offer]
        spending[column] = offer.landed * offer.pack
        cost[column] = (offer.landed - line.credit) * offer.pack
        upper[column] = line.most_packs
    for group in draft.groups:
        most = sum(draft.needs[i].most_wanted for i in group.needs)
        first = draft.needs[group.needs[0]]
        for supply, column in zip(group.supplies, group.columns, strict=True):
            upper[column] = most
            cost[column] = (
                first.part.leftover if supply is None else draft.lines[first.place, supply].credit
            )
    cost[draft.columns] = draft.later
    rows = RowBuilder()
    _take_one_choice_and_bring(draft, rows)
    _draw_on_supplies(draft, rows)
    _order_before_buying(draft, rows)
    _keep_to_what_is_available(draft, rows)
    _reach_thresholds(draft, rows)
    _keep_loads_and_risk(draft, rows)
    _keep_budgets(draft, rows, spending)
    return rows.finish(cost=cost, spending=spending, upper=upper)


def _take_one_choice_and_bring(draft: _Draft, rows: RowBuilder) -> None:
    """Take one choice for every part: sum z = 1; bring what is wanted: sum Q = sum wanted z."""
    choice = rows.add_rows(len(draft.needs), least=1.0, most=1.0)
    rows.fill(choice[draft.need], draft.columns, 1.0)
    bring = rows.add_rows(len(draft.groups), least=0.0, most=0.0)
    wants = draft.wanted > 0.0
    group = draft.group[draft.need[wants]]
    rows.fill(bring[group], draft.columns[wants], -draft.wanted[wants])
    for row, members in zip(bring, draft.groups, strict=True):
        rows.fill(row, np.array(members.columns, np.int32), 1.0)


def _draw_on_supplies(draft: _Draft, rows: RowBuilder) -> None:
    """Draw no more than a store has, sum Q <= stock, or than is in packs, sum Q <= pack P."""
    stock: dict[tuple[str, str], list[int]] = defaultdict(list)
    bought: dict[tuple[str, Offer], list[int]] = defaultdict(list)
    for group in draft.groups:
        need = draft.needs[group.needs[0]]
        for supply, column in zip(group.supplies, group.columns, strict=True):
            if supply is None:
                stock[need.place, need.part.part].append(column)
            else:
                bought[need.place, supply].append(column)
    for key, columns in stock.items():
        (row,) = rows.add_rows(1, most=float(draft.choices.stock[key]))
        rows.fill(row, np.array(columns, np.int32), 1.0)
    for (place, offer), columns in bought.items():
        (row,) = rows.add_rows(1, most=0.0)
        rows.fill(row, np.array(columns, np.int32), 1.0)
        rows.fill(row, draft.packs[place, offer], -float(offer.pack))


def _order_before_buying(draft: _Draft, rows: RowBuilder) -> None:
    """Buy nothing without an order: P <= most packs y."""
    for (place, offer), column in draft.packs.items():
        order = draft.order.get((offer.source, place))
        if order is not None:
            (row,) = rows.add_rows(1, most=0.0)
            most = float(draft.lines[place, offer].most_packs)
            rows.fill(row, np.array([column, order], np.int32), np.array([1.0, -most]))


def _keep_to_what_is_available(draft: _Draft, rows: RowBuilder) -> None:
    """Buy no more than a source has, over all places: sum P <= most."""
    bought: dict[tuple[str, str, int, float], list[int]] = defaultdict(list)
    most: dict[tuple[str, str, int, float], float] = {}
    for (_, offer), column in draft.packs.items():
        if offer.most is not None:
            key = (offer.source, offer.part, offer.pack, offer.price)
            bought[key].append(column)
            most[key] = float(offer.most)
    for key, columns in bought.items():
        (row,) = rows.add_rows(1, most=most[key])
        rows.fill(row, np.array(columns, np.int32), 1.0)


def _reach_thresholds(draft: _Draft, rows: RowBuilder) -> None:
    """Reach an order's minimum, and free freight only from its value on.

    Goods >= minimum y, goods >= from w, w <= y.
    """
    goods: dict[tuple[str, str], list[tuple[int, float]]] = defaultdict(list)
    for (place, offer), column in draft.packs.items():
        goods[offer.source, place].append((column, offer.price * offer.pack))
    for key, order in draft.order.items():
        charges = draft.choices.charges[key]
        asked = [(order, charges.minimum_order)] if charges.minimum_order else []
        if key in draft.free:
            free = draft.free[key]
            asked.append((free, charges.free_freight_from or 0.0))
            (row,) = rows.add_rows(1, most=0.0)
            rows.fill(row, np.array([free, order], np.int32), np.array([1.0, -1.0]))
        for column, threshold in asked:
            (row,) = rows.add_rows(1, least=0.0)
            rows.fill(row, column, -threshold)
            for packs, value in goods[key]:
                rows.fill(row, packs, value)


def _keep_loads_and_risk(draft: _Draft, rows: RowBuilder) -> None:
    """Keep each boat's weight, stowage and risk: sum kg n z <= kg, the same for the others."""
    boat = np.array([draft.boats[need.part.boat] for need in draft.needs], np.int32)[draft.need]
    limits = [draft.choices.boats[name] for name in draft.boats]
    kg = np.array([need.part.kg for need in draft.needs])[draft.need]
    litres = np.array([need.part.litres for need in draft.needs])[draft.need]
    risk_limits = [1.0 if draft.choices.readiness else None] * len(limits)
    for most, burden in (
        ([limit.kg for limit in limits], kg * draft.aboard),
        ([limit.litres for limit in limits], litres * draft.aboard),
        (risk_limits, draft.risk),
    ):
        limit = np.array([np.inf if each is None else each for each in most], float)
        numbers = rows.add_rows(len(limits), most=limit)
        counts = np.isfinite(limit)[boat]
        rows.fill(numbers[boat[counts]], draft.columns[counts], burden[counts])


def _keep_budgets(draft: _Draft, rows: RowBuilder, spending: Values) -> None:
    """Keep each boat's budget and the fleet's: packs and order charges.

    Of a boat that has pieces from a store, what she gets is counted without surplus: sum landed Q.
    """
    own: dict[str, list[tuple[int, float]]] = defaultdict(list)
    for group in draft.groups:
        need = draft.needs[group.needs[0]]
        if need.place != need.part.boat:
            own[need.part.boat] += [
                (column, supply.landed)
                for supply, column in zip(group.supplies, group.columns, strict=True)
                if supply is not None
            ]
    paid = [(place, column) for (place, _), column in draft.packs.items()]
    paid += [(place, c) for keys in (draft.order, draft.free) for (_, place), c in keys.items()]
    for place, column in paid:
        own[place].append((column, float(spending[column])))
    for boat in draft.boats:
        limits = draft.choices.boats[boat]
        if limits.budget is not None and own[boat]:
            columns, money = zip(*own[boat], strict=True)
            (row,) = rows.add_rows(1, most=limits.budget)
            rows.fill(row, np.array(columns, np.int32), np.array(money))
    if draft.choices.budget is not None:
        (row,) = rows.add_rows(1, most=draft.choices.budget)
        rows.fill(row, np.arange(len(spending), dtype=np.int32), spending)


def read_shared(
    program: SharedProgram, values: Values
) -> tuple[tuple[Picked, ...], tuple[Bought, ...]]:
    """Read the choices taken and the order lines, sorted, from the values of the columns."""
    taken = np.flatnonzero(values[program.first_option :] > 0.5)
    option = np.zeros(len(program.needs), np.int64)
    option[program.need[taken]] = taken
    brought: dict[int, dict[Supply, int]] = {}
    for group in program.groups:
        left = [round(values[column]) for column in group.columns]
        for i in group.needs:
            wanted = int(program.wanted[option[i]])
            shares: Counter[Supply] = Counter()
            for s, supply in enumerate(group.supplies):
                pieces = min(wanted, left[s])
                left[s] -= pieces
                wanted -= pieces
                if pieces:
                    shares[supply] = pieces
            brought[i] = dict(shares)
    picked = []
    for i, need in enumerate(program.needs):
        index = int(program.choice[option[i]])
        one = Option(
            index=index, choice=need.part.choices[index], wanted=int(program.wanted[option[i]])
        )
        picked.append(pick(need, one, brought.get(i, {})))
    bought = (
        Bought(place=place, offer=offer, packs=packs)
        for (place, offer), column in program.packs.items()
        if (packs := round(values[column])) > 0
    )
    return tuple(picked), tuple(bought)
