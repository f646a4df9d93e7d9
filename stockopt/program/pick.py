"""From the solver's columns back to whole pieces, packs and money."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence

import pulp

from stockopt.choices.choices import Choices
from stockopt.program.columns import Columns
from stockopt.program.needs import Need, Option, Supply, find_credits
from stockopt.program.solution import Bought, Picked
from stockopt.sourcing import Offer

#: Share by which a goods value may miss a threshold and still reach it: the solver's tolerance.
_TOLERANCE = 1e-6


def list_picked(needs: Sequence[Need], columns: Columns) -> tuple[Picked, ...]:
    """List the choice taken for every boat's part, and where its pieces come from."""
    picked = []
    for i, need in enumerate(needs):
        option = max(
            enumerate(need.options), key=lambda numbered: columns.take[i, numbered[0]].varValue
        )[1]
        brought = {
            supply: _round(columns.pieces[i, s])
            for s, supply in enumerate(need.supplies)
            if option.wanted
        }
        picked.append(pick(need, option, brought))
    return tuple(picked)


def pick(need: Need, option: Option, brought: Mapping[Supply, int]) -> Picked:
    """Return one boat's part with the option taken and the pieces that each supply brings."""
    return Picked(
        boat=need.part.boat,
        part=need.part.part,
        choice=option.index,
        own=option.choice.pieces - option.wanted,
        moved=brought.get(None, 0),
        bought=tuple((o, n) for o, n in brought.items() if o is not None and n > 0),
    )


def list_bought(columns: Columns) -> tuple[Bought, ...]:
    """List the order lines, sorted by place, source and part."""
    return tuple(
        Bought(place=place, offer=offer, packs=packs)
        for (place, offer), column in columns.packs.items()
        if (packs := _round(column)) > 0
    )


def _round(column: pulp.LpVariable) -> int:
    return round(float(column.varValue))


def find_free_freight(choices: Choices, bought: Iterable[Bought]) -> frozenset[tuple[str, str]]:
    """Return the (source, place) of orders whose goods value reaches free freight."""
    goods: dict[tuple[str, str], float] = defaultdict(float)
    for line in bought:
        value = line.offer.price * line.packs * line.offer.pack
        goods[line.offer.source, line.place] += value
    return frozenset(
        key
        for key, value in goods.items()
        if (threshold := choices.charges[key].free_freight_from) is not None
        and value >= threshold - _TOLERANCE * max(1.0, threshold)
    )


def find_costs(
    choices: Choices,
    picked: Iterable[Picked],
    bought: Iterable[Bought],
    free_freight: frozenset[tuple[str, str]],
) -> tuple[float, float]:
    """Work out money spent now and expected later cost, in whole pieces and packs.

    Returns
    -------
    spend_now
        Packs at their landed cost, and order charges.
    expected_later
        Later cost of the choices, and the leftover worth of pieces drawn from a store's stock,
        less that of surplus pieces of packs. Both together are the program's objective.
    """
    parts = {(part.boat, part.part): part for part in choices.parts}
    used: Counter[tuple[str, Offer]] = Counter()
    spend_now = later = 0.0
    for pick in picked:
        part = parts[pick.boat, pick.part]
        later += part.choices[pick.choice].later_cost + pick.moved * part.leftover
        for offer, pieces in pick.bought:
            used[choices.boats[pick.boat].place, offer] += pieces
    worth = find_credits(choices)
    orders = set()
    for line in bought:
        pieces = line.packs * line.offer.pack
        spend_now += pieces * line.offer.landed
        later -= (pieces - used[line.place, line.offer]) * worth[line.place, line.offer]
        orders.add((line.offer.source, line.place))
    for key in sorted(orders):
        charges = choices.charges[key]
        spend_now += charges.handling + (0.0 if key in free_freight else charges.per_order)
    return spend_now, later
