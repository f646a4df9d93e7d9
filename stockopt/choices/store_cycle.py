"""One part in a store in the long run: what a day costs, by reorder point and order quantity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.choices.lead_time import LeadTime
from stockopt.choices.store_spell import Spell

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """The long run, each (G, R + 1, number of quantities).

    Parameters
    ----------
    orders, lost
        Orders placed, and pieces asked for in vain, a day.
    stock
        Pieces on the shelf, on the average day.
    """

    orders: Floats
    lost: Floats
    stock: Floats


def find_cycle(rate: Floats, lead: LeadTime, most: int, quantities: NDArray[np.int64]) -> Cycle:
    """Return the long run of every reorder point from 0 to `most` and every quantity.

    Parameters
    ----------
    rate
        (G,): pieces asked for a day, above 0.
    lead
        Of every order.
    most
        Highest reorder point.
    quantities
        Pieces an order; where not above the reorder point, the cycle is an estimate, as the next
        order may then be due before the first is there.

    Returns
    -------
    Cycle
        From one order to the next: the stock goes from R over the lead time to what is left, up
        by Q, and down to R again. Q pieces are handed out, lost ones come on top, so a cycle
        lasts (Q + lost) / rate.

    Notes
    -----
    The lost-sales cycle of Hadley & Whitin (1963), Analysis of Inventory Systems, section 4-11
    (from memory), for pieces asked for one by one at random (Poisson), without its estimate
    of the average stock, Q / 2 + R less what is asked for in the lead time plus what is lost.
    """
    spell = Spell.of(
        rate[:, None], np.broadcast_to(lead.days, (len(rate), len(lead.days))), most + 1
    )
    lost = np.einsum("p,gpi->gi", lead.weight, spell.lost)[..., None]
    area = np.einsum("p,gpi->gi", lead.weight, spell.area)[..., None]
    arrive = np.einsum("p,gpij->gij", lead.weight, spell.arrive)
    point = np.arange(most + 1)[:, None]
    reached = np.arange(most + 1)[:, None] + quantities  # after the delivery, (left, quantity)
    full = reached * (reached + 1) / 2.0
    going_down = np.einsum("gij,jq->giq", arrive, full) - point * (point + 1) / 2.0
    length = (quantities + lost) / rate[:, None, None]
    stock = (area + np.maximum(going_down, 0.0) / rate[:, None, None]) / length
    return Cycle(orders=1.0 / length, lost=lost / length, stock=stock)
