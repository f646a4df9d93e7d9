"""Many places at once: each solved by itself at a price of money, then put together.

What joins the places is priced: the fleet's budget by one multiplier, found with broken pieces
allowed. At that price each place is solved exactly. Whatever the price, the sum of the places'
bounds less the price of the budget is a bound for the fleet (Lagrangian relaxation; M. L. Fisher,
The Lagrangian relaxation method for solving integer programming problems, Management Science 27,
1981, pages 1-18; from memory). A small program then picks one of the plans found for each place.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace

import numpy as np

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.master import PlacePlan, pick_plans, value_plan
from stockopt.program.multiplier import DEAREST, find_multiplier
from stockopt.program.place_model import LastBasis, PlaceModel, make_place_model, relax_program
from stockopt.program.place_solve import Priced, solve_priced
from stockopt.program.places import split_by_place
from stockopt.program.shared import build_shared, read_shared
from stockopt.program.shared_solve import solve_shared
from stockopt.program.whole import Found

#: Places solved at the same time. The solver works outside Python's lock, on one thread a place.
_AT_ONCE = 2
#: Share of the gap asked that each place may leave by itself.
_OWN_GAP = 0.4
#: Seconds that a place gets for a first plan even where the time is up.
_LEAST_SECONDS = 20.0
#: Share of the time by which it may be exceeded where there is no plan yet that fits together: the
#: first price mostly spends a little more than the budget, and the second mends it.
_OVERTIME = 0.5
#: Prices of money tried after the first.
_MOST_ROUNDS = 6
#: How often, in one round, it is asked whether the gap is reached.
_BATCHES = 4


@dataclass(slots=True, kw_only=True)
class _Search:
    """What is known so far; the only value of this room that changes."""

    choices: Choices
    models: tuple[PlaceModel, ...]
    pool: ThreadPoolExecutor
    gap: float
    seconds: float
    until: float
    plans: list[list[PlacePlan]] = field(init=False)
    spent_relaxed: dict[float, float] = field(default_factory=dict)
    best: tuple[PlacePlan, ...] | None = None
    bound: float = float("-inf")

    def __post_init__(self) -> None:
        self.plans = [[] for _ in self.models]

    @property
    def left(self) -> float:
        """Return the seconds left."""
        return self.until - time.perf_counter()

    @property
    def is_late(self) -> bool:
        """Return whether to stop with what there is."""
        return self.left <= (0.0 if self.best is not None else -_OVERTIME * self.seconds)

    @property
    def is_done(self) -> bool:
        """Return whether the gap asked is proven."""
        if self.best is None:
            return False
        total = _add_up(self.best)
        return total - self.bound <= self.gap * max(1.0, abs(total))


def solve_by_places(choices: Choices, *, gap: float, seconds: float) -> Found:
    """Find the fleet's plan place by place.

    Parameters
    ----------
    choices, gap, seconds
        As for :func:`~stockopt.program.solve.solve_program`.

    Returns
    -------
    Found
        The best plan found, and its bound, whether or not the gap was reached.

    Raises
    ------
    NoPlanError
        Some place by itself cannot keep its limits, or all of them spend more than the budget.
    SolverError
        The time was up before any plan was found that fits together.
    """
    until = time.perf_counter() + seconds
    places = split_by_place(choices)
    if len(places) == 1:
        return _solve_store(choices, gap=gap, seconds=seconds)
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        models = tuple(pool.map(make_place_model, places))
        search = _Search(
            choices=choices, models=models, pool=pool, gap=gap, seconds=seconds, until=until
        )
        _search(search)
        if search.best is None and not search.is_late:
            _spend_least(search)
    if search.best is None:
        raise SolverError(
            f"the solver found no plan within {seconds:g} s; give it more time (setting seconds)"
        )
    picked = [pick for plan in search.best for pick in plan.picked]
    bought = [line for plan in search.best for line in plan.bought]
    return Found(
        picked=tuple(sorted(picked, key=lambda pick: (pick.boat, pick.part))),
        bought=tuple(bought),
        bound=search.bound,
    )


def _solve_store(choices: Choices, *, gap: float, seconds: float) -> Found:
    """Solve a fleet whose boats all share orders; its budget stays a limit of its program."""
    until = time.perf_counter() + seconds
    shared = build_shared(choices)
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        left = max(1.0, until - time.perf_counter())
        priced = solve_shared(shared, 0.0, gap=gap, seconds=left, pool=pool)
    picked, bought = read_shared(shared, priced.values)
    return Found(picked=picked, bought=bought, bound=priced.bound)


def _search(search: _Search) -> None:
    """Solve every place at the first price, then at others until the gap is reached."""
    budget = search.choices.budget
    multiplier = _find_multiplier(search, 0.0)
    spent = _solve_all(search, multiplier, batches=1)
    tried = {multiplier}
    for number in range(_MOST_ROUNDS):
        if search.is_done or search.is_late or budget is None:
            return
        multiplier = _find_multiplier(search, spent - _spend_relaxed(search, multiplier))
        if multiplier in tried or search.best is None:
            multiplier = max(multiplier, *tried) * (1.0 + 0.02 * 2.0**number) + 1e-3
        tried.add(multiplier)
        try:
            spent = _solve_all(search, multiplier, batches=_BATCHES)
        except SolverError:
            # One place had no time left; what was found before still stands.
            if search.best is None:
                raise
            return


def _find_multiplier(search: _Search, more: float) -> float:
    """Find the price at which whole pieces, spending `more` than broken ones, keep the budget."""
    budget = search.choices.budget
    if budget is None:
        return 0.0
    if math.isinf(_spend_relaxed(search, 0.0)):
        raise NoPlanError(())
    found = find_multiplier(lambda price: _spend_relaxed(search, price), budget - more)
    if found >= DEAREST and more == 0.0:
        raise NoPlanError(())
    return found


def _spend_relaxed(search: _Search, multiplier: float) -> float:
    """Return what all places spend in broken pieces at a price; each price is asked once."""
    if multiplier not in search.spent_relaxed:
        relaxed = search.pool.map(
            lambda model: relax_program(model.kept, multiplier), search.models
        )
        search.spent_relaxed[multiplier] = sum(each.spending for each in relaxed)
    return search.spent_relaxed[multiplier]


def _solve_all(search: _Search, multiplier: float, *, batches: int) -> float:
    """Solve all places at one price, looking after each batch whether the gap is reached.

    Returns
    -------
    float
        What all places spend at this price; nothing to go by where it stopped before the last.
    """
    bound = -multiplier * (search.choices.budget or 0.0)
    spent = 0.0
    size = -(-len(search.models) // batches)
    for start in range(0, len(search.models), size):
        if start and search.is_late:
            return spent
        models = search.models[start : start + size]
        solved = search.pool.map(lambda model: _solve_one(search, model, multiplier), models)
        for k, (plan, least) in enumerate(solved, start):
            search.plans[k].append(plan)
            bound += least
            spent += plan.spending
        if start + size >= len(search.models):
            search.bound = max(search.bound, bound)
        if all(search.plans):
            _pick(search)
        if search.is_done:
            return spent
    return spent


def _spend_least(search: _Search) -> None:
    """Find a plan where each place spends the least it can, or that there is none.

    Raises
    ------
    NoPlanError
        Even so the budget does not do.
    """

    def solve(model: PlaceModel) -> tuple[PlacePlan, float]:
        return spend_least(model, gap=_OWN_GAP * search.gap, seconds=_LEAST_SECONDS)

    least = 0.0
    for plans, (plan, spending) in zip(
        search.plans, search.pool.map(solve, search.models), strict=True
    ):
        plans.append(plan)
        least += spending
    _pick(search)
    budget = search.choices.budget
    if search.best is None and budget is not None and least > budget + 1e-6 * max(1.0, budget):
        raise NoPlanError(())


def spend_least(model: PlaceModel, *, gap: float, seconds: float) -> tuple[PlacePlan, float]:
    """Find a place's plan that spends least now, whatever it costs later, and the least proven.

    Parameters
    ----------
    model
        Of the place.
    gap, seconds
        When to stop, as for the whole program.

    Raises
    ------
    NoPlanError
        No plan keeps this place's limits.
    SolverError
        The time was up before any plan was found.
    """
    priced = _solve_model(_price_nothing_else(model), 1.0, gap=gap, seconds=seconds)
    return value_plan(*model.read(priced.values), model.choices), priced.bound


def _price_nothing_else(model: PlaceModel) -> PlaceModel:
    """Return a place's program with no cost but what is spent now at its price."""
    free = replace(model.kept.arrays, cost=np.zeros_like(model.kept.arrays.cost))
    shared = None if model.shared is None else replace(model.shared, arrays=free)
    return replace(model, kept=replace(model.kept, arrays=free, last=LastBasis()), shared=shared)


def _solve_one(search: _Search, model: PlaceModel, multiplier: float) -> tuple[PlacePlan, float]:
    """Solve one place; once the time is up, with little more than its first plan."""
    share = max(1.0, 4.0 * _AT_ONCE * search.left / len(search.models))
    gap = _OWN_GAP * search.gap
    try:
        priced = _solve_model(model, multiplier, gap=gap, seconds=share)
    except SolverError:
        priced = _solve_model(model, multiplier, gap=gap, seconds=max(_LEAST_SECONDS, search.left))
    return value_plan(*model.read(priced.values), model.choices), priced.bound


def _solve_model(model: PlaceModel, multiplier: float, *, gap: float, seconds: float) -> Priced:
    if model.shared is not None:
        return solve_shared(model.shared, multiplier, gap=gap, seconds=seconds)
    return solve_priced(model.kept, multiplier, gap=gap, seconds=seconds)


def _pick(search: _Search) -> None:
    picked = pick_plans(
        search.plans,
        search.choices.budget,
        gap=0.1 * search.gap,
        seconds=min(10.0, max(1.0, search.left)),
    )
    if picked is not None and (search.best is None or _add_up(picked) < _add_up(search.best)):
        search.best = picked


def _add_up(plans: Sequence[PlacePlan]) -> float:
    return sum(plan.total for plan in plans)
