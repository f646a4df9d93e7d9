"""Which tables and columns a person is given to fill in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType

from stockopt.fleet.columns import Column
from stockopt.fleet.tables import RATE, SETTINGS, TABLES
from stockopt.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One table to fill in: what it is for, and the columns offered."""

    name: str
    help: str
    required: bool
    columns: tuple[Column, ...]


#: The least that makes a useful plan for one boat: her tables and their columns.
_ONE_BOAT: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "boats": ("boat", "spares_kg", "day_cost"),
        "machines": ("boat", "machine", "model", "fitted_on", "hours_at_fitting"),
        "readings": ("boat", "machine", "read_on", "hours"),
        "parts": (
            "part",
            "name",
            "clock",
            "expected_life",
            "price",
            "kg",
            "consequence",
            "carry_at_least",
        ),
        "fitted": ("model", "part", "quantity"),
        "replacements": ("on", "boat", "machine", "part", "quantity", "hours", "reason"),
        "legs": ("boat", "departs_on", "days", "to_port", "hours"),
        "ports": ("port", "price_factor", "wait_days"),
        "stock": ("place", "part", "on_hand"),
    }
)
_ONE_BOAT_SETTINGS = ("planned_on", "currency", "paper", "budget", "readiness")


def list_forms(*, one_boat: bool) -> tuple[Form, ...]:
    """Return the tables to fill in, in the order in which they are best filled in.

    Parameters
    ----------
    one_boat
        True for the few columns that a cruiser needs; False for all of them.
    """
    return tuple(
        Form(
            name=table.name,
            help=table.help,
            required=table.required,
            columns=tuple(
                column
                for column in table.columns
                if not one_boat or column.name in _ONE_BOAT[table.name]
            ),
        )
        for table in TABLES.values()
        if not one_boat or table.name in _ONE_BOAT
    )


def list_settings(*, one_boat: bool) -> tuple[tuple[Column, object], ...]:
    """Return the settings to choose, each with what holds where it is left blank (None: none)."""
    defaults = {one.name: one.default for one in fields(Settings)}
    names = _ONE_BOAT_SETTINGS if one_boat else [column.name for column in SETTINGS.columns]
    return tuple(
        (column, default if isinstance(default := defaults[column.name], str | float) else None)
        for column in SETTINGS.columns
        if column.name in names
    )


def describe(column: Column) -> str:
    """Return one line of help: what goes into the column, what is allowed, what blank means.

    Examples
    --------
    >>> describe(TABLES["fitted"].columns[2])
    'pieces fitted to one machine; blank = 1'
    """
    told = column.help
    if column.choices:
        told += f": {', '.join(column.choices)}"
    if column.other is not None:
        told += f" (or head it {column.other.name} and write those)"
    if column.required:
        told += "; must be filled in"
    elif column.default is not None and "blank =" not in told:
        default = column.default
        told += f"; blank = {default:g}" if isinstance(default, float) else f"; blank = {default}"
    return told


def describe_rate() -> str:
    """Return one line of help on exchange rates."""
    return RATE.help
