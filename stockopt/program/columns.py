"""The columns of the program: what the solver may decide."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import pulp

from stockopt.choices.choices import Choices
from stockopt.program.needs import Line, Need
from stockopt.sourcing import Charges, Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Every column, by what it stands for; all are whole numbers.

    Needs, options and supplies go by their position.

    Parameters
    ----------
    take
        (need, option): 1 where this choice is taken.
    pieces
        (need, supply): whole pieces that this supply brings.
    own
        need: her own pieces left ashore that are used up with another part replaced now.
    give, near
        need: her surplus pieces that other boats of the harbour get, and those that she gets.
    packs
        (place, offer): whole packs bought.
    order
        (source, place): 1 where an order is placed; absent where an order costs nothing and has
        no minimum.
    free
        (source, place): 1 where the order reaches its free freight; absent where there is none.
    """

    take: dict[tuple[int, int], pulp.LpVariable]
    pieces: dict[tuple[int, int], pulp.LpVariable]
    packs: dict[tuple[str, Offer], pulp.LpVariable]
    order: dict[tuple[str, str], pulp.LpVariable]
    free: dict[tuple[str, str], pulp.LpVariable]
    own: dict[int, pulp.LpVariable] = field(default_factory=dict)
    give: dict[int, pulp.LpVariable] = field(default_factory=dict)
    near: dict[int, pulp.LpVariable] = field(default_factory=dict)


def add_columns(
    problem: pulp.LpProblem,
    needs: Sequence[Need],
    lines: dict[tuple[str, Offer], Line],
    choices: Choices,
) -> Columns:
    """Add all columns to `problem`, always in the same order.

    Names begin with a running number because PuLP hands columns over sorted by name.
    """
    count = 0

    def add(words: str, most: int) -> pulp.LpVariable:
        nonlocal count
        count += 1
        return problem.add_variable(f"c{count:07d}_{words}", 0, most, pulp.LpInteger)

    charges = {key: choices.charges[key] for key in sorted(find_orders(lines))}
    columns = Columns(take={}, pieces={}, packs={}, order={}, free={})
    for source, place in charges:
        if has_order_column(charges[source, place]):
            columns.order[source, place] = add(f"order_{source}_{place}", 1)
        if has_free_column(charges[source, place]):
            columns.free[source, place] = add(f"free_{source}_{place}", 1)
    for (place, offer), line in lines.items():
        columns.packs[place, offer] = add(f"packs_{offer.source}_{offer.part}", line.most_packs)
    for i, need in enumerate(needs):
        name = f"{need.part.boat}_{need.part.part}"
        for j in range(len(need.options)):
            columns.take[i, j] = add(f"take_{name}", 1)
        for s in range(len(need.supplies) if need.most_wanted else 0):
            columns.pieces[i, s] = add(f"pieces_{name}", need.most_wanted)
        _add_moves(columns, i, need, add)
    return columns


def _add_moves(
    columns: Columns, i: int, need: Need, add: Callable[[str, int], pulp.LpVariable]
) -> None:
    """Add the columns of pieces that change their use, or their boat."""
    name = f"{need.part.boat}_{need.part.part}"
    if need.spares:
        columns.own[i] = add(f"own_{name}", need.part.on_hand)
    if need.gives:
        columns.give[i] = add(f"give_{name}", need.part.movable)
    if need.takes and need.most_wanted:
        columns.near[i] = add(f"near_{name}", need.most_wanted)


def find_orders(lines: dict[tuple[str, Offer], Line]) -> set[tuple[str, str]]:
    """Return the (source, place) of every order that could be placed."""
    return {(offer.source, place) for place, offer in lines}


def has_order_column(charges: Charges) -> bool:
    """Return whether it matters that an order is placed at all."""
    return charges.per_order + charges.handling > 0.0 or (charges.minimum_order or 0.0) > 0.0


def has_free_column(charges: Charges) -> bool:
    """Return whether an order can save its freight."""
    return charges.free_freight_from is not None and charges.per_order > 0.0
