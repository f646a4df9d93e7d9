"""What happened, as the person tells it, and what it changes in the tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

#: What is written into one cell; a date as a date, so that a workbook can show it as its others.
Value = str | int | float | date


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """Pieces of one part were changed on one machine.

    Parameters
    ----------
    boat, machine, part, quantity, on, reason
        As the columns of `replacements`.
    hours, slot, sound_on, note
        The same; None or "" where not told.
    drawn_from
        ``boat``: her own stock; ``store``: her store's; ``""``: no stock, bought on the spot.
    """

    boat: str
    machine: str
    part: str
    quantity: int
    on: date
    reason: str
    hours: float | None = None
    slot: int | None = None
    sound_on: date | None = None
    note: str = ""
    drawn_from: str = "boat"


@dataclass(frozen=True, slots=True, kw_only=True)
class Receive:
    """Pieces were delivered to a place; `source` and `expires_on` where told."""

    place: str
    part: str
    quantity: int
    on: date
    source: str = ""
    expires_on: date | None = None
    locker: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """The pieces of one part at a place were counted; locker and expiry tell rows apart."""

    place: str
    part: str
    on_hand: int
    on: date
    locker: str = ""
    expires_on: date | None = None


Event = Use | Receive | Count


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One row of one table that is changed or added.

    Parameters
    ----------
    table
        Which.
    row
        As a spreadsheet shows it (the header is row 1); None to add one.
    cells
        By column: what is written; "" to blank a cell.
    before
        By column: what stood there, as text; for the person.
    """

    table: str
    row: int | None
    cells: Mapping[str, Value]
    before: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """What an event writes, and what the person should know of it."""

    entries: tuple[Entry, ...]
    remarks: tuple[str, ...]


def as_text(value: Value) -> str:
    """Return a value as the tables write it.

    Examples
    --------
    >>> as_text(date(2031, 4, 1)), as_text(1210.0), as_text(1210.5), as_text(3)
    ('2031-04-01', '1210', '1210.5', '3')
    """
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    return str(value)
