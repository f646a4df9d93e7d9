"""The fleet as one value: every table of the design, checked and typed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from stockopt.errors import Note
from stockopt.settings import Settings


@dataclass(frozen=True, slots=True, kw_only=True)
class Fleet:
    """A fleet's tables after reading and checking; treat every table as read-only.

    Each table is a DataFrame with *all* the columns of its entry in
    :data:`stockopt.fleet.tables.TABLES`, in that order, whatever the file held:

    * the index is named ``row`` and is the row as a spreadsheet shows it (the header is row 1); the
      parts of a set that was taken apart (stock, replacements) share the row of the set;
    * text columns hold ``str``, "" where blank; names are stripped of surrounding blanks;
    * number columns are float64, NaN where blank and no default applies;
    * whole-number columns with a default (quantity, pack, times) are int64;
    * date columns are datetime64, NaT where blank;
    * blank cells of a column that has a default hold that default.

    Every name is defined where names of its kind are, in that spelling. Part numbers in every
    table are current ones: aliases and superseded numbers (`replaced_by`) have been led to the part
    that is sold now, and that was noted; only `prices` and `kits` may name a set too. Readings and
    replacements after `planned_on`, and legs that departed before it, are left out. An optional
    table that was not given is there, empty.

    Parameters
    ----------
    name
        Folder or workbook name without its ending.
    settings
        The settings in force, options of the command line included.
    boats, machines, readings, parts, fitted, replacements, used_with, kits, aliases, sources,
    prices, legs, leg_hours, ports, stock
        The tables.
    notes
        Doubtful things found while reading, and what was done about them.
    """

    name: str
    settings: Settings
    boats: pd.DataFrame
    machines: pd.DataFrame
    readings: pd.DataFrame
    parts: pd.DataFrame
    fitted: pd.DataFrame
    replacements: pd.DataFrame
    used_with: pd.DataFrame
    kits: pd.DataFrame
    aliases: pd.DataFrame
    sources: pd.DataFrame
    prices: pd.DataFrame
    legs: pd.DataFrame
    leg_hours: pd.DataFrame
    ports: pd.DataFrame
    stock: pd.DataFrame
    notes: tuple[Note, ...] = ()


def none_if_blank(value: float) -> float | None:
    """Return a number of a table, None where its cell is blank: no limit, or no such charge."""
    return None if math.isnan(value) else value
