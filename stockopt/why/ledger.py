"""The plan added up, so that one line of it can be changed and the difference told at once."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.plan import Plan
from stockopt.program.needs import find_part_credits
from stockopt.program.pick import list_bought_for
from stockopt.program.solution import Picked, Solution
from stockopt.sourcing import Offer

#: Share by which a limit may be passed: the tolerance to which the solver keeps its rows.
TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One part on one boat, with what was picked.

    `used_up` are pieces that changes of other parts take; `given` those of her own that other
    boats have.
    """

    part: BoatPart
    choice: Choice
    pick: Picked
    place: str
    used_up: int = 0
    given: int = 0

    @property
    def bound_own(self) -> int:
        """Return the pieces of her own that serve something else than her choice."""
        mine = self.choice.pieces - self.part.count_wanted(self.choice)
        return self.pick.own - mine + self.given


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What one boat has of everything that is limited.

    `safe_log` is the sum of log(1 - chance) over the parts that stop her, without those that are
    certain to be short, of which there are `certain`.
    """

    kg: float
    litres: float
    spending: float
    safe_log: float
    certain: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The plan added up.

    Parameters
    ----------
    choices
        What it was picked from, with all limits.
    lines
        One for each boat and part, in the order of the picks.
    loads
        By boat.
    packs
        By (place, offer): packs bought.
    used
        By (place, offer, part): pieces of them used.
    goods, packs_ordered
        By (source, place): price of the goods ordered, and packs.
    drawn
        By (store, part): pieces drawn from a store's stock.
    stores
        By harbour: the stores of its boats.
    givers
        By (harbour, part): lines of boats that others there can have pieces from.
    sold
        By (source, part, pack, price): packs bought over all places.
    credits
        By (place, offer), then part: worth of one surplus piece.
    spending
        Now, in all.
    """

    choices: Choices
    lines: tuple[Line, ...]
    loads: Mapping[str, Load]
    packs: Mapping[tuple[str, Offer], int]
    used: Mapping[tuple[str, Offer, str], int]
    goods: Mapping[tuple[str, str], float]
    packs_ordered: Mapping[tuple[str, str], int]
    drawn: Mapping[tuple[str, str], int]
    sold: Mapping[tuple[str, str, int, float], int]
    stores: Mapping[str, tuple[str, ...]]
    givers: Mapping[tuple[str, str], Sequence[Line]]
    credits: Mapping[tuple[str, Offer], Mapping[str, float]]
    spending: float


def add_up(plan: Plan, solution: Solution, choices: Choices) -> Ledger:
    """Add up a plan that was checked."""
    lines = _list_lines(solution, choices)
    used: Counter[tuple[str, Offer, str]] = Counter()
    drawn: Counter[tuple[str, str]] = Counter()
    for line in lines:
        drawn[line.place, line.part.part] += line.pick.moved
        for place, pieces in line.pick.near:
            drawn[place, line.part.part] += pieces
        for place, offer, pieces in list_bought_for(line.pick, line.part, choices):
            used[place, offer, line.part.part] += pieces
    packs: Counter[tuple[str, Offer]] = Counter()
    packs_ordered: Counter[tuple[str, str]] = Counter()
    sold: Counter[tuple[str, str, int, float]] = Counter()
    goods: dict[tuple[str, str], float] = defaultdict(float)
    for bought in solution.bought:
        offer, place = bought.offer, bought.place
        packs[place, offer] += bought.packs
        packs_ordered[offer.source, place] += bought.packs
        sold[key_of(offer)] += bought.packs
        goods[offer.source, place] += bought.packs * offer.pack * offer.price
    givers: dict[tuple[str, str], list[Line]] = defaultdict(list)
    for line in lines:
        harbour = choices.boats[line.part.boat].harbour
        if harbour and line.part.movable > 0:
            givers[harbour, line.part.part].append(line)
    return Ledger(
        choices=choices,
        lines=lines,
        loads=_add_loads(plan, choices, lines),
        packs=packs,
        used=used,
        goods=goods,
        packs_ordered=packs_ordered,
        drawn=drawn,
        sold=sold,
        stores=_list_stores(choices),
        givers=dict(givers),
        credits=find_part_credits(choices),
        spending=plan.cost.spend_now,
    )


def _list_lines(solution: Solution, choices: Choices) -> tuple[Line, ...]:
    parts = {(part.boat, part.part): part for part in choices.parts}
    used_up: Counter[tuple[str, str]] = Counter()
    given: Counter[tuple[str, str]] = Counter()
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        for other, quantity in part.uses:
            used_up[pick.boat, other] += quantity * part.choices[pick.choice].replace_now
        for place, pieces in pick.near:
            given[place, pick.part] += pieces
    return tuple(
        Line(
            part=parts[pick.boat, pick.part],
            choice=parts[pick.boat, pick.part].choices[pick.choice],
            pick=pick,
            place=choices.boats[pick.boat].place,
            used_up=used_up[pick.boat, pick.part],
            given=given[pick.boat, pick.part],
        )
        for pick in solution.picked
    )


def _list_stores(choices: Choices) -> dict[str, tuple[str, ...]]:
    stores: dict[str, set[str]] = defaultdict(set)
    for limits in choices.boats.values():
        if limits.harbour and limits.place != limits.boat:
            stores[limits.harbour].add(limits.place)
    return {harbour: tuple(sorted(there)) for harbour, there in stores.items()}


def key_of(offer: Offer) -> tuple[str, str, int, float]:
    """Return what the packs of a source are counted by, over all places."""
    return (offer.source, offer.part, offer.pack, offer.price)


def _add_loads(plan: Plan, choices: Choices, lines: tuple[Line, ...]) -> dict[str, Load]:
    safe_log: dict[str, float] = defaultdict(float)
    certain: Counter[str] = Counter()
    for line in lines:
        if line.part.stops and line.choice.shortage_chance >= 1.0:
            certain[line.part.boat] += 1
        elif line.part.stops:
            safe_log[line.part.boat] += math.log1p(-line.choice.shortage_chance)
    told = {boat.boat: (boat.kg, boat.litres, boat.spend_now) for boat in plan.boats}
    loads = {}
    for boat in choices.boats:
        # What stands among the boats but is none, a store's shelf, has no limits to load against.
        kg, litres, spending = told.get(boat, (0.0, 0.0, 0.0))
        loads[boat] = Load(
            kg=kg,
            litres=litres,
            spending=spending,
            safe_log=safe_log[boat],
            certain=certain[boat],
        )
    return loads


def fits(amount: float, limit: float | None) -> bool:
    """Return whether an amount keeps a limit, to the solver's tolerance.

    Examples
    --------
    >>> fits(10.0, None), fits(10.0000001, 10.0), fits(10.1, 10.0)
    (True, True, False)
    """
    return limit is None or amount <= limit + TOLERANCE * max(1.0, abs(limit))


def reaches(amount: float, threshold: float | None) -> bool:
    """Return whether an amount reaches a threshold, to the solver's tolerance."""
    return threshold is None or amount >= threshold - TOLERANCE * max(1.0, abs(threshold))
