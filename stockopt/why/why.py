"""The reasons of a plan, as one value: of every line, of every limit, and the curves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: What stops one piece more. Money: it saves no more than it costs. The rest: it would pay, but
#: for this limit, or for the gap within which the plan is proven. Needed elsewhere: her own
#: pieces that it would take are used up with another part, or go to another boat.
Stop = Literal[
    "not worth its price",
    "readiness reached without it",
    "brings nothing more",
    "nothing can bring it in time",
    "needed elsewhere",
    "most available",
    "her kilos",
    "her litres",
    "her budget",
    "the fleet's budget",
    "readiness",
    "the number asked for",
    "within the gap",
]

#: Which limit: of one boat, or of the whole fleet (budget of no boat, and readiness of each).
Kind = Literal["kg", "litres", "budget", "readiness"]

#: What a curve is drawn against: the fleet's budget, the kilos of one boat, a share of all boats'.
Against = Literal["budget", "kg", "share of kg"]

#: slack: nothing is seen to be held back by it; solved: solved again with the step; no plan:
#: with the step no plan is left; not asked: the time was up, or nobody asked.
State = Literal["slack", "solved", "no plan", "not asked"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineWhy:
    """Why one boat carries so many of one part. Money in the plan's currency.

    Parameters
    ----------
    boat, part
        Which.
    last_pieces, last_saves
        The last piece carried (or pieces, where one fewer is no choice worth looking at), and by
        how much it lowers the expected later cost; 0 and None where nothing less may be carried.
    at_floor
        True where the pieces carried are the fewest allowed.
    more_pieces, more_saves
        The next number worth looking at is so many pieces more, and would lower the expected
        later cost by so much; 0 and None where more brings nothing.
    more_cost
        What those pieces would cost, the cheapest way there is: landed, in whole packs less the
        worth of what is left of them, with the charges of an order not placed so far, and the
        worth of pieces drawn from a store. None where nothing can bring them.
    more_spend
        The part of it spent now.
    more_kg
        What they weigh.
    more_from
        Source; "" where they are there already.
    stopped_by
        What stops them, the plainest reason first; never empty.
    """

    boat: str
    part: str
    last_pieces: int
    last_saves: float | None
    at_floor: bool
    more_pieces: int
    more_saves: float | None
    more_cost: float | None
    more_spend: float | None
    more_kg: float
    more_from: str
    stopped_by: tuple[Stop, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitWhy:
    """What a little more, or less, of one limit is worth.

    Parameters
    ----------
    kind, boat
        Which limit; boat "" for one of the whole fleet.
    limit, used
        In its own unit (kg, litres, money, chance). `used` of readiness is the least of any boat.
    step
        What was added to it; below 0 for readiness asked less.
    state
        What was done about it.
    saves_low, saves_high
        The best plan of all costs less by an amount that is proven to lie between these; below 0
        where it costs more. None where nothing was solved.
    saves
        By how much the plan found costs less than the best one known without the step.
    changes
        What that plan carries or replaces otherwise, the most money first, in words.
    """

    kind: Kind
    boat: str
    limit: float
    used: float
    step: float
    state: State
    saves_low: float | None = None
    saves_high: float | None = None
    saves: float | None = None
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """The best plan found at one setting of a limit.

    Parameters
    ----------
    limit
        Money, kg, or share of all boats' limits.
    total, spend_now, expected_later
        Cost of the plan.
    bound, gap
        No plan within the limit costs less; distance from it as a share.
    kg
        What all boats load.
    readiness
        Of the least ready boat.
    """

    limit: float
    total: float
    spend_now: float
    expected_later: float
    bound: float
    gap: float
    kg: float
    readiness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Cost and readiness against one limit.

    Parameters
    ----------
    against
        What is along it: the fleet's budget, the kilos of one boat, or a share of all boats'.
    points
        By limit, rising; the total never rises with it.
    now
        The limit of the plan itself; None for none.
    """

    against: Against
    points: tuple[CurvePoint, ...]
    now: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """All the reasons.

    Parameters
    ----------
    lines
        One for each boat and part, in the order of the plan's carry lines.
    shelves
        One for each store and part, in the order of the plan's store lines; `boat` is the store.
    limits
        Every limit in force: of the fleet, then by boat.
    asked
        Whether limits that hold something back were solved again.
    solves, seconds
        How often, and the time it took.
    curves
        Where asked for.
    """

    lines: tuple[LineWhy, ...] = ()
    shelves: tuple[LineWhy, ...] = ()
    limits: tuple[LimitWhy, ...] = ()
    asked: bool = False
    solves: int = 0
    seconds: float = 0.0
    curves: tuple[Curve, ...] = ()


#: Before anything was asked.
NO_WHY = Why()
