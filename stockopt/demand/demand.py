"""Pieces needed, as one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from stockopt.demand.mixture import Needs
from stockopt.errors import Note

Floats = NDArray[np.float64]


#: Shares of the classes in which the expected need of a part is told, from the longest lives that
#: its records allow to the shortest. Boats that share a part share its class.
LIFE_CLASSES = (0.2, 0.3, 0.25, 0.15, 0.08, 0.02)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One passage or charter of one boat, repeats written out.

    Parameters
    ----------
    departs_on, days, to_port
        As in the legs table; a repeat departs when the one before it ends.
    chase_days
        Days in which the store reaches her; None when out of reach.
    """

    departs_on: date
    days: float
    to_port: str
    chase_days: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """The run of legs between two chances to restock one part.

    Parameters
    ----------
    legs
        The legs of the stretch, at least one.
    leg_shares
        For each leg its share of the stretch's running of this part, adding to 1.
    sea_shares
        For each leg the share of its running that is under way, not in port after it; empty where
        all of it is.
    """

    legs: tuple[Leg, ...]
    leg_shares: tuple[float, ...]
    sea_shares: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PartDemand:
    """Pieces of one part that one boat needs on her whole plan.

    First axis of every array: f = 0 .. positions, the number of oldest pieces replaced before
    departure. Last axis where there is one: k = 0 .. K pieces; probabilities of k > K are below
    1e-6 and are put on K. Pieces needed count failures and changes by `replace_every` under way,
    and pieces used up with another part; not the f pieces changed before departure.

    Parameters
    ----------
    boat, part
        Which.
    positions
        Pieces fitted.
    consequence
        The gravest of its positions'.
    stretches
        S of them, from first departure to last arrival.
    by_stretch
        (F, S, K+1): chance that stretch s needs k pieces.
    whole
        (F, K+1): chance that the whole plan needs k pieces.
    within
        (F, K+1): chance that no single stretch needs more than k.
    failures
        (F,): expected failures under way, scheduled changes not counted.
    failure_shares
        (3,): share of those failures in positions that stop, limit, are a nuisance.
    remaining
        (F,): expected remaining life of the fitted pieces at the end, in mean lives, summed over
        the positions.
    remaining_now
        The same on the day of departure, with nothing replaced.
    by_class
        (len(LIFE_CLASSES),): expected pieces of the whole plan with nothing replaced, by class of
        what is not known of the part's life, longest lives first; None where it is not told.
    after
        (other part, pieces of it replaced before departure) that the needs count with, for a part
        used up with others; empty where nothing of them is replaced.
    """

    boat: str
    part: str
    positions: int
    consequence: str
    stretches: tuple[Stretch, ...]
    by_stretch: Floats
    whole: Floats
    within: Floats
    failures: Floats
    failure_shares: Floats
    remaining: Floats
    remaining_now: float = 0.0
    by_class: Floats | None = None
    after: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedWith:
    """Needs of one boat for a part that is used up with others, kept apart.

    Parameters
    ----------
    own
        Of its own positions, if any.
    others
        (other part, pieces used up with each change of it, needs of that part), by name.
    counted
        By pieces of the others replaced before departure: what was counted already. It grows.
    """

    own: Needs
    others: tuple[tuple[str, int, Needs], ...]
    counted: dict[tuple[int, ...], PartDemand] = field(
        default_factory=dict, compare=False, repr=False
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Every boat with legs to come, and every part fitted to her or used with one that is.

    Parameters
    ----------
    parts
        By boat and part.
    notes
        What had to be assumed.
    used_with
        By boat and part, for parts used up with others: see
        :func:`stockopt.demand.used_with.count_replaced`.
    """

    parts: Mapping[tuple[str, str], PartDemand]
    notes: tuple[Note, ...]
    used_with: Mapping[tuple[str, str], UsedWith] = field(default_factory=dict)
