"""The tables in words, for the README and for the person who fills them in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, fields

from stockopt.fleet.columns import Column, Table
from stockopt.fleet.tables import RATE, SETTINGS, TABLES
from stockopt.settings import Settings


def describe_tables() -> str:
    """Return a Markdown reference of every table and column.

    A required table or column is set in bold; what a blank cell means stands beside it.
    """
    lines: list[str] = []
    for table in TABLES.values():
        lines += _describe_table(table)
    lines += _describe_settings()
    return "\n".join(lines).rstrip() + "\n"


def _describe_table(table: Table) -> Iterator[str]:
    yield f"### {table.name}"
    yield ""
    needed = "Required." if table.required else "Optional."
    key = f" A row is named by {', '.join(table.key)}." if table.key else ""
    yield f"{needed} {table.help}{key}"
    yield ""
    yield "| column | what | when blank |"
    yield "|---|---|---|"
    for column in table.columns:
        name = f"**{column.name}**" if column.required else column.name
        blank = "may not be" if column.required else _shown(column.default)
        yield _line(name, column, blank)
    yield ""


def _describe_settings() -> Iterator[str]:
    yield f"### {SETTINGS.name}"
    yield ""
    yield f"Optional. {SETTINGS.help}"
    yield ""
    yield "| setting | what | when not given |"
    yield "|---|---|---|"
    defaults = {one.name: one.default for one in fields(Settings)}
    for column in SETTINGS.columns:
        default = defaults[column.name]
        yield _line(column.name, column, "" if default is MISSING else _shown(default))
    yield _line(RATE.name, RATE, "")
    yield ""


def _line(name: str, column: Column, blank: str) -> str:
    """Return the row of a column; what its help says of blanks goes where it belongs."""
    what, _, said = column.help.partition("; blank = ")
    return f"| {name} | {what}{_limits(column)} | {blank or said} |"


def _limits(column: Column) -> str:
    """Return kind, words and limits of a column, as far as its help leaves them open."""
    told = [_KINDS[column.kind]] if column.kind in _KINDS else []
    if column.choices:
        told.append(", ".join(column.choices))
    for limit, words in (
        (column.above, "above"),
        (column.least, "at least"),
        (column.below, "below"),
        (column.most, "at most"),
    ):
        if limit and not (column.kind == "share" and words == "at most"):
            told.append(f"{words} {limit:g}")
        elif limit == 0.0 and words == "above":
            told.append("above 0")
    if column.other is not None:
        told.append(f"or under {column.other.name}, in that unit")
    return f" ({'; '.join(told)})" if told else ""


def _shown(default: object) -> str:
    if default is None:
        return ""
    return f"{default:g}" if isinstance(default, float) else str(default)


_KINDS = {"date": "date", "whole": "whole number", "share": "share"}
