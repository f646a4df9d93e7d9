"""Boats, stores and parts used together in turn, until each counts on what the others do."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, field, replace

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.choices.settled import Settled, Taken
from stockopt.choices.shelves import name_shelf
from stockopt.choices.used_up import find_piece_price, find_scarcity
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.prove import prove_settled
from stockopt.program.restate import restate
from stockopt.program.solution import Rounds, Solution
from stockopt.program.solve import solve_program

#: Most rounds.
MOST_ROUNDS = 5
#: Most rounds of guesses before.
_MOST_GUESSES = 6
#: Round from which lines that still change are held.
_HELD_FROM = 2
#: Money by which a spare is not scarce.
_LITTLE = 0.005
#: Boats and stores agree where no wait differs by more days, and the cost has changed by no more
#: than this share, or the gap asked.
AGREED_DAYS, AGREED_COST = 0.1, 1e-3


#: Before the first round: nothing was chosen, at no end of cost.
_NO_CHOICES = Choices(
    boats={}, parts=(), charges={}, stock={}, budget=None, readiness=None, notes=()
)
_NO_SOLUTION = Solution(
    status="stopped",
    objective=math.inf,
    bound=-math.inf,
    gap=math.inf,
    seconds=0.0,
    picked=(),
    bought=(),
    free_freight=frozenset(),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Round:
    """One round: what was chosen from, the plan, and what it tells the next.

    `refitted` are lines of which another number is replaced now than was counted on, where that
    uses up other parts; `limited` where fewer of those others are carried than was counted on, so
    that their being scarce is not counted yet. `exact` is True where all costs are told with what
    the plan settles itself; `settled` where that is what the round had counted on, so that another
    would change nothing.
    `counted` is the plan as the round's program had it, where that was told again; else None.
    """

    told: Settled
    choices: Choices = _NO_CHOICES
    solution: Solution = _NO_SOLUTION
    refitted: Mapping[tuple[str, str], Taken] = field(default_factory=dict)
    limited: bool = False
    exact: bool = False
    settled: bool = False
    counted: tuple[Choices, Solution] | None = None


def solve_in_turn(
    weigh: Callable[[Settled], Choices], *, gap: float, seconds: float
) -> tuple[Choices, Solution]:
    """Weigh and solve until boats and stores agree, and parts that are used up together.

    The boats count on the stores' fill rates and on what a piece costs them, and the stores on what
    the boats carry and make up: each round is one program of both, weighed with what the round
    before told. What is used up with a part is weighed as needed where the round before has so many
    of that part replaced before departure. A boat's line that still changes in the second round or
    later is held as it is then: carried aboard or made up from the store, it costs nearly the same,
    and would change for ever.

    Parameters
    ----------
    weigh
        Gives the choices from what was told before.
    gap, seconds
        As for :func:`~stockopt.program.solve.solve_program`; the time is for all rounds.

    Returns
    -------
    Choices, Solution
        Of the round that costs least, told with what each settles itself; a round that missed the
        gap asked counts only where none before is proven nearer. The solution says which round it
        was, what is left to what it counted on, and the seconds of all. The first round has half of
        the time where others may follow; none is begun where the time left is less than the last's.

    Raises
    ------
    NoPlanError, SolverError
        Of the first round; and NoPlanError of a later one where no line was held.
    """
    before = _Round(told=guess_in_turn(weigh))
    best, found, solved = before, 0, 0.0
    doubted: Set[tuple[str, str]] = frozenset()
    held: dict[tuple[str, str], Taken] = {}
    for number in range(1, MOST_ROUNDS + 1):
        choices = hold(weigh(before.told), held)
        share = 0.5 if number == 1 and is_settled_in_turn(choices) else 1.0
        left = share * (seconds - solved)
        start = None if number == 1 else restate(before.solution, before.choices, choices)
        try:
            solution = solve_program(choices, gap=gap, seconds=left, start=start)
        except (NoPlanError, SolverError) as error:
            if number == 1 or (isinstance(error, NoPlanError) and not held):
                raise
            break
        solved += solution.seconds
        one = _tell(number, before, choices, solution)
        one = _restate(one, lambda told: hold(weigh(told), held), gap=gap)  # noqa: B023 - at once
        if _is_better(one, best, gap):
            best, found, doubted = one, number, frozenset()
        elif number == found + 1:
            doubted = list_changed(best.told, one.told).keys()
        idle = best.exact and (choices.stores or not one.refitted) and number > found
        if one.settled or idle or solved + solution.seconds > seconds:
            break
        if number >= _HELD_FROM:
            held |= list_changed(before.told, one.told) if choices.stores else one.refitted
        before = one
    return _conclude(best, doubted, gap=gap, seconds=seconds, solved=solved)


def _conclude(
    best: _Round, doubted: Set[tuple[str, str]], *, gap: float, seconds: float, solved: float
) -> tuple[Choices, Solution]:
    """Return the plan with a bound proven for the choices it stands among.

    Told again, a plan has lost the bound of the program that found it. Where there is no time for
    another, it is given as that program had it.
    """
    choices, solution = best.choices, best.solution
    if best.counted is not None:
        started = time.perf_counter()
        proven = prove_settled(
            choices, solution, gap=gap, seconds=seconds - solved, doubted=doubted
        )
        solved += time.perf_counter() - started
        if proven is None:
            choices, solution = best.counted
        else:
            choices, solution = proven[0], replace(proven[1], rounds=solution.rounds)
    held = sum(1 for part in choices.parts if len(part.choices) < len(part.weighed))
    return choices, replace(solution, seconds=solved, rounds=replace(solution.rounds, held=held))


def _tell(number: int, before: _Round, choices: Choices, solution: Solution) -> _Round:
    """Return a round with what it tells, and how far that is from what it counted on."""
    told = replace(read_settled(choices, solution), weighed=before.told.weighed)
    refitted = list_refitted(before.told, told, choices)
    cost = abs(solution.objective - before.solution.objective)
    rounds = compare(number, before.told, told, choices, cost)
    solution = replace(solution, rounds=rounds)
    limited = is_limited(before.told, told, choices)
    return _Round(told=told, choices=choices, solution=solution, refitted=refitted, limited=limited)


def _restate(one: _Round, weigh: Callable[[Settled], Choices], *, gap: float) -> _Round:
    """Return a round told with what it settles itself, and whether it counted on as much.

    First stores are weighed with what its boats do, then boats with what these stores have; what
    differs after that is told. Where other parts would be needed otherwise (`refitted`), so that
    chances of a shortage change as well, or a choice is not among those weighed again, it is left
    as it was counted.
    """
    solution, choices, told = one.solution, one.choices, one.told
    rounds, exact = solution.rounds, not one.refitted
    for _ in range(2 if choices.stores and exact else 0):
        again = weigh(told)
        restated = restate(solution, choices, again)
        if restated is None:
            rounds, exact = one.solution.rounds, False
            break
        before, told = told, replace(read_settled(again, restated), weighed=told.weighed)
        moved = abs(restated.objective - solution.objective)
        rounds = compare(rounds.number, before, told, again, moved)
        solution, choices = restated, again
    little = max(gap, AGREED_COST) * max(1.0, abs(solution.objective))

    def is_near(seen: Rounds) -> bool:
        return exact and seen.days <= AGREED_DAYS and seen.cost <= little

    off = abs(solution.objective - one.solution.objective)
    return replace(
        one,
        choices=choices,
        solution=replace(solution, rounds=replace(rounds, agreed=is_near(rounds))),
        exact=exact,
        counted=None if choices is one.choices else (one.choices, one.solution),
        settled=is_near(one.solution.rounds) and off <= little and not one.limited,
    )


def _is_better(one: _Round, best: _Round, gap: float) -> bool:
    """Return whether a round is better than the best before.

    Costs can be compared where they are told with what each plan settles itself; a plan of which
    they are not stands behind.
    """
    if one.solution.gap > max(gap, best.solution.gap):
        return False
    if best.exact:
        return one.exact and one.solution.objective < best.solution.objective
    return True


def is_settled_in_turn(choices: Choices) -> bool:
    """Return whether more than one round may be needed."""
    return bool(choices.stores) or any(part.uses for part in choices.parts)


def guess_in_turn(weigh: Callable[[Settled], Choices]) -> Settled:
    """Let boats and stores agree without the program: as if nothing were limited or shared.

    It is quick, and leaves to the program only what limits and orders change. First stores are
    weighed as if boats made up in them all they use.
    """
    nothing = Settled()
    choices = weigh(nothing)
    settled = replace(guess_settled(choices), weighed=nothing.weighed)
    if not choices.stores:
        return settled
    settled = replace(settled, taken={})
    held: dict[tuple[str, str], Taken] = {}
    for number in range(1, _MOST_GUESSES + 1):
        told = replace(guess_settled(hold(weigh(settled), held)), weighed=settled.weighed)
        changed = list_changed(settled, told) if settled.taken else told.taken
        settled = told
        if not changed:
            break
        if number > _HELD_FROM:
            held |= changed
    return settled


def list_changed(before: Settled, told: Settled) -> dict[tuple[str, str], Taken]:
    """List the boats' lines that are looked after otherwise than before."""
    return {key: taken for key, taken in told.taken.items() if before.taken.get(key) != taken}


def list_refitted(before: Settled, told: Settled, choices: Choices) -> dict[tuple[str, str], Taken]:
    """List the lines of which another number is replaced now, where that uses up other parts."""
    found = {}
    for part in choices.parts:
        key = (part.boat, part.part)
        if part.uses and key in told.taken:
            first = before.taken.get(key)
            if told.taken[key].replace_now != (first.replace_now if first else 0):
                found[key] = told.taken[key]
    return found


def is_limited(before: Settled, told: Settled, choices: Choices) -> bool:
    """Return whether parts used up with others turn out scarcer aboard than was counted on."""
    used_up: dict[tuple[str, str], int] = {}
    for part in choices.parts:
        for other, pieces in part.uses:
            if (part.boat, part.part) in told.taken:
                now = pieces * told.taken[part.boat, part.part].replace_now
                used_up[part.boat, other] = used_up.get((part.boat, other), 0) + now
    return any(
        told.taken[key].carry < before.taken[key].carry
        and find_scarcity(part, used_up[key], told.taken[key].carry) > _LITTLE
        for part in choices.parts
        if (key := (part.boat, part.part)) in used_up and key in before.taken
    )


def hold(choices: Choices, held: Mapping[tuple[str, str], Taken]) -> Choices:
    """Return the choices with nothing left to choose where a boat's line is held.

    Where something beats what was taken of a part that uses up others, the number replaced now is.
    """
    parts = []
    for part in choices.parts:
        taken = held.get((part.boat, part.part))
        alike = tuple(choice for choice in part.choices if taken == _take(choice))
        if taken and part.uses and not alike:
            alike = tuple(c for c in part.choices if c.replace_now == taken.replace_now)
        parts.append(replace(part, choices=alike, weighed=part.choices) if alike else part)
    return replace(choices, parts=tuple(parts))


def _take(choice: Choice) -> Taken:
    return Taken(carry=choice.carry, replace_now=choice.replace_now, restock=choice.restock)


def guess_settled(choices: Choices) -> Settled:
    """Return what boats and stores would do by themselves, part by part."""
    best = {(part.store, part.part): part.best for part in choices.stores}
    prices = {(part.boat, part.part): find_piece_price(part) for part in choices.parts}
    return Settled(
        fill_rates={key: level.fill_rate for key, level in best.items()},
        taken={
            (part.boat, part.part): guess_taken(part, prices)
            for part in choices.parts
            if not choices.is_shelf(part.boat)
        },
        prices={(part.store, part.part): part.piece_cost for part in choices.stores},
        orders={key: (level.source or "", level.orders) for key, level in best.items()},
    )


def guess_taken(part: BoatPart, prices: Mapping[tuple[str, str], float]) -> Taken:
    """Return how a boat would look after a part by itself; `prices` are of one piece each."""
    price = prices[part.boat, part.part]
    used_up = sum(pieces * prices.get((part.boat, other), 0.0) for other, pieces in part.uses)

    def cost(choice: Choice) -> float:
        wanted = part.count_wanted(choice)
        return choice.later_cost + price * wanted + used_up * choice.replace_now

    return _take(min(part.choices, key=cost))


def read_settled(choices: Choices, solution: Solution) -> Settled:
    """Return what a solution tells of boats and stores."""
    picked = {(pick.boat, pick.part): pick.choice for pick in solution.picked}
    taken = {}
    for part in choices.parts:
        if not choices.is_shelf(part.boat):
            taken[part.boat, part.part] = _take(part.choices[picked[part.boat, part.part]])
    levels = {
        (part.store, part.part): part.choices[picked[name_shelf(part.store), part.part]]
        for part in choices.stores
    }
    return Settled(
        fill_rates={key: level.fill_rate for key, level in levels.items()},
        taken=taken,
        prices={(part.store, part.part): part.piece_cost for part in choices.stores},
        orders={key: (level.source or "", level.orders) for key, level in levels.items()},
    )


def compare(number: int, before: Settled, told: Settled, choices: Choices, cost: float) -> Rounds:
    """Return the largest differences between what was counted on and what is told.

    Without a store nothing rests on what the round before cost.
    """
    fills, waits = [0.0], [0.0]
    for part in choices.stores:
        key = (part.store, part.part)
        apart = abs(told.fill_rates[key] - before.fill_rates[key])
        fills.append(apart)
        waits.append(apart * part.quickest_days)
    return Rounds(
        number=number,
        fill_rate=max(fills),
        days=max(waits),
        cost=cost if choices.stores else 0.0,
        agreed=False,
    )
