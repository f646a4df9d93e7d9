"""What it takes to change one line of the plan, with everything else left as it is.

Every move is a plan of its own: what it costs beside the later cost of the choice, worked out in
whole packs and whole orders, and the limits that it would break. A move that breaks none and saves
money would be a better plan; where the plan is proven best there is none.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from stockopt.choices.choices import Choice
from stockopt.sourcing import Charges, Offer
from stockopt.why.ledger import Ledger, Line, fits, key_of, reaches
from stockopt.why.supplied import Supplied, list_supplied
from stockopt.why.why import Stop


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One line changed to another choice.

    Parameters
    ----------
    choice
        Taken instead.
    supplied
        Where its pieces come from.
    packs
        Packs bought more, by offer; below 0 for fewer.
    saves
        By how much the later cost of the choice is lower.
    cost
        What it costs otherwise: money now, and worth drawn from stock or left of packs.
    spend
        Money now.
    breaks
        Limits it would break; none for a plan that could be.
    """

    choice: Choice
    supplied: Supplied
    packs: Mapping[Offer, int]
    saves: float
    cost: float
    spend: float
    breaks: tuple[Stop, ...]

    @property
    def gain(self) -> float:
        """Return by how much the whole plan would cost less."""
        return self.saves - self.cost


def list_moves(ledger: Ledger, line: Line, choice: Choice) -> list[Move]:
    """List ways to take another choice, the cheapest first; none where nothing can bring it.

    Limits are not kept but named, and so is what a source has no more of; a store's stock is
    kept to, and so is the minimum of every order.
    """
    moves = []
    for supplied in list_supplied(ledger, line, choice):
        for packs in _list_packs(ledger, line, supplied):
            move = _weigh(ledger, line, choice, supplied, packs)
            if move is not None:
                moves.append(move)
    return sorted(moves, key=lambda move: (move.cost, len(move.breaks), move.spend))


def _list_packs(ledger: Ledger, line: Line, supplied: Supplied) -> Iterator[dict[Offer, int]]:
    """List the packs more that this takes: the fewest, and where some are not needed, as now."""
    before = dict(line.pick.bought)
    fewest: dict[Offer, int] = {}
    kept: dict[Offer, int] = {}
    for offer in {**before, **supplied.bought}:
        change = supplied.bought.get(offer, 0) - before.get(offer, 0)
        if not change:
            continue
        more = _count_needed(ledger, line, offer, change) - ledger.packs.get((line.place, offer), 0)
        if change > 0:
            if more > 0 and not ledger.packs_ordered.get((offer.source, line.place)):
                more = max(more, _fill(offer, ledger.choices.charges[offer.source, line.place]))
            fewest[offer] = kept[offer] = max(0, more)
        else:
            fewest[offer], kept[offer] = min(0, more), 0
    yield fewest
    if kept != fewest:
        yield kept


def _count_needed(ledger: Ledger, line: Line, offer: Offer, change: int) -> int:
    """Count the packs that hold every part used from them, with so many of this one more."""
    needed = 0
    for part, inside in offer.parts.items():
        used = ledger.used.get((line.place, offer, part), 0)
        used += change if part == line.part.part else 0
        needed = max(needed, math.ceil(used / (offer.pack * inside)))
    return needed


def _fill(offer: Offer, charges: Charges) -> int:
    """Return the packs of one offer that reach the minimum of its order by themselves."""
    minimum = charges.minimum_order or 0.0
    return math.ceil(minimum / (offer.price * offer.pack)) if offer.price > 0.0 else 0


def _weigh(
    ledger: Ledger, line: Line, choice: Choice, supplied: Supplied, packs: Mapping[Offer, int]
) -> Move | None:
    """Work out what a move costs and breaks; None where an order would miss its minimum."""
    charges = _change_charges(ledger, line.place, packs)
    if charges is None:
        return None
    spend = charges + sum(n * offer.pack * offer.landed for offer, n in packs.items())
    before = dict(line.pick.bought)
    cost = spend + supplied.worth
    hers = 0.0
    for offer in {**before, **supplied.bought}:
        worth = ledger.credits[line.place, offer]
        used = supplied.bought.get(offer, 0) - before.get(offer, 0)
        cost += used * worth[line.part.part]
        hers += used * offer.find_landed(line.part.part)
        for part, credit in worth.items():
            cost -= packs.get(offer, 0) * offer.pack * offer.parts[part] * credit
    alone = line.place == line.part.boat
    return Move(
        choice=choice,
        supplied=supplied,
        packs={offer: n for offer, n in packs.items() if n},
        saves=line.choice.later_cost - choice.later_cost,
        cost=cost,
        spend=spend,
        breaks=(
            *_break_load(ledger, line, choice),
            *_break_money(ledger, line, spend, spend if alone else hers),
            *_break_readiness(ledger, line, choice),
            *_break_availability(ledger, packs),
        ),
    )


def _change_charges(ledger: Ledger, place: str, packs: Mapping[Offer, int]) -> float | None:
    """Return what order charges change by; None where an order would miss its minimum."""
    change = 0.0
    for source in sorted({offer.source for offer, n in packs.items() if n}):
        charges = ledger.choices.charges[source, place]
        goods = ledger.goods.get((source, place), 0.0)
        ordered = ledger.packs_ordered.get((source, place), 0)
        mine = [(offer, n) for offer, n in packs.items() if offer.source == source]
        goods_then = goods + sum(n * offer.pack * offer.price for offer, n in mine)
        ordered_then = ordered + sum(n for _, n in mine)
        if ordered_then and not reaches(goods_then, charges.minimum_order):
            return None
        change += _charge(charges, goods_then, ordered_then) - _charge(charges, goods, ordered)
    return change


def _charge(charges: Charges, goods: float, packs: int) -> float:
    if not packs:
        return 0.0
    free = charges.free_freight_from is not None and reaches(goods, charges.free_freight_from)
    return charges.handling + (0.0 if free else charges.per_order)


def _break_load(ledger: Ledger, line: Line, choice: Choice) -> Iterator[Stop]:
    part, load = line.part, ledger.loads[line.part.boat]
    limits = ledger.choices.boats[part.boat]
    more = choice.carry - line.choice.carry
    if more * part.kg > 0.0 and not fits(load.kg + more * part.kg, limits.kg):
        yield "her kilos"
    if more * part.litres > 0.0 and not fits(load.litres + more * part.litres, limits.litres):
        yield "her litres"


def _break_money(ledger: Ledger, line: Line, spend: float, her_spend: float) -> Iterator[Stop]:
    boat = line.part.boat
    hers = ledger.loads[boat].spending + her_spend
    if her_spend > 0.0 and not fits(hers, ledger.choices.boats[boat].budget):
        yield "her budget"
    if spend > 0.0 and not fits(ledger.spending + spend, ledger.choices.budget):
        yield "the fleet's budget"


def _break_readiness(ledger: Ledger, line: Line, choice: Choice) -> Iterator[Stop]:
    asked, now = ledger.choices.readiness, line.choice.shortage_chance
    if not asked or not line.part.stops or choice.shortage_chance <= now:
        return
    load = ledger.loads[line.part.boat]
    certain = load.certain - (now >= 1.0) + (choice.shortage_chance >= 1.0)
    safe_log = load.safe_log
    safe_log -= math.log1p(-now) if now < 1.0 else 0.0
    safe_log += math.log1p(-choice.shortage_chance) if choice.shortage_chance < 1.0 else 0.0
    if certain or not reaches(math.exp(safe_log), asked):
        yield "readiness"


def _break_availability(ledger: Ledger, packs: Mapping[Offer, int]) -> Iterator[Stop]:
    for offer, more in packs.items():
        sold = ledger.sold.get(key_of(offer), 0) + more
        if more > 0 and offer.most is not None and sold > offer.most:
            yield "most available"
            return
