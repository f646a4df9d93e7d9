"""The same program with its limits eased at a price: what each must give so that a plan exists.

Slacks of different units are weighed by how much of the limit they are: 12 kg over a limit of
120 kg weigh as much as 10 % over a budget, or as 10 % more of the risk that the readiness asked
allows. What the market sets (packs to be had, a least order, stock) weighs 100 times as much, as
nobody aboard can change it, and a floor 1,000 times: it gives way only where nothing else helps.
A number that was asked for gives way long before a floor.
One kind of limit by itself is eased in its own unit.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import highspy
import numpy as np
import pulp

from stockopt.choices.choices import BoatPart, Choices
from stockopt.errors import LimitKind
from stockopt.program.highs import hand_over
from stockopt.program.loosen import find_least_carried, list_lowered, loosen
from stockopt.program.plain import build_program
from stockopt.program.rows import Limit, Program

#: How much more than a limit of one's own weigh what the market sets, and a floor.
_MARKET, _FLOOR = 100.0, 1_000.0
#: Of a floor's weight: a piece of a number that was asked for above the floor.
_PIN = 0.01
#: What a share of 1 costs where several limits are eased: the solver tells 1e-6 of it apart.
_SCALE = 1_000.0
#: Share by which a least change may be missed: a cent in a thousand.
_NEAR = 1e-5
#: Least chance of no shortage that is told from none.
_NEVER = 1e-12


class Ease(NamedTuple):
    """Limits that are eased as one: all of a kind, or one boat's where each has her own."""

    kind: LimitKind
    boat: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slack:
    """One column that eases a row, or a take column below a floor.

    Parameters
    ----------
    column
        Its position.
    most
        Its greatest value.
    price, weighed
        Of one unit: among its own kind, and among all kinds.
    """

    column: int
    most: float
    price: float
    weighed: float


class Moved(NamedTuple):
    """A limit that had to give: what it is, its value, and the least change of it.

    Not `proven` where the time was up: it is enough then, and a little less may be too. `pinned`
    where the pieces to carry are a number that was asked for, and no floor.
    """

    limit: Limit | None
    boat: str
    part: str
    value: float
    needed: float
    proven: bool = True
    pinned: bool = False

    @classmethod
    def of_fleet_budget(cls, value: float, needed: float) -> Moved:
        """Return the fleet's budget as it is, and as it must be."""
        return cls(Limit(kind="fleet budget"), "", "", value, needed)


class OutOfTime(Exception):  # noqa: N818 - it is no fault
    """The solver stopped before it was known whether there is a plan."""


class Eased:
    """A program whose limits can be eased, each by itself or several at once.

    Parameters
    ----------
    choices
        With the limits as they are; stock and offers bring every boat's least pieces.
    """

    def __init__(self, choices: Choices) -> None:
        loosened = loosen(choices)
        self._choices = choices
        self._lowered = list_lowered(loosened)
        self._program = build_program(loosened.choices)
        columns = self._add_slacks(self._program, loosened.more)
        self._solver = hand_over(self._program.problem)
        self._slacks = {
            ease: tuple(
                Slack(column=c.index, most=most, price=price, weighed=weighed)
                for c, most, price, weighed in of_ease
            )
            for ease, of_ease in sorted(columns.items())
        }
        self._solver.setOptionValue("mip_rel_gap", _NEAR)
        self._solver.setOptionValue("mip_abs_gap", 0.0)

    @property
    def eases(self) -> tuple[Ease, ...]:
        """Return everything that can be eased, sorted."""
        return tuple(self._slacks)

    def is_possible(self, eases: Collection[Ease], *, seconds: float) -> bool:
        """Return whether a plan exists where `eases` are no limit at all.

        Raises
        ------
        OutOfTime
            It is not known.
        """
        return self._solve(eases, seconds=seconds, priced=False) is not None

    def find_least(self, eases: Collection[Ease], *, seconds: float) -> list[Moved] | None:
        """Return what gives where only `eases` may, by the least; None where that is no help.

        Raises
        ------
        OutOfTime
            The least is not known.
        """
        if self._solve(eases, seconds=seconds, priced=False, broken=True) is None:
            return None
        values = self._solve(eases, seconds=seconds, priced=True)
        if values is None:
            return None
        proven = self._solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
        moved = [each._replace(proven=proven) for each in self._read(values, eases)]
        return sorted(moved, key=lambda each: each[1:])

    def weigh(self, moved: Collection[Moved]) -> float:
        """Return how much changes weigh together, by the rule of this file."""
        return sum(_weigh(each, self._choices.readiness) for each in moved)

    def find_greatest_risk(self, boat: str) -> str:
        """Return the stopping part of a boat that is likeliest to run short even at best."""
        chances = {
            need.part.part: min(option.choice.shortage_chance for option in need.options)
            for need in self._program.needs
            if need.part.boat == boat and need.part.stops and need.options
        }
        return max(sorted(chances), key=lambda part: chances[part], default="")

    def _add_slacks(
        self, program: Program, more: Mapping[Limit, float]
    ) -> dict[Ease, list[tuple[pulp.LpVariable, float, float, float]]]:
        columns: dict[Ease, list[tuple[pulp.LpVariable, float, float, float]]] = defaultdict(list)
        shared: dict[Ease, pulp.LpVariable] = {}
        for number, (limit, row) in enumerate(program.kept):
            whole = limit.kind in ("most", "stock")
            added = self._count_added(limit, more) if whole else math.inf
            if not added:
                continue
            if whole:
                row.constant += added
            if limit.kind == "readiness":
                self._tell_true_shares(program, limit, row)
            ease = find_ease(limit)
            column = shared.get(ease)
            if column is None:
                kind = pulp.LpInteger if whole else pulp.LpContinuous
                column = program.problem.add_variable(f"s{number:07d}", 0, None, kind)
                value = 1.0 if limit.kind == "readiness" else abs(_find_value(limit, row, program))
                weighed = 1.0 / max(value, 1.0)
                if limit.kind in ("most", "stock", "minimum_order"):
                    weighed *= _MARKET
                columns[ease].append((column, added, 1.0, weighed))
                if limit.kind == "readiness":
                    shared[ease] = column
            row.expr.addterm(column, 1.0 if limit.kind == "minimum_order" else -1.0)
        for (i, j), short in self._list_short(program):
            take, part = program.columns.take[i, j], program.needs[i].part
            price = _price_short(part, short)
            columns[Ease("carry_at_least")].append((take, 1.0, price, _FLOOR * price))
        return columns

    def _count_added(self, limit: Limit, more: Mapping[Limit, float]) -> float:
        """Count what was added to a row: to the stock of every store that it is over."""
        if limit.kind == "most":
            return more.get(limit, 0.0)
        harbour = {place.place: place.harbour for place in self._choices.boats.values()}
        shared = harbour.get(limit.place, "")
        return sum(
            pieces
            for added, pieces in more.items()
            if (added.kind, added.part) == (limit.kind, limit.part)
            and (added.place == limit.place or (shared and harbour[added.place] == shared))
        )

    def _list_short(self, program: Program) -> Iterator[tuple[tuple[int, int], float]]:
        """List the options that carry less than the floor or the pin, with the pieces short."""
        for i, need in enumerate(program.needs):
            known = self._lowered.get((need.part.boat, need.part.part))
            for j, option in enumerate(need.options):
                if known is not None and option.index >= known.first:
                    yield (i, j), float(known.floor - option.choice.carry)

    def _tell_true_shares(self, program: Program, limit: Limit, row: pulp.LpConstraint) -> None:
        """Set the shares of the risk that were cut, as more than all of it is now allowed."""
        allowed = -math.log(min(self._choices.readiness or 0.5, 1.0 - _NEVER))
        for i in program.by_boat[limit.boat]:
            if program.needs[i].part.stops:
                for j, option in enumerate(program.needs[i].options):
                    column = program.columns.take[i, j]
                    if column in row.expr:
                        kept = max(1.0 - option.choice.shortage_chance, _NEVER)
                        row.expr[column] = -math.log(kept) / allowed

    def _solve(
        self,
        eases: Collection[Ease],
        *,
        seconds: float,
        priced: bool,
        broken: bool = False,
    ) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
        """Solve with `eases` at their price, or free of charge; None where there is no plan."""
        if seconds <= 0.0:
            raise OutOfTime
        solver = self._solver
        count = solver.getNumCol()
        cost = np.zeros(count)
        upper = np.array(solver.getLp().col_upper_)
        for ease, slacks in self._slacks.items():
            for slack in slacks:
                upper[slack.column] = slack.most if ease in eases else 0.0
                if priced and ease in eases:
                    alone = len(eases) == 1
                    cost[slack.column] = slack.price if alone else _SCALE * slack.weighed
        every = np.arange(count, dtype=np.int32)
        solver.changeColsCost(count, every, cost)
        solver.changeColsBounds(count, every, np.zeros(count), upper)
        solver.setOptionValue("solve_relaxation", broken)
        solver.setOptionValue("time_limit", solver.getRunTime() + seconds)
        solver.clearSolver()
        solver.run()
        status = solver.getModelStatus()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None
        found = solver.getInfo().primal_solution_status
        if found != highspy.SolutionStatus.kSolutionStatusFeasible:
            raise OutOfTime
        return np.array(solver.getSolution().col_value)

    def _read(
        self, values: np.ndarray[tuple[int], np.dtype[np.float64]], eases: Collection[Ease]
    ) -> Iterator[Moved]:
        """Read from whole columns what each row needs."""
        program = self._program
        slack_columns = {slack.column for of in self._slacks.values() for slack in of} - {
            column.index for column in program.columns.take.values()
        }
        safe = 1.0
        for limit, row in program.kept:
            if find_ease(limit) not in eases:
                continue
            used = sum(
                factor * round(float(values[column.index]))
                for column, factor in row.expr.items()
                if column.index not in slack_columns
            )
            if limit.kind == "readiness":
                asked = min(self._choices.readiness or 0.5, 1.0 - _NEVER)
                safe = min(safe, math.exp(math.log(asked) * used))
                continue
            value = _find_value(limit, row, program)
            needed = used if limit.kind != "minimum_order" else value + used
            missing = value - needed if limit.kind == "minimum_order" else needed - value
            if missing > 1e-9 * max(1.0, abs(value)):
                yield Moved(limit, limit.boat, limit.part, value, needed)
        if Ease("readiness") in eases and safe < (self._choices.readiness or 0.0) * (1.0 - 1e-9):
            yield Moved(Limit(kind="readiness"), "", "", self._choices.readiness or 0.0, safe)
        if Ease("carry_at_least") in eases:
            for (i, j), short in self._list_short(program):
                if values[program.columns.take[i, j].index] > 0.5:
                    part = program.needs[i].part
                    least = find_least_carried(part)
                    asked = part.pin is not None and least - short >= part.floor
                    yield Moved(None, part.boat, part.part, least, least - short, pinned=asked)


def _price_short(part: BoatPart, short: float) -> float:
    """Return the price of so many pieces below what must be carried: 1 each below a floor."""
    below_floor = max(0.0, part.floor - (find_least_carried(part) - short))
    return below_floor + _PIN * (short - below_floor)


def find_ease(limit: Limit) -> Ease:
    """Return with which others a limit is eased."""
    own = limit.kind in ("kg", "litres", "boat budget")
    return Ease(limit.kind, limit.boat if own else "")


def _find_value(limit: Limit, row: pulp.LpConstraint, program: Program) -> float:
    if limit.kind == "minimum_order":
        return program.choices.charges[limit.source, limit.place].minimum_order or 0.0
    return float(-row.constant)


def _weigh(moved: Moved, readiness: float | None) -> float:
    """Return how much one change weighs: its share of the limit, times that of its kind."""
    if moved.limit is None:
        return (_PIN if moved.pinned else 1.0) * _FLOOR * (moved.value - moved.needed)
    if moved.limit.kind == "readiness":
        asked = min(readiness or 0.5, 1.0 - _NEVER)
        return math.log(max(moved.needed, _NEVER)) / math.log(asked) - 1.0
    share = abs(moved.needed - moved.value) / max(abs(moved.value), 1.0)
    market = moved.limit.kind in ("most", "stock", "minimum_order")
    return share * (_MARKET if market else 1.0)
