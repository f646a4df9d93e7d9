"""Where the pieces of a plan come from, checked again; what the checks of the plan look at.

Like the rest of the check it shares no sum with the rooms that made the plan.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.choices.store_part import StoreChoice, StorePart
from stockopt.plan import Plan
from stockopt.program.solution import Picked, Solution
from stockopt.sourcing import Offer

#: Largest difference of a total, and largest overrun of a limit, as a share of it (of 1 where
#: it is smaller): the tolerance to which the solver keeps its rows.
TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Line:
    """One part on one boat: what was picked, worked out again."""

    part: BoatPart
    choice: Choice
    pick: Picked
    place: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What every check looks at.

    By (boat, part), `used_up` has the pieces used up where others aboard are replaced now, `given`
    those that other boats get, and `leftovers` what one is worth at the end; `bought_for` has by
    place the packs bought for it.
    """

    plan: Plan
    solution: Solution
    choices: Choices
    lines: tuple[Line, ...]
    packs: Mapping[tuple[str, Offer], int]
    used: Mapping[tuple[str, Offer, str], int]
    goods: Mapping[tuple[str, str], float]
    used_up: Mapping[tuple[str, str], int]
    given: Mapping[tuple[str, str], int]
    leftovers: Mapping[tuple[str, str], float]
    bought_for: Mapping[str, tuple[tuple[Offer, int], ...]]

    def count_used_up(self, line: Line) -> int:
        """Count the pieces of one part used up where others aboard are replaced now."""
        return self.used_up.get((line.part.boat, line.part.part), 0)

    def count_given(self, line: Line) -> int:
        """Count the pieces of one boat's part that other boats get."""
        return self.given.get((line.part.boat, line.part.part), 0)

    def find_freight(self, order: tuple[str, str]) -> float:
        """Return the freight of the order by (source, place): free from its threshold on."""
        charges = self.choices.charges[order]
        threshold = charges.free_freight_from
        free = threshold is not None and reaches(self.goods[order], threshold)
        return 0.0 if free else charges.per_order


def gather(plan: Plan, solution: Solution, choices: Choices) -> Facts:
    """Put together what the checks look at, from the solution and the choices."""
    parts = {(part.boat, part.part): part for part in choices.parts}
    lines = []
    used: Counter[tuple[str, Offer, str]] = Counter()
    for pick in solution.picked:
        part = parts[pick.boat, pick.part]
        place = choices.boats[pick.boat].place
        lines.append(Line(part, part.choices[pick.choice], pick, place))
        for offer, pieces in pick.bought:
            used[place, offer, pick.part] += pieces
        for offer, pieces in pick.met:
            met_at = part.choices[pick.choice].ahead_at
            used[f"{pick.boat} in {met_at}", offer, pick.part] += pieces
    goods: dict[tuple[str, str], float] = defaultdict(float)
    for line in solution.bought:
        value = line.packs * line.offer.pack * line.offer.price
        goods[line.offer.source, line.place] += value
    packs = {(line.place, line.offer): line.packs for line in solution.bought}
    bought_for: dict[str, tuple[tuple[Offer, int], ...]] = {}
    for place, each in groupby(sorted(packs, key=lambda key: key[0]), key=lambda key: key[0]):
        bought_for[place] = tuple((offer, packs[place, offer]) for _, offer in each)
    used_up: Counter[tuple[str, str]] = Counter()
    given: Counter[tuple[str, str]] = Counter()
    for row in lines:
        for name, quantity in row.part.uses:
            used_up[row.part.boat, name] += quantity * row.choice.replace_now
        for place, pieces in row.pick.near:
            given[place, row.part.part] += pieces
    return Facts(
        plan=plan,
        solution=solution,
        choices=choices,
        lines=tuple(lines),
        packs=packs,
        used=used,
        goods=goods,
        used_up=used_up,
        given=given,
        leftovers={key: part.leftover for key, part in parts.items()},
        bought_for=bought_for,
    )


def reaches(amount: float, threshold: float) -> bool:
    """Return whether an amount is at least a threshold, within the tolerance."""
    return amount >= threshold - TOLERANCE * max(1.0, abs(threshold))


def check_pieces(facts: Facts) -> Iterator[str]:
    """Check that the pieces wanted come from somewhere that has them, in time."""
    drawn: Counter[tuple[str, str]] = Counter()
    for line in facts.lines:
        part, pick = line.part, line.pick
        where = f"{part.boat}, {part.part}"
        yield from _check_own(facts, line)
        near = sum(pieces for _, pieces in pick.near)
        bought = sum(pieces for _, pieces in pick.bought)
        brought = pick.own + pick.moved + bought + near
        wanted = line.choice.carry + line.choice.replace_now + facts.count_used_up(line)
        if brought < wanted:
            yield f"{where}: {brought} pieces for {wanted} wanted"
        pieces_in = [pieces for _, pieces in (*pick.bought, *pick.near, *pick.met)]
        if pick.moved < 0 or any(pieces <= 0 for pieces in pieces_in):
            yield f"{where}: pieces below zero"
        if any(offer not in part.offers for offer, _ in pick.bought):
            yield f"{where}: bought from an offer that is not hers"
        drawn[line.place, part.part] += pick.moved
        for place, pieces in pick.near:
            drawn[place, part.part] += pieces
        yield from _check_near(facts, line)
        yield from _check_met(line)
    for (place, name), pieces in drawn.items():
        if place not in facts.choices.boats and pieces > facts.choices.stock.get((place, name), 0):
            yield f"{place}: {pieces} of {name} drawn, more than in stock"
    for (place, offer, name), pieces in facts.used.items():
        if pieces > facts.packs.get((place, offer), 0) * offer.pack * offer.parts.get(name, 0):
            yield f"{place}: {pieces} of {name} used, more than bought"


def _check_own(facts: Facts, line: Line) -> Iterator[str]:
    """Check what her own pieces are used for: her choice, other parts' changes, other boats."""
    part, choice, pick = line.part, line.choice, line.pick
    where = f"{part.boat}, {part.part}"
    given = facts.count_given(line)
    for_choice = min(part.on_hand - choice.own_left, choice.carry + choice.replace_now)
    used_up = pick.own - for_choice
    if not 0 <= pick.own <= part.on_hand:
        yield f"{where}: {pick.own} of {part.on_hand} own pieces used"
    if choice.own_left not in (0, part.expiring):
        yield f"{where}: {choice.own_left} of {part.expiring} pieces that expire left ashore"
    # Pieces that expire under way are fitted now first, and serve nothing else but being carried.
    fitted = max(0, choice.replace_now - (part.expiring - choice.own_left))
    spare = max(0, part.on_hand - part.expiring - choice.carry - fitted)
    if used_up < 0 or used_up + given > (spare if used_up + given else 0):
        yield f"{where}: {used_up} own pieces used up and {given} given away, {spare} to spare"
    if given > part.movable:
        yield f"{where}: {given} pieces given away, {part.movable} can be moved"


def _check_near(facts: Facts, line: Line) -> Iterator[str]:
    """Check that what she has from others comes from her harbour."""
    there = facts.choices.boats[line.part.boat].harbour
    for place, _ in line.pick.near:
        if not there or there not in _find_harbours(facts, place):
            where = f"{line.part.boat}, {line.part.part}"
            yield f"{where}: moved from {place}, which is not in her harbour"


def _check_met(line: Line) -> Iterator[str]:
    """Check the pieces that meet her on her way."""
    choice, pick = line.choice, line.pick
    where = f"{line.part.boat}, {line.part.part}"
    if sum(pieces for _, pieces in pick.met) != choice.ahead:
        yield f"{where}: {choice.ahead} pieces are to meet her in {choice.ahead_at or 'no port'}"
    offers = [o for ahead in line.part.ahead if ahead.port == choice.ahead_at for o in ahead.offers]
    if any(offer not in offers for offer, _ in pick.met):
        yield f"{where}: an order that cannot meet her in {choice.ahead_at}"


def _find_harbours(facts: Facts, place: str) -> set[str]:
    """Return the harbours that a boat or a store belongs to: at most one."""
    return {
        limits.harbour
        for boat, limits in facts.choices.boats.items()
        if place in (boat, limits.place)
    }


def check_stores(facts: Facts) -> Iterator[str]:
    """Check that every store line says what was picked, and that its pieces add up."""
    if facts.plan.dead_stock != facts.choices.dead_stock:
        yield "the dead stock is not what was found"
    shelves = {
        (facts.choices.boats[line.part.boat].shelf_of, line.part.part): line
        for line in facts.lines
        if facts.choices.is_shelf(line.part.boat)
    }
    wanted = [(part.store, part.part) for part in facts.choices.stores]
    if [(line.store, line.part) for line in facts.plan.stores] != wanted or set(shelves) != set(
        wanted
    ):
        yield "the store lines are not one for each store and part"
        return
    for part, written in zip(facts.choices.stores, facts.plan.stores, strict=True):
        line = shelves[part.store, part.part]
        choice, where = part.choices[line.pick.choice], f"{part.store}, {part.part}"
        taken = sum(
            pieces
            for other in facts.lines
            for place, pieces in ((other.place, other.pick.moved), *other.pick.near)
            if place == part.store and other.part.part == part.part and other is not line
        )
        if written.moved_from != line.pick.near:
            yield f"{where}: moved from {written.moved_from}, should be {line.pick.near}"
        brought = written.buy + written.moved_in + line.pick.moved
        if written.level != line.choice.carry or brought < written.level:
            yield f"{where}: {brought} pieces for a level of {written.level}"
        before = {offer.source for offer in part.offers}
        if written.source in before and written.level <= written.reorder_point:
            yield f"{where}: ordered on the first day, where {written.source} brings it before"
        if taken + line.pick.moved > part.on_hand or written.moved_out != taken:
            yield f"{where}: {taken} taken and {line.pick.moved} kept of {part.on_hand} in stock"
        told = _list_told(part, choice, line).items()
        wrong = [(field, right) for field, right in told if getattr(written, field) != right]
        yield from (f"{where}: {field} should be {right}" for field, right in wrong)
        later = written.expected_cost - part.leftover * written.expected_left - part.paid
        if abs(later - line.choice.later_cost) > TOLERANCE * max(1.0, abs(later)):
            yield f"{where}: adds {line.choice.later_cost}, should be {later}"


def _list_told(part: StorePart, choice: StoreChoice, line: Line) -> dict[str, object]:
    """List what a store line must tell of the shelf picked, by field."""
    ends_on = part.begins_on + timedelta(days=math.ceil(part.season_days))
    last = ends_on - timedelta(days=math.ceil(choice.lead_days))
    return {
        "name": part.name,
        "on_hand": part.on_hand,
        "moved_in": sum(pieces for _, pieces in line.pick.near),
        "buy": sum(pieces for _, pieces in line.pick.bought),
        "source": choice.source or "",
        "reorder_point": choice.reorder_point,
        "order_quantity": choice.order_quantity,
        "last_order_on": last if choice.source else None,
        "expected_asked": part.asked,
        "fill_rate": choice.fill_rate,
        "expected_orders": choice.orders,
        "expected_reordered": choice.reordered,
        "expected_short": choice.short,
        "expected_left": choice.left,
        "expected_cost": choice.season_cost,
        "paid_by_boats": part.paid,
        "later_cost": choice.later_cost,
        "capital": choice.average_stock * part.price,
    }
