"""From sheets of text to a checked fleet; no file is touched here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pandas as pd

from stockopt.errors import InputError, Note, Problem
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.limits import check_limits
from stockopt.fleet.sheet import Finding, Sheet
from stockopt.fleet.tables import TABLES
from stockopt.fleet.typed import empty_table, fill_defaults, type_sheet
from stockopt.settings import Settings


def build_fleet(
    name: str, sheets: Mapping[str, Sheet], settings: Settings, findings: Iterable[Finding] = ()
) -> Fleet:
    """Read, check and join the sheets of a fleet.

    Parameters
    ----------
    name
        Of the fleet.
    sheets
        By table name; a required table that is absent is a problem.
    settings
        In force.
    findings
        What was found so far, in the settings and the files.

    Raises
    ------
    InputError
        With every problem, if there is any.
    """
    found = list(findings)
    tables: dict[str, pd.DataFrame] = {}
    for table in TABLES.values():
        if table.name in sheets:
            sheet = sheets[table.name]
            tables[table.name], more = type_sheet(sheet, table)
            found += more
            found += check_limits(tables[table.name], sheet, table)
        else:
            tables[table.name] = empty_table(table)
            if table.required:
                found.append(
                    Problem(table=table.name, expected=f"the table is missing: {table.help}")
                )
    tables = {key: fill_defaults(frame, TABLES[key]) for key, frame in tables.items()}
    problems = _once_a_cell(finding for finding in found if isinstance(finding, Problem))
    if problems:
        raise InputError(problems)
    notes = tuple(finding for finding in found if isinstance(finding, Note))
    return Fleet(name=name, settings=settings, notes=notes, **tables)


def _once_a_cell(problems: Iterable[Problem]) -> list[Problem]:
    """Return the first problem of each cell: what follows from it would only confuse."""
    first: dict[tuple[str, int | None, str], Problem] = {}
    others = []
    for problem in problems:
        if problem.column:
            first.setdefault((problem.table, problem.row, problem.column), problem)
        else:
            others.append(problem)
    return [*first.values(), *others]
