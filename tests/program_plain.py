"""The program as one model of PuLP's, solved and read back: slow, and not the package's way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

import pulp

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.program.columns import Columns
from stockopt.program.highs import QuietHiGHS
from stockopt.program.needs import Need
from stockopt.program.pick import put_together
from stockopt.program.plain import build_program
from stockopt.program.solution import Bought, Picked
from stockopt.program.whole import Found

_Key = TypeVar("_Key")


def solve_plain(choices: Choices, *, gap: float, seconds: float) -> Found:
    """Solve the plain model; errors as for the package's.

    PuLP calls a plan found when the time is up "Optimal", and leaves numbers in the columns where
    there is no plan at all: so what is asked first is whether there is a plan.
    """
    program = build_program(choices)
    problem = program.problem
    problem.solve(QuietHiGHS(gap=gap, seconds=seconds))
    if problem.status == pulp.LpStatusInfeasible:
        raise NoPlanError(())
    if problem.status != pulp.LpStatusOptimal:
        raise SolverError(f"no plan within {seconds:g} s")
    return Found(
        picked=list_picked(program.needs, program.columns, choices),
        bought=list_bought(program.columns),
        bound=problem.solverModel.getInfo().mip_dual_bound,
    )


def list_picked(needs: Sequence[Need], columns: Columns, choices: Choices) -> tuple[Picked, ...]:
    """List the choice taken for every boat's part, and where its pieces come from."""
    options = [
        None
        if need.port
        else max(
            enumerate(need.options), key=lambda numbered: columns.take[i, numbered[0]].varValue
        )[1]
        for i, need in enumerate(needs)
    ]
    brought = [
        {supply: _read(columns.pieces, (i, s)) for s, supply in enumerate(need.supplies)}
        for i, need in enumerate(needs)
    ]
    return put_together(
        needs,
        options,
        brought,
        own={i: _round(column) for i, column in columns.own.items()},
        given={i: _round(column) for i, column in columns.give.items()},
        near={i: _round(column) for i, column in columns.near.items()},
        choices=choices,
    )


def list_bought(columns: Columns) -> tuple[Bought, ...]:
    """List the order lines, sorted by place, source and part."""
    return tuple(
        Bought(place=place, offer=offer, packs=packs)
        for (place, offer), column in columns.packs.items()
        if (packs := _round(column)) > 0
    )


def _read(columns: Mapping[_Key, pulp.LpVariable], key: _Key) -> int:
    column = columns.get(key)
    return 0 if column is None else _round(column)


def _round(column: pulp.LpVariable) -> int:
    return round(float(column.varValue))
