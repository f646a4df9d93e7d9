"""The program as one model of PuLP's: row by row, for asking what clashes."""

from __future__ import annotations

import pulp

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.program.columns import add_columns
from stockopt.program.constraints import add_constraints
from stockopt.program.needs import list_lines, list_needs
from stockopt.program.objective import build_objective
from stockopt.program.rows import Program


def build_program(choices: Choices) -> Program:
    """Build the whole program, without solving it.

    Parameters
    ----------
    choices
        What can be chosen, and the limits.

    Raises
    ------
    NoPlanError
        Nothing can bring some boat's least pieces aboard in time.
    """
    needs = list_needs(choices)
    if not all(need.options or need.port for need in needs):
        raise NoPlanError(())
    problem = pulp.LpProblem("stockopt", pulp.LpMinimize)
    lines = list_lines(needs, choices)
    columns = add_columns(problem, needs, lines, choices)
    program = Program(problem=problem, choices=choices, needs=needs, lines=lines, columns=columns)
    problem += build_objective(needs, lines, columns, choices)
    add_constraints(program)
    return program
