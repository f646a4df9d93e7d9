"""The rules by which pieces are brought, packed and ordered, one function a rule.

Each says the rule in words first, then the formula. Symbols: z take, q pieces, o own pieces used
up with another part, g given to other boats, h had from them, P packs, y order, w free freight
(see :class:`~stockopt.program.columns.Columns`). The limits that people set are in
:mod:`stockopt.program.limits`.
"""

from __future__ import annotations

from collections import defaultdict

from stockopt.program.limits import (
    keep_boat_budgets,
    keep_fleet_budget,
    keep_readiness,
    keep_stowage,
    keep_weight,
)
from stockopt.program.rows import Limit, Program, Sense, Term


def add_constraints(program: Program) -> None:
    """Add every rule."""
    take_one_choice(program)
    bring_what_is_wanted(program)
    draw_on_stock(program)
    spare_what_is_left_ashore(program)
    move_what_is_given(program)
    cover_with_packs(program)
    order_before_buying(program)
    keep_to_what_is_available(program)
    reach_minimum_order(program)
    reach_free_freight(program)
    keep_weight(program)
    keep_stowage(program)
    keep_boat_budgets(program)
    keep_fleet_budget(program)
    keep_readiness(program)


def take_one_choice(program: Program) -> None:
    """Look after every part on every boat in exactly one way: sum z = 1."""
    for i, need in enumerate(program.needs):
        terms = [(program.columns.take[i, j], 1.0) for j in range(len(need.options))]
        program.add(f"one_choice_{i}", terms, Sense.EQUAL, 1.0)


def bring_what_is_wanted(program: Program) -> None:
    """Bring what the choices taken want, from one supply or several.

    Sum q + o + h = sum wanted z, over the options of the part itself and, where it is used up
    when another part is replaced, over those of the other: so many pieces for each replaced.
    """
    columns = program.columns
    for i, need in enumerate(program.needs):
        if need.most_wanted:
            terms = [(columns.pieces[i, s], 1.0) for s in range(len(need.supplies))]
            terms += [(group[i], 1.0) for group in (columns.own, columns.near) if i in group]
            terms += [
                (columns.take[i, j], -float(option.wanted))
                for j, option in enumerate(need.options)
                if option.wanted
            ]
            terms += [
                (columns.take[call.need, call.option], -float(call.pieces)) for call in need.calls
            ]
            program.add(f"bring_{i}", terms, Sense.EQUAL, 0.0)


def draw_on_stock(program: Program) -> None:
    """Draw no more from the stores of a harbour than they have: sum over boats of q <= stock."""
    drawn: dict[tuple[tuple[str, ...], str], list[Term]] = defaultdict(list)
    stock: dict[tuple[tuple[str, ...], str], int] = {}
    for (i, s), pieces in program.columns.pieces.items():
        need = program.needs[i]
        if need.supplies[s] is None:
            key = (tuple(sorted(store for store, _ in need.stores)), need.part.part)
            drawn[key].append((pieces, 1.0))
            stock[key] = sum(there for _, there in need.stores)
    for (stores, part), terms in drawn.items():
        limit = float(stock[stores, part])
        kept = Limit(kind="stock", place=" and ".join(stores), part=part)
        program.add(f"stock_{stores[0]}_{part}", terms, Sense.AT_MOST, limit, keeps=kept)


def spare_what_is_left_ashore(program: Program) -> None:
    """Use her own pieces otherwise only where her choice leaves them: o + g <= sum spare z."""
    columns = program.columns
    for i, need in enumerate(program.needs):
        terms: list[Term] = [(group[i], 1.0) for group in (columns.own, columns.give) if i in group]
        if terms:
            terms += [
                (columns.take[i, j], -float(spare))
                for j, option in enumerate(need.options)
                if (spare := need.part.count_spare(option.choice))
            ]
            program.add(f"spare_{i}", terms, Sense.AT_MOST, 0.0)


def move_what_is_given(program: Program) -> None:
    """Have from other boats of a harbour only what they give: sum h <= sum g."""
    moved: dict[tuple[str, str], list[Term]] = defaultdict(list)
    for group, sign in ((program.columns.near, 1.0), (program.columns.give, -1.0)):
        for i, column in group.items():
            part = program.needs[i].part
            moved[program.choices.boats[part.boat].harbour, part.part].append((column, sign))
    for number, key in enumerate(sorted(moved)):
        program.add(f"moved_{number}", moved[key], Sense.AT_MOST, 0.0)


def cover_with_packs(program: Program) -> None:
    """Cover the pieces bought with whole packs, over all boats of a place: sum q <= inside P.

    Inside is what a pack holds of the part: several parts, each with a rule, where it is of sets.
    """
    for number, ((place, offer), line) in enumerate(program.lines.items()):
        used: dict[str, list[Term]] = defaultdict(list)
        for i in line.users:
            need = program.needs[i]
            column = program.columns.pieces[i, need.supplies.index(offer)]
            used[need.part.part].append((column, 1.0))
        for part, terms in used.items():
            inside = float(offer.pack * offer.parts[part])
            terms.append((program.columns.packs[place, offer], -inside))
            program.add(f"packs_{number}_{part}", terms, Sense.AT_MOST, 0.0)


def order_before_buying(program: Program) -> None:
    """Buy nothing without an order: q <= most wanted y for every boat's part, P <= most packs y.

    The first is implied by the others for whole numbers, and tighter before branching.
    """
    columns = program.columns
    for number, ((place, offer), line) in enumerate(program.lines.items()):
        order = columns.order.get((offer.source, place))
        if order is None:
            continue
        for i in line.users:
            need = program.needs[i]
            pieces = columns.pieces[i, need.supplies.index(offer)]
            terms = [(pieces, 1.0), (order, -float(need.most_wanted))]
            program.add(f"order_{number}_{i}", terms, Sense.AT_MOST, 0.0)
        terms = [(columns.packs[place, offer], 1.0), (order, -float(line.most_packs))]
        program.add(f"order_{number}", terms, Sense.AT_MOST, 0.0)


def keep_to_what_is_available(program: Program) -> None:
    """Buy no more than a source has, over all places: sum P <= most."""
    bought: dict[tuple[str, str, int, float], list[Term]] = defaultdict(list)
    most: dict[tuple[str, str, int, float], float] = {}
    for (_, offer), packs in program.columns.packs.items():
        if offer.most is not None:
            key = (offer.source, offer.part, offer.pack, offer.price)
            bought[key].append((packs, 1.0))
            most[key] = float(offer.most)
    for number, (key, terms) in enumerate(bought.items()):
        kept = Limit(kind="most", source=key[0], part=key[1], pack=key[2])
        program.add(f"most_{number}", terms, Sense.AT_MOST, most[key], keeps=kept)


def reach_minimum_order(program: Program) -> None:
    """Make every order worth the source's minimum: sum price pack P >= minimum y."""
    goods = _list_goods(program)
    for (source, place), order in program.columns.order.items():
        minimum = program.choices.charges[source, place].minimum_order
        if minimum:
            terms = [*goods[source, place], (order, -minimum)]
            kept = Limit(kind="minimum_order", source=source, place=place)
            program.add(f"minimum_{source}_{place}", terms, Sense.AT_LEAST, 0.0, keeps=kept)


def reach_free_freight(program: Program) -> None:
    """Grant free freight only from a goods value on: sum price pack P >= from w, and w <= y."""
    goods = _list_goods(program)
    columns = program.columns
    for (source, place), free in columns.free.items():
        threshold = program.choices.charges[source, place].free_freight_from or 0.0
        terms = [*goods[source, place], (free, -threshold)]
        program.add(f"free_{source}_{place}", terms, Sense.AT_LEAST, 0.0)
        ordered = [(free, 1.0), (columns.order[source, place], -1.0)]
        program.add(f"free_order_{source}_{place}", ordered, Sense.AT_MOST, 0.0)


def _list_goods(program: Program) -> dict[tuple[str, str], list[Term]]:
    goods: dict[tuple[str, str], list[Term]] = defaultdict(list)
    for (place, offer), packs in program.columns.packs.items():
        goods[offer.source, place].append((packs, offer.price * offer.pack))
    return goods
