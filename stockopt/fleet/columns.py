"""What a column and a table are: the vocabulary in which tables.py is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import KW_ONLY, dataclass
from typing import Literal

ColumnKind = Literal["text", "number", "whole", "share", "date"]
Holds = Literal[
    "", "boat", "machine", "model", "part", "port", "store", "place", "source", "family", "currency"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherUnit:
    """Another heading for a column, in another unit.

    Parameters
    ----------
    name
        The other heading.
    factor
        What a number under it is multiplied by.
    """

    name: str
    factor: float


@dataclass(frozen=True, slots=True)
class Column:
    """One column of one table.

    Parameters
    ----------
    name
        As written in the header.
    help
        One line for the person who fills it in, with the unit.
    kind
        text, number, whole (number of pieces), share (0.05 or 5%) or date.
    holds
        What a text names, which decides what it is compared with; "" for free text.
    required
        A cell may not be blank.
    default
        Taken where a cell is blank; None for no default.
    choices
        The words allowed; empty for any text.
    least, most
        Smallest and largest value allowed; None for no limit.
    above
        The value must be greater than this; None for no such limit.
    below
        The value must be less than this; None for no such limit.
    other
        A heading in another unit that may stand instead of this one; None for none.
    """

    name: str
    help: str
    _: KW_ONLY
    kind: ColumnKind = "text"
    holds: Holds = ""
    required: bool = False
    default: str | float | int | None = None
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    above: float | None = None
    below: float | None = None
    other: OtherUnit | None = None

    def find(self, headings: Sequence[str]) -> str | None:
        """Return which of the headings of a sheet is this column's, None where none is."""
        for name in self.headings:
            if name in headings:
                return name
        return None

    @property
    def headings(self) -> tuple[str, ...]:
        """Return the headings it may stand under."""
        return (self.name,) if self.other is None else (self.name, self.other.name)

    @property
    def is_free_text(self) -> bool:
        """Return whether any text will do, and none of it decides anything."""
        return self.kind == "text" and not self.holds and not self.choices


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table: its columns, the key that names a row, and whether it must be there."""

    name: str
    help: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    required: bool = False
