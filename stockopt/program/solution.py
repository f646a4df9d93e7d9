"""What the solver found, as one value; no solver status leaves this room in another form."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from stockopt.sourcing import Offer

#: optimal: proven best; within gap: proven to be within the gap asked for; stopped: the time was
#: up first, the gap reached is reported.
SolveStatus = Literal["optimal", "within gap", "stopped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """The choice taken for one boat and part, and where its pieces come from.

    Parameters
    ----------
    boat, part
        Which.
    choice
        Index into the choices of that :class:`~stockopt.choices.choices.BoatPart`.
    own
        Pieces of her own stock used, those used up with another part among them.
    moved
        Pieces drawn from her store's stock.
    bought
        (offer, pieces) for her, from orders of her place.
    near
        (place, pieces) from other stores and boats of her harbour; own + moved + bought + near
        is n + f and what is used up with other parts replaced now.
    met
        (offer, pieces) of orders that meet her on her way, see `ahead_at` of her choice.
    """

    boat: str
    part: str
    choice: int
    own: int
    moved: int
    bought: tuple[tuple[Offer, int], ...]
    near: tuple[tuple[str, int], ...] = ()
    met: tuple[tuple[Offer, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """One line of an order: `packs` packs of `offer` delivered to `place`."""

    place: str
    offer: Offer
    packs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """How often boats and stores were solved in turn, and what differs still.

    Parameters
    ----------
    number
        Of rounds.
    fill_rate, days
        Largest difference between a store's fill rate as the boats count on it and as it is told,
        and of the days a boat waits for it.
    cost
        By how much the whole cost changed in the last round; infinite after the first.
    agreed
        Whether that is little enough.
    held
        Lines that were held as they had been settled, rather than chosen in the last program: what
        is proven, is proven with these as they stand.
    """

    number: int = 1
    fill_rate: float = 0.0
    days: float = 0.0
    cost: float = 0.0
    agreed: bool = True
    held: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """The best plan found.

    Parameters
    ----------
    status
        How the solver ended.
    objective
        Money now plus expected later cost of the plan found.
    bound
        No plan costs less than this.
    gap
        (objective - bound) / max(1, abs(objective)).
    seconds
        Time the solver took.
    picked
        One for each boat and part, shelves of stores among the boats, sorted.
    bought
        Order lines, sorted by place, source, part; none with 0 packs.
    free_freight
        (source, place) of the orders that reach their free freight.
    rounds
        Of boats and stores in turn.
    """

    status: SolveStatus
    objective: float
    bound: float
    gap: float
    seconds: float
    picked: tuple[Picked, ...]
    bought: tuple[Bought, ...]
    free_freight: frozenset[tuple[str, str]]
    rounds: Rounds = Rounds()
