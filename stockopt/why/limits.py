"""Which limits are in force, which hold the plan back, and by what step each is changed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from stockopt.choices.choices import BoatLimits, Choices
from stockopt.why.ledger import Ledger
from stockopt.why.lines import LEAST, are_alike
from stockopt.why.moves import list_moves
from stockopt.why.why import Kind, LimitWhy, LineWhy, State, Stop

#: Less of a limit than this share left is looked at even where nothing is seen to be held back.
NEARLY_USED = 0.9
#: Readiness asked less, or more.
POINT = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """One limit in force, what of it is used, and whether it holds anything back.

    `unit` is what it is counted in by people, in kg or litres; 1 for money and chances. `least` is
    how much more lets in the first piece that it alone keeps out; 0 where that is not known.
    """

    kind: Kind
    boat: str
    limit: float
    used: float
    binds: bool
    unit: float = 1.0
    least: float = 0.0


def list_held(ledger: Ledger, lines: Sequence[LineWhy] | None = None) -> list[Held]:
    """List every limit in force: of the fleet, then by boat.

    Parameters
    ----------
    ledger
        The plan added up.
    lines
        Where given, only what stops one more of each part is looked at, instead of every choice:
        twenty times as fast.

    Notes
    -----
    A limit holds something back where another choice for some part on some boat would pay and is
    kept out by it, with everything else left as it is; or where hardly anything of it is left.
    That no other limit does is no more than likely: several changes together might pay.
    """
    if lines is None:
        stopped = _find_stopped(ledger)
    else:
        stopped = {(why.boat, stop) for why in lines for stop in why.stopped_by}
    choices = ledger.choices
    held = []
    if choices.budget is not None:
        binds = any(stop == "the fleet's budget" for _, stop in stopped)
        held.append(_hold("budget", "", choices.budget, ledger.spending, binds=binds))
    if choices.readiness:
        least = min(
            math.exp(load.safe_log) if not load.certain else 0.0 for load in ledger.loads.values()
        )
        nearly = math.log(max(least, 1e-300)) <= NEARLY_USED * math.log(choices.readiness)
        binds = nearly or any(stop == "readiness" for _, stop in stopped)
        held.append(
            Held(kind="readiness", boat="", limit=choices.readiness, used=least, binds=binds)
        )
    for boat in sorted(choices.boats):
        limits, load = choices.boats[boat], ledger.loads[boat]
        hers: tuple[tuple[Kind, Stop, float | None, float, float], ...] = (
            ("kg", "her kilos", limits.kg, load.kg, choices.measures.kg_each),
            ("litres", "her litres", limits.litres, load.litres, choices.measures.litres_each),
            ("budget", "her budget", limits.budget, load.spending, 1.0),
        )
        for kind, stop, limit, used, unit in hers:
            if limit is not None:
                binds = (boat, stop) in stopped
                held.append(replace(_hold(kind, boat, limit, used, binds=binds), unit=unit))
    return held


def _hold(kind: Kind, boat: str, limit: float, used: float, *, binds: bool) -> Held:
    nearly = used >= NEARLY_USED * limit
    return Held(kind=kind, boat=boat, limit=limit, used=used, binds=binds or nearly)


def _find_stopped(ledger: Ledger) -> set[tuple[str, Stop]]:
    """Find the (boat, limit) that keeps some choice out that would pay."""
    return {
        (line.part.boat, stop)
        for line in ledger.lines
        for choice in line.part.choices
        if choice != line.choice and are_alike(line.part, choice, line.choice)
        for move in list_moves(ledger, line, choice)
        if move.gain > LEAST
        for stop in move.breaks
    }


def reach_next_piece(
    held: Sequence[Held], lines: Sequence[LineWhy], choices: Choices
) -> list[Held]:
    """Return the limits with how much more of each lets in the first piece it alone keeps out."""
    litres = {(part.boat, part.part): part.litres for part in choices.parts}
    reached = []
    for each in held:
        wanted = [
            _count_wanted(each.kind, why, litres.get((why.boat, why.part), 0.0))
            for why in lines
            if why.stopped_by == (_find_stop(each),) and each.boat in ("", why.boat)
        ]
        least = max(0.0, min(wanted, default=0.0) - (each.limit - each.used))
        reached.append(replace(each, least=least if wanted else 0.0))
    return reached


def _find_stop(held: Held) -> Stop:
    """Return by what name a limit stops a piece."""
    stops: dict[Kind, Stop] = {
        "kg": "her kilos",
        "litres": "her litres",
        "budget": "her budget" if held.boat else "the fleet's budget",
        "readiness": "readiness",
    }
    return stops[held.kind]


def _count_wanted(kind: Kind, why: LineWhy, litres: float) -> float:
    """Count how much of a limit one more piece takes."""
    if kind == "budget":
        return why.more_spend or 0.0
    return why.more_kg if kind == "kg" else why.more_pieces * litres


def list_unasked(held: Sequence[Held]) -> tuple[LimitWhy, ...]:
    """Return every limit without solving anything again."""
    return tuple(
        write_limit(each, step, "not asked" if each.binds else "slack")
        for each in held
        for step in (find_steps(each) if each.binds else find_steps(each)[:1])
    )


def by_urgency(held: Held) -> tuple[bool, bool, float, str, str]:
    """Return the sorting key: the fleet's budget and readiness first, then the fullest."""
    share = held.used / held.limit if held.limit > 0.0 else math.inf
    return (held.boat != "", held.kind != "budget", -share, held.boat, held.kind)


def find_steps(held: Held) -> tuple[float, ...]:
    """Return what to add to a limit: about a tenth of it, in round numbers; readiness a point.

    More where no piece fits into that. A mass or room is round in the unit that people read it in.
    """
    if held.kind == "readiness":
        less = min(POINT, held.limit / 2.0)
        more = min(POINT, (1.0 - held.limit) / 2.0)
        return (-less, more) if more > 0.0 else (-less,)
    step = find_round_step(max(held.limit, held.used) / held.unit) * held.unit
    return (step if step >= held.least else _round_up(held.least / held.unit) * held.unit,)


def _round_up(amount: float) -> float:
    """Return the least of 1, 2 or 5 and noughts that is not below an amount."""
    power = 10.0 ** math.floor(math.log10(amount))
    return next(times * power for times in (1.0, 2.0, 5.0, 10.0) if times * power >= amount)


def find_round_step(limit: float) -> float:
    """Return about a tenth of a limit: 1, 2 or 5 and noughts.

    Examples
    --------
    >>> find_round_step(120.0), find_round_step(4_000.0), find_round_step(45.0)
    (10.0, 500.0, 5.0)
    >>> find_round_step(0.0)
    1.0
    """
    if limit <= 0.0:
        return 1.0
    tenth = limit / 10.0
    power = 10.0 ** math.floor(math.log10(tenth))
    return min((power, 2.0 * power, 5.0 * power, 10.0 * power), key=lambda r: abs(r - tenth))


def change_limit(choices: Choices, held: Held, step: float) -> Choices:
    """Return the choices with so much more of one limit."""
    limit = held.limit + step
    if held.kind == "readiness":
        return replace(choices, readiness=limit)
    if not held.boat:
        return replace(choices, budget=limit)
    limits: BoatLimits = choices.boats[held.boat]
    if held.kind == "kg":
        limits = replace(limits, kg=limit)
    elif held.kind == "litres":
        limits = replace(limits, litres=limit)
    else:
        limits = replace(limits, budget=limit)
    return replace(choices, boats={**choices.boats, held.boat: limits})


def write_limit(held: Held, step: float, state: State) -> LimitWhy:
    """Return what is known of a limit before anything is solved again."""
    return LimitWhy(
        kind=held.kind,
        boat=held.boat,
        limit=held.limit,
        used=held.used,
        step=step,
        state=state,
    )
