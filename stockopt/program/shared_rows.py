"""The rows of the program of boats that share a store, one function a rule.

Symbols: z take, Q pieces for a group from one supply, H pieces for it from other boats, o own
pieces used up with another part, g pieces given, P packs, y order, w free freight.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stockopt.choices.choices import Choices
from stockopt.program.arrays import Arrays, Numbers, RowBuilder, Values
from stockopt.program.needs import Line, Need
from stockopt.program.shared_groups import Group, Spare
from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SharedDraft:
    """What the rows are written from.

    Parameters
    ----------
    choices, needs, lines
        Of the whole program.
    order, free, packs
        The columns by (source, place), and by (place, offer).
    groups, group
        Who shares pieces; by need its group, -1 for none.
    spares
        Own pieces left ashore that are of use.
    boats
        Numbers of the boats.
    first_of_need
        By need the column of its first option.
    columns, need, wanted, aboard, risk, later
        By option: its column, its need, pieces it wants, spares aboard, share of the risk allowed,
        and later cost.
    """

    choices: Choices
    needs: Sequence[Need]
    lines: Mapping[tuple[str, Offer], Line]
    order: Mapping[tuple[str, str], int]
    free: Mapping[tuple[str, str], int]
    packs: Mapping[tuple[str, Offer], int]
    groups: tuple[Group, ...]
    group: Numbers
    spares: tuple[Spare, ...]
    boats: Mapping[str, int]
    first_of_need: Numbers
    columns: Numbers
    need: Numbers
    wanted: Values
    aboard: Values
    risk: Values
    later: Values


def write_program(draft: SharedDraft) -> Arrays:
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
        first = draft.needs[group.needs[0]]
        most = sum(draft.needs[i].most_wanted for i in group.needs)
        upper[list(group.all_columns)] = most
        for supply, column in zip(group.supplies, group.columns, strict=True):
            cost[column] = first.part.leftover
            if supply is not None:
                cost[column] = draft.lines[first.place, supply].credits[first.part.part]
    for spare in draft.spares:
        part = draft.needs[spare.need].part
        for used, there in ((spare.own, part.on_hand), (spare.give, part.movable)):
            if used is not None:
                upper[used], cost[used] = there, part.leftover
    cost[draft.columns] = draft.later
    rows = RowBuilder()
    _take_one_choice(draft, rows)
    _bring_what_is_wanted(draft, rows)
    _use_what_is_left_ashore(draft, rows)
    _draw_on_stock(draft, rows)
    _cover_with_packs(draft, rows)
    _order_before_buying(draft, rows)
    _keep_to_what_is_available(draft, rows)
    _reach_thresholds(draft, rows)
    _keep_loads_and_risk(draft, rows)
    _keep_budgets(draft, rows, spending)
    return rows.finish(cost=cost, spending=spending, upper=upper)


def _take_one_choice(draft: SharedDraft, rows: RowBuilder) -> None:
    """Take one choice for every part: sum z = 1."""
    choosing = sum(1 for need in draft.needs if not need.port)
    choice = rows.add_rows(choosing, least=1.0, most=1.0)
    rows.fill(choice[draft.need], draft.columns, 1.0)


def _bring_what_is_wanted(draft: SharedDraft, rows: RowBuilder) -> None:
    """Bring what is wanted: sum Q + H + o = sum wanted z, and what options of others call for."""
    bring = rows.add_rows(len(draft.groups), least=0.0, most=0.0)
    wants = draft.wanted > 0.0
    group = draft.group[draft.need[wants]]
    rows.fill(bring[group], draft.columns[wants], -draft.wanted[wants])
    for row, members in zip(bring, draft.groups, strict=True):
        rows.fill(row, _numbers(members.all_columns), 1.0)
        for i in members.needs:
            rows.fill(row, *_list_calls(draft, i, -1.0))
    for spare in draft.spares:
        if spare.own is not None and draft.group[spare.need] >= 0:
            rows.fill(bring[draft.group[spare.need]], spare.own, 1.0)


def _use_what_is_left_ashore(draft: SharedDraft, rows: RowBuilder) -> None:
    """Use her own pieces otherwise only where her choice leaves them.

    o + g <= sum spare z. As a group shares what it is brought, her own pieces are held to what her
    own other parts use up, o <= called for: a choice that leaves pieces ashore wants none itself.
    And boats have from others only what is given: sum H <= sum g.
    """
    moved: dict[tuple[str, str], list[tuple[int, float]]] = defaultdict(list)
    for spare in draft.spares:
        need = draft.needs[spare.need]
        used = [column for column in (spare.own, spare.give) if column is not None]
        (row,) = rows.add_rows(1, most=0.0)
        rows.fill(row, _numbers(used), 1.0)
        first = int(draft.first_of_need[spare.need])
        left = np.array([need.part.count_spare(option.choice) for option in need.options], float)
        rows.fill(row, np.arange(first, first + len(left), dtype=np.int32), -left)
        if spare.own is not None:
            (row,) = rows.add_rows(1, most=0.0)
            rows.fill(row, spare.own, 1.0)
            rows.fill(row, *_list_calls(draft, spare.need, -1.0))
        if spare.give is not None:
            moved[need.harbour, need.part.part].append((spare.give, -1.0))
    for group in draft.groups:
        if group.near is not None:
            need = draft.needs[group.needs[0]]
            moved[need.harbour, need.part.part].append((group.near, 1.0))
    for terms in moved.values():
        columns, signs = zip(*terms, strict=True)
        (row,) = rows.add_rows(1, most=0.0)
        rows.fill(row, _numbers(columns), np.array(signs))


def _list_calls(draft: SharedDraft, i: int, sign: float) -> tuple[Numbers, Values]:
    """Return the columns of options of other needs that call for pieces of this, and how many."""
    calls = draft.needs[i].calls
    columns = [int(draft.first_of_need[call.need]) + call.option for call in calls]
    return _numbers(columns), sign * np.array([float(call.pieces) for call in calls])


def _numbers(columns: Sequence[int]) -> Numbers:
    return np.array(columns, np.int32)


def _draw_on_stock(draft: SharedDraft, rows: RowBuilder) -> None:
    """Draw no more from the stores of a harbour than they have: sum Q <= stock."""
    drawn: dict[tuple[tuple[str, ...], str], list[int]] = defaultdict(list)
    stock: dict[tuple[tuple[str, ...], str], float] = {}
    for group in draft.groups:
        need = draft.needs[group.needs[0]]
        for supply, column in zip(group.supplies, group.columns, strict=True):
            if supply is None:
                key = (tuple(sorted(store for store, _ in need.stores)), need.part.part)
                drawn[key].append(column)
                stock[key] = float(sum(there for _, there in need.stores))
    for key, columns in drawn.items():
        (row,) = rows.add_rows(1, most=stock[key])
        rows.fill(row, _numbers(columns), 1.0)


def _cover_with_packs(draft: SharedDraft, rows: RowBuilder) -> None:
    """Cover what is bought with whole packs: sum Q <= inside P, for each part in the pack."""
    bought: dict[tuple[str, Offer, str], list[int]] = defaultdict(list)
    for group in draft.groups:
        need = draft.needs[group.needs[0]]
        for supply, column in zip(group.supplies, group.columns, strict=True):
            if supply is not None:
                bought[need.place, supply, need.part.part].append(column)
    for (place, offer, part), columns in bought.items():
        (row,) = rows.add_rows(1, most=0.0)
        rows.fill(row, _numbers(columns), 1.0)
        rows.fill(row, draft.packs[place, offer], -float(offer.pack * offer.parts[part]))


def _order_before_buying(draft: SharedDraft, rows: RowBuilder) -> None:
    """Buy nothing without an order: P <= most packs y."""
    for (place, offer), column in draft.packs.items():
        order = draft.order.get((offer.source, place))
        if order is not None:
            (row,) = rows.add_rows(1, most=0.0)
            most = float(draft.lines[place, offer].most_packs)
            rows.fill(row, np.array([column, order], np.int32), np.array([1.0, -most]))


def _keep_to_what_is_available(draft: SharedDraft, rows: RowBuilder) -> None:
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
        rows.fill(row, _numbers(columns), 1.0)


def _reach_thresholds(draft: SharedDraft, rows: RowBuilder) -> None:
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


def _keep_loads_and_risk(draft: SharedDraft, rows: RowBuilder) -> None:
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


def _keep_budgets(draft: SharedDraft, rows: RowBuilder, spending: Values) -> None:
    """Keep each boat's budget and the fleet's: packs and order charges.

    Of a boat that has pieces from a store, what she gets is counted without surplus: sum landed Q.
    Orders that meet her on her way are hers alone.
    """
    own: dict[str, list[tuple[int, float]]] = defaultdict(list)
    alone: dict[str, str] = {}
    for group in draft.groups:
        need = draft.needs[group.needs[0]]
        if need.port:
            alone[need.place] = need.part.boat
        elif need.place != need.part.boat:
            own[need.part.boat] += [
                (column, supply.find_landed(need.part.part))
                for supply, column in zip(group.supplies, group.columns, strict=True)
                if supply is not None
            ]
    paid = [(place, column) for (place, _), column in draft.packs.items()]
    paid += [(place, c) for keys in (draft.order, draft.free) for (_, place), c in keys.items()]
    for place, column in paid:
        own[alone.get(place, place)].append((column, float(spending[column])))
    for boat in draft.boats:
        limits = draft.choices.boats[boat]
        if limits.budget is not None and own[boat]:
            columns, money = zip(*own[boat], strict=True)
            (row,) = rows.add_rows(1, most=limits.budget)
            rows.fill(row, _numbers(columns), np.array(money))
    if draft.choices.budget is not None:
        (row,) = rows.add_rows(1, most=draft.choices.budget)
        rows.fill(row, np.arange(len(spending), dtype=np.int32), spending)
