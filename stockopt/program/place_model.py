"""One place's program, kept in the solver to be solved at many prices of money.

Straight in the solver, since building it anew with PuLP for every price would take several times
as long as solving it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt

from stockopt.choices.choices import Choices
from stockopt.errors import SolverError
from stockopt.program.alone import (
    build_alone,
    is_alone,
    list_alone_spending,
    make_reader,
    read_alone,
)
from stockopt.program.highs import hand_over
from stockopt.program.pick import list_bought, list_picked
from stockopt.program.plain import build_program, list_spending
from stockopt.program.rows import Program, Term
from stockopt.program.solution import Bought, Picked

Values = npt.NDArray[np.float64]
Read = Callable[[Values], tuple[tuple[Picked, ...], tuple[Bought, ...]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceModel:
    """One place's program in the solver.

    Parameters
    ----------
    choices
        Of this place.
    solver
        HiGHS with the model in it, set to allow broken pieces; it starts from its last solution.
    cost, spending
        By column: what it costs in all, and the part of it that is spent now.
    tight
        Whether broken pieces come near to whole ones.
    read
        Reads what is picked and bought from the values of the columns.
    """

    choices: Choices
    solver: highspy.Highs
    cost: Values
    spending: Values
    tight: bool
    read: Read


@dataclass(frozen=True, slots=True, kw_only=True)
class Relaxed:
    """The best plan in broken pieces at a price of money; infeasible: cost and spending inf.

    Parameters
    ----------
    cost, spending
        At that price, and what is spent now without it.
    values, reduced_costs
        By column.
    """

    cost: float
    spending: float
    values: Values
    reduced_costs: Values


def make_place_model(choices: Choices) -> PlaceModel:
    """Build the program of one place and hand it to the solver.

    Raises
    ------
    NoPlanError
        Nothing can bring some boat's least pieces aboard in time.
    """
    if is_alone(choices):
        alone = build_alone(choices)
        solver = hand_over(alone.program.problem)
        reader = make_reader(alone)
        spending = _sum_by_column(list_alone_spending(alone), solver.getNumCol())
        return _set_up(
            choices, solver, spending, lambda values: read_alone(reader, values), tight=True
        )
    program = build_program(choices)
    solver = hand_over(program.problem)
    spending = _sum_by_column(list_spending(program), solver.getNumCol())
    return _set_up(
        choices, solver, spending, lambda values: _read_program(program, values), tight=False
    )


def _set_up(
    choices: Choices, solver: highspy.Highs, spending: Values, read: Read, *, tight: bool
) -> PlaceModel:
    solver.setOptionValue("solve_relaxation", True)
    cost = np.array(solver.getLp().col_cost_)
    return PlaceModel(
        choices=choices, solver=solver, cost=cost, spending=spending, tight=tight, read=read
    )


def _sum_by_column(terms: list[Term], columns: int) -> Values:
    sums = np.zeros(columns)
    for column, money in terms:
        sums[column.index] += money
    return sums


def _read_program(
    program: Program, values: Values
) -> tuple[tuple[Picked, ...], tuple[Bought, ...]]:
    for column in program.problem.variables():
        column.varValue = float(values[column.index])
    return list_picked(program.needs, program.columns), list_bought(program.columns)


def relax_place(model: PlaceModel, multiplier: float) -> Relaxed:
    """Solve one place in broken pieces, where money spent now costs `multiplier` more.

    Raises
    ------
    SolverError
        The solver ended in a way that a linear program of ours cannot.
    """
    solver = model.solver
    columns = len(model.cost)
    priced = model.cost + multiplier * model.spending
    solver.changeColsCost(columns, np.arange(columns, dtype=np.int32), priced)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        nothing = np.zeros(0)
        return Relaxed(cost=math.inf, spending=math.inf, values=nothing, reduced_costs=nothing)
    if status != highspy.HighsModelStatus.kOptimal:
        raise SolverError(f"the solver ended a linear program with {status.name}")
    solution = solver.getSolution()
    values = np.array(solution.col_value)
    return Relaxed(
        cost=float(priced @ values),
        spending=float(model.spending @ values),
        values=values,
        reduced_costs=np.array(solution.col_dual),
    )
