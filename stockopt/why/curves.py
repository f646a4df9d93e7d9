"""Cost and readiness against money and against kilos: the best plan at each of several limits."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

from stockopt.choices.choices import BoatPart, Choice, Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.pick import find_costs
from stockopt.program.solution import Solution
from stockopt.program.solve import solve_program
from stockopt.why.why import Against, Curve, CurvePoint

OnStep = Callable[[str], None]

#: Points of a curve, the ends among them.
POINTS = 9
#: Weight of a kilo, in money, where the least load is sought: money then only breaks ties.
_DEAR_KILO = 1e4


def draw_curves(
    solution: Solution, choices: Choices, *, gap: float, seconds: float, on_step: OnStep
) -> tuple[Curve, ...]:
    """Find the best plan at each of several budgets, and of several loads.

    Parameters
    ----------
    solution, choices
        The plan's. All its other limits stay as they are.
    gap, seconds
        For each point, as for the plan itself.
    on_step
        Called with what is done next.

    Returns
    -------
    tuple of Curve
        Against the fleet's budget, from the least that any plan spends to what the best plan
        spends without that limit. And against kilos, from the least load of any plan to that of
        the best plan without limits of weight: of one boat her kilos; of several the share of
        all their limits, or where none has one of what each would load. The plan's own limit is
        a point too where it lies between. A curve is left out where it would be a single point.

    Notes
    -----
    A plan found with less is kept where the solver finds none better with more, within its gap,
    so that more never costs more; and what no plan can beat with more, none can beat with less.
    """
    solving = _Solving(solution=solution, choices=choices, gap=gap, seconds=seconds)
    curves = []
    asks: tuple[tuple[str, Callable[[_Solving], _Asked]], ...] = (
        ("budget", _ask_budgets),
        (choices.measures.masses, _ask_loads),
    )
    for words, ask in asks:
        on_step(f"Cost against {words}: where the curve begins and ends")
        asked = ask(solving)
        if asked.limits:
            points = _draw(asked, solving, words, on_step)
            curves.append(Curve(against=asked.against, points=points, now=asked.now))
    return tuple(curves)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """Where a curve is solved: its limits, and what the choices are at each."""

    against: Against
    limits: tuple[float, ...]
    now: float | None
    at: Callable[[float], Choices]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solving:
    """What every point is solved with."""

    solution: Solution
    choices: Choices
    gap: float
    seconds: float

    def solve(self, choices: Choices) -> Solution:
        """Solve; nothing is solved twice. Errors as for :func:`solve_program`."""
        if choices == self.choices:
            return self.solution
        return solve_program(choices, gap=self.gap, seconds=self.seconds)


def _ask_budgets(solving: _Solving) -> _Asked:
    """Ask from the least that any plan spends to what the best spends without a budget."""
    now = solving.choices.budget
    free = replace(solving.choices, budget=None)
    thrift = solving.solve(_change_costs(solving.choices, lambda part, choice: 0.0))
    ends = (_spend(plan, free) for plan in (thrift, solving.solve(free)))
    low, high = (math.ceil(round(100.0 * end, 4)) / 100.0 for end in ends)
    limits = tuple(round(limit, 2) for limit in _spread(low, high, now))
    return _Asked(
        against="budget", limits=limits, now=now, at=lambda money: replace(free, budget=money)
    )


def _ask_loads(solving: _Solving) -> _Asked:
    """Ask from the least load of any plan to what the best loads without limits of weight."""
    choices = solving.choices
    limited = {boat: limits.kg for boat, limits in choices.boats.items() if limits.kg}
    free = _limit_loads(choices, dict.fromkeys(limited, None))
    light = solving.solve(_change_costs(choices, lambda part, c: _DEAR_KILO * part.kg * c.aboard))
    least, most = find_loads(light, choices), find_loads(solving.solve(free), choices)
    one = len(choices.afloat) == 1
    whole: dict[str, float] = dict.fromkeys(choices.afloat, 1.0) if one else limited or most
    whole = {boat: kg for boat, kg in whole.items() if kg > 0.0}
    if not whole:
        return _Asked(against="kg", limits=(), now=None, at=lambda _: choices)
    low, high = (max(load[boat] / kg for boat, kg in whole.items()) for load in (least, most))
    now = choices.boats[choices.afloat[0]].kg if one else 1.0 if limited else None
    return _Asked(
        against="kg" if one else "share of kg",
        limits=_spread(low, high, now),
        now=now,
        at=lambda share: _limit_loads(free, {boat: share * kg for boat, kg in whole.items()}),
    )


def _limit_loads(choices: Choices, kg: Mapping[str, float | None]) -> Choices:
    boats = {
        boat: replace(limits, kg=kg[boat]) if boat in kg else limits
        for boat, limits in choices.boats.items()
    }
    return replace(choices, boats=boats)


def _change_costs(choices: Choices, cost: Callable[[BoatPart, Choice], float]) -> Choices:
    """Return the choices with other later costs, and nothing left worth anything.

    What is then made as small as possible is money now plus that cost.
    """
    parts = tuple(
        replace(
            part,
            leftover=0.0,
            choices=tuple(replace(c, later_cost=cost(part, c)) for c in part.choices),
        )
        for part in choices.parts
    )
    return replace(choices, parts=parts)


def _spread(low: float, high: float, now: float | None) -> tuple[float, ...]:
    """Return the limits to solve at, evenly from low to high, and the one there is now."""
    if high - low <= 1e-9 * max(1.0, abs(high)):
        return ()
    limits = {low + (high - low) * k / (POINTS - 1) for k in range(POINTS - 1)} | {high}
    if now is not None and low < now < high:
        limits.add(now)
    return tuple(sorted(limits))


def _draw(asked: _Asked, solving: _Solving, words: str, on_step: OnStep) -> tuple[CurvePoint, ...]:
    """Solve at every limit, from the tightest on; a limit without a plan is left out."""
    found: list[tuple[float, Solution]] = []
    for number, limit in enumerate(asked.limits, start=1):
        on_step(f"Cost against {words}: point {number} of {len(asked.limits)}")
        before = found[-1][1] if found else None
        try:
            plan = solving.solve(asked.at(limit))
        except (NoPlanError, SolverError):
            # The least limit may be missed by a rounding; later the plan found with less will do.
            if before is None:
                continue
            plan = replace(before, bound=-math.inf)
        if before is not None and before.objective <= plan.objective:
            plan = replace(before, bound=plan.bound)
        found.append((limit, plan))
    bound = -math.inf
    points = []
    for limit, plan in reversed(found):
        bound = min(max(bound, plan.bound), plan.objective)
        points.append(_write_point(limit, plan, bound, solving.choices))
    return tuple(reversed(points))


def _write_point(limit: float, plan: Solution, bound: float, choices: Choices) -> CurvePoint:
    spend_now, later = find_costs(choices, plan.picked, plan.bought, plan.free_freight)
    total = spend_now + later
    return CurvePoint(
        limit=limit,
        total=total,
        spend_now=spend_now,
        expected_later=later,
        bound=bound,
        gap=max(0.0, total - bound) / max(1.0, abs(total)),
        kg=sum(find_loads(plan, choices).values()),
        readiness=_find_readiness(plan, choices),
    )


def _spend(plan: Solution, choices: Choices) -> float:
    return find_costs(choices, plan.picked, plan.bought, plan.free_freight)[0]


def find_loads(plan: Solution, choices: Choices) -> dict[str, float]:
    """Return the kilos of spares that each boat carries, with what meets her on her way."""
    loads = dict.fromkeys(choices.boats, 0.0)
    for part, choice in _list_taken(plan, choices):
        loads[part.boat] += part.kg * choice.aboard
    return loads


def _find_readiness(plan: Solution, choices: Choices) -> float:
    """Return the chance of the least ready boat."""
    safe = dict.fromkeys(choices.boats, 1.0)
    for part, choice in _list_taken(plan, choices):
        if part.stops:
            safe[part.boat] *= 1.0 - choice.shortage_chance
    return min(safe.values(), default=1.0)


def _list_taken(plan: Solution, choices: Choices) -> Iterator[tuple[BoatPart, Choice]]:
    parts = {(part.boat, part.part): part for part in choices.parts}
    for pick in plan.picked:
        part = parts[pick.boat, pick.part]
        yield part, part.choices[pick.choice]
