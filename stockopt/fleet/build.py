"""From sheets of text to a checked fleet; no file is touched here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

import pandas as pd

from stockopt.errors import InputError, Note, Problem
from stockopt.fleet.check import check_lead_days, check_tables
from stockopt.fleet.columns import Table
from stockopt.fleet.current import lead_to_current
from stockopt.fleet.doubts import find_doubts
from stockopt.fleet.drawn_down import draw_down
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.kits import take_kits_apart
from stockopt.fleet.limits import check_limits
from stockopt.fleet.sheet import Finding, Sheet, word
from stockopt.fleet.spelling import match_spelling
from stockopt.fleet.tables import TABLES
from stockopt.fleet.to_come import leave_out
from stockopt.fleet.typed import empty_table, fill_defaults, type_sheet
from stockopt.settings import Settings

_WHAT_ROW_IS_RIGHT = (
    "has more cells than there are headings, and they do not fit: write a text that holds the "
    'separator between quotation marks, as "Impeller, raw-water pump"'
)

#: Of one slip in very many rows so many are listed, the others counted.
MOST_ALIKE = 20


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
    typed = {}
    for table in TABLES.values():
        typed[table.name], more = _read_table(table, sheets.get(table.name))
        found += more
    found += check_lead_days(typed["sources"])
    tables = {name: fill_defaults(frame, TABLES[name]) for name, frame in typed.items()}
    tables, notes = match_spelling(tables)
    found += notes
    tables, notes = leave_out(tables, settings.planned_on)
    broken = {table.name for table in TABLES.values() if _is_broken(table, sheets.get(table.name))}
    found += [*notes, *check_tables(tables, settings, broken)]
    labels = {name: sheet.label for name, sheet in sheets.items()}
    if problems := _list_problems(found, labels):
        raise InputError(problems)
    tables, notes = lead_to_current(tables)
    found += notes
    tables, notes = take_kits_apart(tables)
    found += [*notes, *find_doubts(tables, settings.planned_on)]
    tables, notes = draw_down(tables)
    found += notes
    tables = {name: _in_order(frame, TABLES[name]) for name, frame in tables.items()}
    written = _under_headings(_list_notes(found, labels), sheets)
    return Fleet(name=name, settings=settings, notes=written, **tables)


def _in_order(frame: pd.DataFrame, table: Table) -> pd.DataFrame:
    """Return the rows sorted by key, then by everything else, whatever order they were written in.

    Sums of numbers depend in their last digit on the order, and two plans that cost the same
    would be told apart by it. The index keeps the row as a spreadsheet shows it.
    """
    others = [column.name for column in table.columns if column.name not in table.key]
    return frame.sort_values([*table.key, *others], kind="stable")


def _read_table(table: Table, sheet: Sheet | None) -> tuple[pd.DataFrame, list[Finding]]:
    """Return one table, and what is wrong with its cells one by one."""
    if sheet is not None:
        frame, found = type_sheet(sheet, table)
        return frame, _blame_width([*found, *check_limits(frame, sheet, table)], sheet)
    if table.required:
        expected = f"the table is missing: {table.help}"
        return empty_table(table), [Problem(table=table.name, expected=expected)]
    return empty_table(table), []


def _blame_width(found: list[Finding], sheet: Sheet) -> list[Finding]:
    """Put one problem in place of those of a row whose cells stand one heading too far on."""

    def is_shifted(finding: Finding) -> bool:
        return isinstance(finding, Problem) and finding.row in sheet.too_wide

    shifted = sorted({finding.row or 0 for finding in found if is_shifted(finding)})
    return [
        *(finding for finding in found if not is_shifted(finding)),
        *(Problem(table=sheet.label, row=row, expected=_WHAT_ROW_IS_RIGHT) for row in shifted),
    ]


def _is_broken(table: Table, sheet: Sheet | None) -> bool:
    """Tell whether a required table or column is missing."""
    if sheet is None:
        return table.required
    headings = {word(str(heading)) for heading in sheet.cells.columns}
    return any(column.required and column.name not in headings for column in table.columns)


def _list_problems(found: Iterable[Finding], labels: Mapping[str, str]) -> list[Problem]:
    """Return the problems under the names of files or sheets, only the first of each cell.

    What follows from a cell that could not be read would only confuse. Where one slip stands in
    very many rows, the first ones are listed and the others counted.
    """
    first: dict[object, Problem] = {}
    for problem in found:
        if isinstance(problem, Problem):
            named = replace(problem, table=labels.get(problem.table, problem.table))
            cell = (named.table, named.row, named.column) if named.column else named
            first.setdefault(cell, named)
    rows_alike: defaultdict[Problem, list[Problem]] = defaultdict(list)
    for problem in first.values():
        rows_alike[replace(problem, row=None)].append(problem)
    told = {
        same[MOST_ALIKE - 1]: f"{same[0].expected}; so in {len(same) - MOST_ALIKE} rows more"
        for same in rows_alike.values()
        if len(same) > MOST_ALIKE
    }
    spared = {problem for same in rows_alike.values() for problem in same[MOST_ALIKE:]}
    order = {labels.get(name, name): place for place, name in enumerate(TABLES, start=1)}
    return [
        replace(problem, expected=told.get(problem, problem.expected))
        for problem in sorted(
            first.values(), key=lambda one: (order.get(one.table, 0), one.row or 0)
        )
        if problem not in spared
    ]


def _list_notes(found: Iterable[Finding], labels: Mapping[str, str]) -> list[Note]:
    """Return the notes under the names of tables, as later rooms name them."""
    names = {label: name for name, label in labels.items()}
    return [
        replace(note, table=names.get(note.table, note.table))
        for note in found
        if isinstance(note, Note)
    ]


def _under_headings(notes: Iterable[Note], sheets: Mapping[str, Sheet]) -> tuple[Note, ...]:
    """Return the notes under the headings as they were written: lb for kg where it says lb."""
    written = {
        (name, column.name): heading
        for name, sheet in sheets.items()
        for column in TABLES[name].columns
        if column.other is not None
        and (heading := column.find([word(str(one)) for one in sheet.cells.columns])) is not None
    }
    return tuple(
        replace(note, column=written.get((note.table, note.column), note.column)) for note in notes
    )
