"""What every rule is written from, and how a row is added to the program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import pulp

from stockopt.choices.choices import Choices
from stockopt.program.columns import Columns
from stockopt.program.needs import Line, Need
from stockopt.sourcing import Offer

Term = tuple[pulp.LpVariable, float]


class Sense(IntEnum):
    """How the sum of a row stands to its limit."""

    AT_MOST = pulp.LpConstraintLE
    EQUAL = pulp.LpConstraintEQ
    AT_LEAST = pulp.LpConstraintGE


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What every rule is written from."""

    problem: pulp.LpProblem
    choices: Choices
    needs: Sequence[Need]
    lines: dict[tuple[str, Offer], Line]
    columns: Columns

    @property
    def by_boat(self) -> dict[str, list[int]]:
        """Return the positions of each boat's needs, sorted by boat."""
        positions: dict[str, list[int]] = {}
        for i, need in enumerate(self.needs):
            positions.setdefault(need.part.boat, []).append(i)
        return positions

    def add(self, name: str, terms: Sequence[Term], sense: Sense, limit: float) -> None:
        """Add one row: sum of column times factor, against `limit`; none where nothing counts."""
        if not terms:
            return
        row = pulp.LpConstraint(pulp.LpAffineExpression(terms), int(sense), name, limit)
        self.problem.addConstraint(row)
