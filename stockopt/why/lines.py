"""Why each line carries what it does: what its last piece saves, and what stops one more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from stockopt.choices.choices import BoatPart, Choice
from stockopt.why.ledger import Ledger, Line
from stockopt.why.moves import Move, list_moves
from stockopt.why.why import LineWhy, Stop

#: Less money than this, in the plan's currency, is no reason for anything.
LEAST = 0.005


def explain_lines(ledger: Ledger) -> tuple[LineWhy, ...]:
    """Explain every line of the plan, in its order.

    Notes
    -----
    One more of a part is looked at with everything else of the plan left as it is. So where it
    would pay and breaks no limit, the plan was not the best one; it can then only be one that is
    proven to a gap.
    """
    aboard = (line for line in ledger.lines if not ledger.choices.is_shelf(line.part.boat))
    return tuple(_explain(ledger, line) for line in aboard)


def explain_shelves(ledger: Ledger) -> tuple[LineWhy, ...]:
    """Explain every level of a store the same way, under the store's name."""
    boats = ledger.choices.boats
    return tuple(
        replace(_explain(ledger, line), boat=boats[line.part.boat].shelf_of)
        for line in ledger.lines
        if ledger.choices.is_shelf(line.part.boat)
    )


def _explain(ledger: Ledger, line: Line) -> LineWhy:
    part, choice = line.part, line.choice
    fewer, more = find_fewer(part, choice), find_more(part, choice)
    moves = [] if more is None else list_moves(ledger, line, more)
    to_be_had = [move for move in moves if "most available" not in move.breaks]
    shown = next(iter(to_be_had or moves), None)
    pieces = 0 if more is None else more.carry - choice.carry
    return LineWhy(
        boat=part.boat,
        part=part.part,
        last_pieces=0 if fewer is None else choice.carry - fewer.carry,
        last_saves=None if fewer is None else fewer.later_cost - choice.later_cost,
        at_floor=0 < choice.carry <= part.floor,
        more_pieces=pieces,
        more_saves=None if more is None else choice.later_cost - more.later_cost,
        more_cost=None if shown is None else shown.cost,
        more_spend=None if shown is None else shown.spend,
        more_kg=pieces * part.kg,
        more_from="" if shown is None else _name_source(shown),
        stopped_by=_find_stops(ledger, line, more, moves),
    )


def find_fewer(part: BoatPart, choice: Choice) -> Choice | None:
    """Return what would be left without the last spare carried; None where that may not be.

    The same but for one spare fewer, or else the nearest choice with fewer spares and pieces.
    """
    fewer = [
        c
        for c in part.choices
        if c.carry < choice.carry and c.pieces < choice.pieces and are_alike(part, c, choice)
    ]
    return min(fewer, key=lambda c: (*_distance(c, choice), c.later_cost), default=None)


def find_more(part: BoatPart, choice: Choice) -> Choice | None:
    """Return what the next spare would make of it; None where more brings nothing."""
    more = [
        c
        for c in part.choices
        if c.carry > choice.carry and c.pieces > choice.pieces and are_alike(part, c, choice)
    ]
    return min(more, key=lambda c: (*_distance(c, choice), c.later_cost), default=None)


def are_alike(part: BoatPart, other: Choice, choice: Choice) -> bool:
    """Return whether one choice can take the place of another with all other lines as they are.

    Not where other parts would be used up, other pieces meet her under way, or other pieces of
    her own expire.
    """
    return (
        other.own_left == choice.own_left
        and (other.ahead, other.ahead_at) == (choice.ahead, choice.ahead_at)
        and (not part.uses or other.replace_now == choice.replace_now)
    )


def _distance(other: Choice, choice: Choice) -> tuple[bool, int, int]:
    """Return how unlike two choices are: in pieces replaced now, in spares, in pieces."""
    return (
        other.replace_now != choice.replace_now,
        abs(other.carry - choice.carry),
        abs(other.pieces - choice.pieces),
    )


def _name_source(move: Move) -> str:
    return next((offer.source for offer, packs in move.packs.items() if packs > 0), "")


def _find_stops(
    ledger: Ledger, line: Line, more: Choice | None, moves: Sequence[Move]
) -> tuple[Stop, ...]:
    """Find what stops one more: the limits in the way of the cheapest move that would pay."""
    if line.part.pin is not None:
        return ("the number asked for",)
    if more is None:
        return ("brings nothing more",)
    if not moves:
        busy = line.given > 0 and line.bound_own > line.part.count_spare(more)
        return ("needed elsewhere",) if busy else ("nothing can bring it in time",)
    paying = [move for move in moves if move.gain > LEAST]
    free = [move for move in paying if not move.breaks]
    if free:
        return ("within the gap",)
    there = [move for move in paying if "most available" not in move.breaks]
    if paying:
        return (there or paying)[0].breaks
    if line.part.stops and ledger.choices.readiness:
        return ("not worth its price", "readiness reached without it")
    return ("not worth its price",)
