"""One part in one store, as the program sees it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreChoice:
    """One number of pieces on the shelf when the season begins, and how it is best kept up.

    Money in the plan's currency; everything expected is over the season.

    Parameters
    ----------
    level
        Pieces on the shelf when the first boat has taken hers and departs.
    source
        Who the store reorders from; None where it reorders nothing.
    reorder_point, order_quantity
        Pieces left at which an order is placed, and pieces ordered; 0 where nothing is.
    later_cost
        What the program counts: `season_cost` less the worth of pieces left at the end, and less
        what the boats' own choices pay already for the pieces they draw.
    season_cost
        Order charges, reordered pieces at their landed cost, money tied up, and pieces the store
        did not have.
    fill_rate
        Share of the pieces asked for that it has on the shelf.
    orders, reordered, short, left
        Expected orders, pieces ordered, pieces asked for in vain, and pieces left at the end
        (those on the way then among them).
    average_stock
        Pieces on the shelf on the average day.
    lead_days
        Usual days of the source; 0 where nothing is reordered.
    """

    level: int
    source: str | None
    reorder_point: int
    order_quantity: int
    later_cost: float
    season_cost: float
    fill_rate: float
    orders: float
    reordered: float
    short: float
    left: float
    average_stock: float
    lead_days: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StorePart:
    """One part in one store: what can be chosen, and where pieces can come from.

    Parameters
    ----------
    store, part, name
        Which.
    on_hand
        Pieces in its stock before the boats take theirs, on the shelf or due in time.
    asked
        Pieces the boats are expected to draw over the season.
    begins_on, season_days
        Its season, from its boats' first departure to their last arrival.
    quickest_days
        Days in which a piece it has not got is there, 9 times in 10.
    leftover
        Worth at the end of one unused piece.
    choices
        At least one, by level; none is worse than another in everything.
    offers
        Offers that arrive before the season begins, cheapest first.
    price
        Of one piece on the shelf: its cheapest landed cost at home.
    piece_cost
        What one piece drawn costs the store, all told, at its best level.
    paid
        What the boats' choices pay already for what they draw.
    """

    store: str
    part: str
    name: str
    on_hand: int
    asked: float
    begins_on: date
    season_days: float
    quickest_days: float
    leftover: float
    choices: tuple[StoreChoice, ...]
    offers: tuple[Offer, ...]
    price: float
    piece_cost: float
    paid: float

    @property
    def best(self) -> StoreChoice:
        """The level that costs least, were pieces for it bought at the cheapest offer."""
        prices = [offer.find_landed(self.part) for offer in self.offers]
        price = min(prices, default=self.leftover)
        return min(self.choices, key=lambda choice: choice.later_cost + price * choice.level)
