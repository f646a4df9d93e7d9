"""What every rule is written from, and how a row is added to the program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Literal

import pulp

from stockopt.choices.choices import Choices
from stockopt.program.columns import Columns
from stockopt.program.needs import Line, Need
from stockopt.sourcing import Offer

Term = tuple[pulp.LpVariable, float]

Kind = Literal[
    "kg", "litres", "boat budget", "fleet budget", "readiness", "minimum_order", "most", "stock"
]


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Limit:
    """A limit that somebody set, or the market sets; what it is not of is left blank."""

    kind: Kind
    boat: str = ""
    source: str = ""
    place: str = ""
    part: str = ""
    pack: int = 1


class Sense(IntEnum):
    """How the sum of a row stands to its limit."""

    AT_MOST = pulp.LpConstraintLE
    EQUAL = pulp.LpConstraintEQ
    AT_LEAST = pulp.LpConstraintGE


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What every rule is written from.

    `kept` has the rows that keep a limit, so that they can be eased where no plan keeps them all.
    """

    problem: pulp.LpProblem
    choices: Choices
    needs: Sequence[Need]
    lines: dict[tuple[str, Offer], Line]
    columns: Columns
    kept: list[tuple[Limit, pulp.LpConstraint]] = field(default_factory=list)

    @property
    def by_boat(self) -> dict[str, list[int]]:
        """Return the positions of each boat's needs, sorted by boat."""
        positions: dict[str, list[int]] = {}
        for i, need in enumerate(self.needs):
            positions.setdefault(need.part.boat, []).append(i)
        return positions

    def add(
        self,
        name: str,
        terms: Sequence[Term],
        sense: Sense,
        limit: float,
        *,
        keeps: Limit | None = None,
    ) -> None:
        """Add one row: sum of column times factor, against `limit`; none where nothing counts.

        Names begin with a running number, as PuLP takes "Sea Fox" and "Sea-Fox" for one name.
        """
        if not terms:
            return
        name = f"r{self.problem.numConstraints():07d}_{name}"
        row = pulp.LpConstraint(pulp.LpAffineExpression(terms), int(sense), name, limit)
        self.problem.addConstraint(row)
        if keeps is not None:
            self.kept.append((keeps, row))
