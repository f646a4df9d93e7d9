"""What a solution tells of the stores: one line for each store and part."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from stockopt.choices.choices import Choices
from stockopt.choices.shelves import name_shelf
from stockopt.program.solution import Solution


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreLine:
    """One part in one store: its shelf when the season begins, and how it is kept up.

    Everything expected is over the season; money in the plan's currency.

    Parameters
    ----------
    store, part, name
        Which.
    on_hand
        Pieces in stock, on the shelf or due in time, before boats take theirs.
    moved_out, moved_in, buy
        Pieces that boats take before departure, that come from other stores or boats of the
        harbour, and that are bought for the shelf.
    level
        Pieces on the shelf that the season begins with.
    source, reorder_point, order_quantity
        When so many pieces are left, so many are ordered from there; source "" and 0 where
        nothing is reordered.
    last_order_on
        Day after which nothing is ordered, as it would come too late; None where nothing is.
    expected_asked, expected_short
        Pieces that boats draw, and those of them that are not on the shelf.
    fill_rate
        Share of the pieces asked for that is on the shelf.
    expected_orders, expected_reordered, expected_left
        Orders placed, pieces ordered, and pieces left at the end.
    expected_cost
        Order charges, reordered pieces, money tied up and shortages.
    paid_by_boats
        What of it the boats' own lines pay already, for the pieces they draw and wait for.
    later_cost
        What the line adds to the plan's expected later cost: `expected_cost` less the worth of
        pieces left, and less `paid_by_boats`.
    capital
        Money tied up on the average day.
    moved_from
        Where the pieces moved in come from.
    """

    store: str
    part: str
    name: str
    on_hand: int
    moved_out: int
    moved_in: int
    buy: int
    level: int
    source: str
    reorder_point: int
    order_quantity: int
    last_order_on: date | None
    expected_asked: float
    fill_rate: float
    expected_orders: float
    expected_reordered: float
    expected_short: float
    expected_left: float
    expected_cost: float
    paid_by_boats: float
    later_cost: float
    capital: float
    moved_from: tuple[tuple[str, int], ...] = ()


def list_store_lines(solution: Solution, choices: Choices) -> tuple[StoreLine, ...]:
    """Return one line for each store and part, sorted."""
    picked = {(pick.boat, pick.part): pick for pick in solution.picked}
    moved_out: Counter[tuple[str, str]] = Counter()
    for pick in solution.picked:
        if not choices.is_shelf(pick.boat):
            moved_out[choices.boats[pick.boat].place, pick.part] += pick.moved
        for place, pieces in pick.near:
            moved_out[place, pick.part] += pieces
    lines = []
    for part in choices.stores:
        pick = picked[name_shelf(part.store), part.part]
        choice = part.choices[pick.choice]
        ends_on = part.begins_on + timedelta(days=math.ceil(part.season_days))
        lines.append(
            StoreLine(
                store=part.store,
                part=part.part,
                name=part.name,
                on_hand=part.on_hand,
                moved_out=moved_out[part.store, part.part],
                moved_in=sum(pieces for _, pieces in pick.near),
                buy=sum(pieces for _, pieces in pick.bought),
                level=choice.level,
                source=choice.source or "",
                reorder_point=choice.reorder_point,
                order_quantity=choice.order_quantity,
                last_order_on=(
                    ends_on - timedelta(days=math.ceil(choice.lead_days)) if choice.source else None
                ),
                expected_asked=part.asked,
                fill_rate=choice.fill_rate,
                expected_orders=choice.orders,
                expected_reordered=choice.reordered,
                expected_short=choice.short,
                expected_left=choice.left,
                expected_cost=choice.season_cost,
                paid_by_boats=part.paid,
                later_cost=choice.later_cost,
                capital=choice.average_stock * part.price,
                moved_from=pick.near,
            )
        )
    return tuple(lines)
