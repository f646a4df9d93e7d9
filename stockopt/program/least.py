"""Whether a plan exists at all, and the least it spends, for fleets of any size.

Asked place by place, as places share nothing but the fleet's budget. What is known of a place is
kept: where one boat's limit is changed, only her place is asked again.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import repeat

import numpy as np

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.decompose import spend_least
from stockopt.program.place_model import make_place_model
from stockopt.program.places import split_by_place
from stockopt.program.shared import build_shared
from stockopt.program.shared_solve import solve_shared
from stockopt.program.slack import Eased, OutOfTime

#: Share of the time left that one program of a place may take.
_EACH_SHARE = 0.25
#: Places asked at the same time, as in :mod:`stockopt.program.decompose`.
_AT_ONCE = 2
#: Choices and offers above which limits are not eased in one program.
MANY = 6_000
#: How near to the least that a place must spend it is asked for, as a share: at first, where a
#: plan tells enough, and then in the time that is left. A boat of 60 parts takes 0.03 s and 1 s.
_ROUGHLY, _NEAR = 5e-2, 1e-5
#: How near to the greatest readiness of many boats together.
_SAFE_NEAR = 1e-2
#: Most times that boats are weighed anew so that the least ready gets readier.
_MOST_WEIGHINGS = 4
#: A readiness that is as good as none, with which it is still known which choice is safer.
_ANY_READINESS = 1e-6
#: Share of a budget by which it may be exceeded: the solver's own tolerance.
_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Least:
    """What a plan that is known spends now, and what is proven that every plan spends."""

    known: float
    proven: float

    @property
    def is_near(self) -> bool:
        """Return whether the two are as near as is asked."""
        return self.known - self.proven <= _NEAR * max(1.0, self.known)


@dataclass(frozen=True, slots=True, kw_only=True)
class Safest:
    """The least ready boat of the safest plan known for many boats, and how ready she is."""

    boat: str
    readiness: float


@dataclass(slots=True, kw_only=True)
class Spending:
    """What each place must spend, as far as it was asked; None where it has no plan."""

    known: dict[object, tuple[Choices, Least | None]] = field(default_factory=dict)

    def find_least(self, choices: Choices, *, until: float) -> Least:
        """Return about the least that all places spend together, whatever the fleet's budget.

        Raises
        ------
        NoPlanError
            Some place cannot keep its limits.
        OutOfTime
            It is not known at `until`, by :func:`time.perf_counter`.
        """
        places = split_by_place(choices)
        self._ask([place for place in places if _name_place(place) not in self.known], until)
        return self._add_up(places)

    def refine(self, choices: Choices, *, until: float) -> Least:
        """Return the least that all places spend, asked more nearly as long as there is time."""
        places = split_by_place(choices)
        rough = [place for place in places if not self._find(place).is_near]
        with suppress(OutOfTime):
            self._ask(rough, until, gap=_NEAR)
        return self._add_up(places)

    def is_possible(self, choices: Choices, *, until: float) -> bool:
        """Return whether a plan keeps all limits.

        Raises
        ------
        OutOfTime
            It is not known.
        """
        if not choices.parts:
            return True
        try:
            if choices.size <= MANY:
                return Eased(choices).is_possible((), seconds=_find_left(until))
            least = self.find_least(choices, until=until)
        except NoPlanError:
            return False
        if choices.budget is None:
            return True
        if not _is_decided(least, choices.budget):
            least = self.refine(choices, until=until)
        if least.known <= _allow(choices.budget):
            return True
        if least.proven > _allow(choices.budget):
            return False
        raise OutOfTime

    def _ask(self, places: Sequence[Choices], until: float, *, gap: float = _ROUGHLY) -> None:
        """Ask what places spend, two at a time, in place of what was known of them."""
        with ThreadPoolExecutor(_AT_ONCE) as pool:
            asked = pool.map(_spend_least, places, repeat(gap), repeat(until))
            for place, least in zip(places, asked, strict=True):
                # The choices are kept with it, so that no other part gets the same id.
                self.known[_name_place(place)] = (place, least)

    def _find(self, place: Choices) -> Least:
        least = self.known[_name_place(place)][1]
        if least is None:
            raise NoPlanError(())
        return least

    def _add_up(self, places: Sequence[Choices]) -> Least:
        found = [self._find(place) for place in places]
        return Least(
            known=sum(each.known for each in found), proven=sum(each.proven for each in found)
        )


def _is_decided(least: Least, budget: float) -> bool:
    return least.known <= _allow(budget) or least.proven > _allow(budget)


def _allow(budget: float) -> float:
    return budget + _TOLERANCE * max(1.0, budget)


def _name_place(place: Choices) -> object:
    """Return what tells one place's choices from others: the same parts, and equal limits."""
    return (
        *(id(part) for part in place.parts),
        *(frozenset(each.items()) for each in (place.boats, place.charges, place.stock)),
        place.readiness,
    )


def _spend_least(place: Choices, gap: float, until: float) -> Least | None:
    try:
        _find_left(until)
        model = make_place_model(place)
        # A place may take several programs, each with these seconds.
        plan, proven = spend_least(model, gap=gap, seconds=_EACH_SHARE * _find_left(until))
    except NoPlanError:
        return None
    except SolverError as error:
        raise OutOfTime from error
    return Least(known=plan.spending, proven=min(proven, plan.spending))


def _find_left(until: float) -> float:
    """Return the seconds left; raise OutOfTime where there are none."""
    left = until - time.perf_counter()
    if left <= 0.0:
        raise OutOfTime
    return left


def find_safest(choices: Choices, *, until: float) -> Safest:
    """Find how ready many boats can be with all other limits, but no budget of the fleet.

    First all of them together are made the least likely to run short; then those that fall short of
    the readiness asked weigh more, and the others less, as long as there is time.

    Raises
    ------
    NoPlanError
        Not even without readiness is there a plan.
    OutOfTime
        None was found.
    """
    shared = build_shared(replace(choices, readiness=_ANY_READINESS, budget=None))
    owner = shared.boat[shared.need]
    risk = np.array(
        [
            -math.log(max(1.0 - part.choices[choice].shortage_chance, _ANY_READINESS))
            if part.stops
            else 0.0
            for part, choice in zip(
                (shared.needs[i].part for i in shared.need), shared.choice.tolist(), strict=True
            )
        ]
    )
    boats = sorted({need.part.boat for need in shared.needs})
    allowed = -math.log(min(choices.readiness or 0.5, 1.0 - _ANY_READINESS))
    weight = np.ones(len(boats))
    best: Safest | None = None
    for _ in range(_MOST_WEIGHINGS):
        started = time.perf_counter()
        cost = np.zeros_like(shared.arrays.cost)
        cost[shared.first_option :] = risk * weight[owner]
        safe = replace(shared, arrays=replace(shared.arrays, cost=cost))
        try:
            priced = solve_shared(safe, 0.0, gap=_SAFE_NEAR, seconds=_find_left(until))
        except (SolverError, OutOfTime) as error:
            if best is None:
                raise OutOfTime from error
            break
        taken = priced.values[shared.first_option :] > 0.5
        run = np.bincount(owner[taken], weights=risk[taken], minlength=len(boats))
        found = Safest(boat=boats[int(run.argmax())], readiness=math.exp(-float(run.max())))
        if best is None or found.readiness > best.readiness:
            best = found
        if time.perf_counter() + 2.0 * (time.perf_counter() - started) > until:
            break
        weight *= np.clip(run / allowed, 0.2, 5.0)
    if best is None:
        raise OutOfTime
    return best
