"""What can go wrong, in words for the person at the dock.

::

    StockoptError          exit code
    ├── InputError         1  the tables need mending; every problem is listed
    ├── CommandError       2  the command line names what the tables do not hold
    ├── NoPlanError        3  no plan keeps all the limits
    └── SolverError        4  the solver stopped without a plan

2 is also the command line's own code for a wrong command.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar, Literal

EXIT_INPUT = 1
EXIT_COMMAND = 2
EXIT_NO_PLAN = 3
EXIT_SOLVER = 4


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Problem:
    """One thing in the tables that stops the run.

    Parameters
    ----------
    table
        File or sheet as the person knows it, such as ``parts.csv`` or ``parts``.
    row
        Row as a spreadsheet shows it (the header is row 1); None when the whole table is meant.
    column
        Column as written in the table; empty when the whole row is meant.
    value
        What was found, as text; empty when nothing was.
    expected
        What is wrong and what would be right, as a sentence without a full stop.
    """

    table: str
    row: int | None = None
    column: str = ""
    value: str = ""
    expected: str

    def __str__(self) -> str:
        """Return the problem as one line: where, what was found, what would be right."""
        where = [self.table]
        if self.row is not None:
            where.append(f"row {self.row}")
        if self.column:
            where.append(f"column {self.column}")
        found = f" '{self.value}'" if self.value else ""
        return f"{', '.join(where)}:{found} {self.expected}".replace(":  ", ": ")


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Note:
    """One doubtful thing in the data that was worked round, and how.

    Fields as in :class:`Problem`; `text` says what was found and what was done about it.
    """

    table: str
    row: int | None = None
    column: str = ""
    text: str


class StockoptError(Exception):
    """Any error that stockopt explains to the person; the others are bugs."""

    exit_code: ClassVar[int] = EXIT_INPUT


class InputError(StockoptError):
    """The tables need mending.

    Parameters
    ----------
    problems
        Everything that is wrong, in the order in which a person would mend it.
    """

    exit_code: ClassVar[int] = EXIT_INPUT

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in problems))


#: What can be changed so that a plan exists: limits of a boat (kg, litres, boat budget, her day
#: of departure), of the fleet (fleet budget, readiness), what must be carried (carry_at_least),
#: and what the market or a store sets (most, minimum_order, stock).
LimitKind = Literal[
    "kg",
    "litres",
    "boat budget",
    "fleet budget",
    "readiness",
    "departs_on",
    "carry_at_least",
    "most",
    "minimum_order",
    "stock",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One limit, and the least that it must give so that a plan exists.

    Parameters
    ----------
    limit
        Which kind of limit.
    boat, source, place, part
        Of what; blank where it is of none.
    pack
        Pieces in a pack, for ``most``.
    unit
        kg, litres, the plan's currency, share, pieces, packs or days.
    value, needed
        The limit as it is, and as it must be; for ``departs_on`` the days she must wait.
    text
        What to do, in words, without a full stop.
    proven
        False where it is enough, but a little less may be too.
    checked
        False where it was not asked whether a plan with it keeps every limit of the whole fleet.
    """

    limit: LimitKind
    boat: str = ""
    source: str = ""
    place: str = ""
    part: str = ""
    pack: int = 1
    unit: str
    value: float
    needed: float
    text: str
    proven: bool = True
    checked: bool = True

    @property
    def over(self) -> float:
        """By how much what is needed misses the limit."""
        return abs(self.needed - self.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Limits that no plan keeps together, and what mends that.

    Parameters
    ----------
    text
        Which limits clash and by how much, in words, without a full stop.
    remedies
        Each mends it by itself, the least change first; the changes of one remedy are made
        together. Empty where none is known.
    """

    text: str
    remedies: tuple[tuple[Change, ...], ...] = ()


class CommandError(StockoptError):
    """The command line asks what the tables do not allow.

    Parameters
    ----------
    wrong
        Everything that is wrong, each with its option, as a sentence without a full stop.
    """

    exit_code: ClassVar[int] = EXIT_COMMAND

    def __init__(self, wrong: list[str]) -> None:
        self.wrong = tuple(wrong)
        super().__init__("\n".join(wrong))


class NoPlanError(StockoptError):
    """No plan keeps all the limits; the message says which limits clash and what mends it."""

    exit_code: ClassVar[int] = EXIT_NO_PLAN

    def __init__(self, clashes: Iterable[Clash]) -> None:
        self.clashes = tuple(clashes)
        super().__init__("\n".join(clash.text for clash in self.clashes))


class SolverError(StockoptError):
    """The solver stopped without a plan, within its time or at all."""

    exit_code: ClassVar[int] = EXIT_SOLVER
