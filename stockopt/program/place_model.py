"""One place's program, kept as arrays to be solved at many prices of money.

The solver's own state of thousands of places does not fit in memory, so what is kept of it is the
last basis alone: started from there, most relaxed programs take a few steps.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import highspy
import numpy as np

from stockopt.choices.choices import Choices
from stockopt.errors import SolverError
from stockopt.program.alone import build_alone, is_alone, read_alone
from stockopt.program.arrays import Arrays, Values, start_solver
from stockopt.program.shared import SharedProgram, build_shared, read_shared
from stockopt.program.solution import Bought, Picked

Read = Callable[[Values], tuple[tuple[Picked, ...], tuple[Bought, ...]]]


@dataclass(slots=True, kw_only=True, eq=False)
class LastBasis:
    """Where the solver left off; the only thing about a place's model that changes."""

    basis: highspy.HighsBasis | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptProgram:
    """A program kept to be solved at many prices of money.

    Parameters
    ----------
    arrays
        The program.
    tight
        Whether broken pieces come near to whole ones.
    last
        Where the last relaxed program ended.
    """

    arrays: Arrays
    tight: bool
    last: LastBasis = field(default_factory=LastBasis)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlaceModel:
    """One place's program.

    Parameters
    ----------
    choices
        Of this place.
    kept
        The program.
    read
        Reads what is picked and bought from the values of the columns.
    shared
        What the columns stand for where several boats share orders; None elsewhere.
    """

    choices: Choices
    kept: KeptProgram
    read: Read
    shared: SharedProgram | None = None


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
        return PlaceModel(
            choices=choices,
            kept=KeptProgram(arrays=alone.arrays, tight=True),
            read=lambda values: read_alone(alone, values),
        )
    shared = build_shared(choices)
    return PlaceModel(
        choices=choices,
        kept=KeptProgram(arrays=shared.arrays, tight=False),
        read=lambda values: read_shared(shared, values),
        shared=shared,
    )


def relax_program(model: KeptProgram, multiplier: float) -> Relaxed:
    """Solve a program in broken pieces, where money spent now costs `multiplier` more.

    Raises
    ------
    SolverError
        The solver ended in a way that a linear program of ours cannot.
    """
    arrays = model.arrays
    priced = arrays.cost + multiplier * arrays.spending
    solver = start_solver(arrays, priced, whole=False)
    if model.last.basis is not None:
        solver.setBasis(model.last.basis)
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        nothing = np.zeros(0)
        return Relaxed(cost=math.inf, spending=math.inf, values=nothing, reduced_costs=nothing)
    if status != highspy.HighsModelStatus.kOptimal:
        raise SolverError(f"the solver ended a linear program with {status.name}")
    model.last.basis = solver.getBasis()
    solution = solver.getSolution()
    values = np.array(solution.col_value)
    return Relaxed(
        cost=float(priced @ values),
        spending=float(arrays.spending @ values),
        values=values,
        reduced_costs=np.array(solution.col_dual),
    )
