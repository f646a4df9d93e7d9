"""From a folder of CSV files or a workbook to a fleet: the one place that opens files to read."""

from __future__ import annotations

import difflib
import io
import re
import tomllib
import warnings
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.workbook import Workbook

from stockopt.errors import InputError, Note, Problem
from stockopt.fleet.asked import Asked, make_settings
from stockopt.fleet.build import build_fleet
from stockopt.fleet.csv_sheet import parse_csv
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.sheet import Finding, Sheet, word
from stockopt.fleet.tables import HELP_SHEET, TABLES
from stockopt.fleet.xlsx_sheets import parse_workbook

_SETTINGS_FILE = "settings.toml"
_SETTINGS = "settings"

#: Columns of the sheet of settings.
_SETTING, _VALUE = "setting", "value"

#: Endings under which a table may have been saved that is to be a CSV file.
_OTHER_TABLES = frozenset({".xlsx", ".xlsm", ".xls", ".ods", ".numbers", ".txt", ".tsv"})

#: So many names are told of what is there instead of tables.
_MOST_NAMES = 8

_WHAT_PATH_IS_RIGHT = "is not a fleet: give a folder of CSV files or one workbook saved as .xlsx"

Found = tuple[dict[str, Sheet], list[Asked], list[Finding]]


def read_fleet(path: Path, *, overrides: Mapping[str, object] | None = None) -> Fleet:
    """Read and check a fleet.

    Parameters
    ----------
    path
        A folder of CSV files, with or without settings.toml, or one .xlsx workbook with sheets of
        the same names.
    overrides
        Settings from the command line, by name; None for one that was not given.

    Returns
    -------
    Fleet
        Everything doubtful in it is noted.

    Raises
    ------
    InputError
        With every problem found: in the files, the settings, the cells, and across the tables.
    """
    if path.is_dir():
        sheets, asked, findings = _read_folder(path)
    else:
        sheets, asked, findings = _read_workbook(path)
    asked += [
        Asked(label="command line", setting=setting, value=value)
        for setting, value in (overrides or {}).items()
    ]
    settings, found = make_settings(asked)
    name = path.resolve().stem if path.is_file() else path.resolve().name
    return build_fleet(name, sheets, settings, [*findings, *found])


def read_sheets(path: Path) -> dict[str, Sheet]:
    """Return the tables of a fleet as they were written, by name; see :func:`read_fleet`.

    Raises
    ------
    InputError
        Nothing there can be read as a table.
    """
    sheets, _, _ = _read_folder(path) if path.is_dir() else _read_workbook(path)
    return sheets


def _read_folder(path: Path) -> Found:
    """Return the sheets, settings and findings of a folder."""
    files = sorted(file for file in path.iterdir() if not file.name.startswith("."))
    tables = {file.name: file for file in files if file.suffix.casefold() == ".csv"}
    toml = {file.name: file for file in files if file.suffix.casefold() == ".toml"}
    matched, findings = _match({label: file.stem for label, file in tables.items()}, TABLES)
    findings += _find_unsaved(files, matched)
    if not matched:
        raise InputError([_no_table(path, files), *_problems(findings)])
    settings, found = _match({label: file.stem for label, file in toml.items()}, [_SETTINGS])
    findings += found
    sheets = {}
    for table, label in matched.items():
        known = [name for column in TABLES[table].columns for name in column.headings]
        sheets[table] = parse_csv(_bytes(tables[label]), label, known)
    asked: list[Asked] = []
    for label in settings.values():
        asked, found = _parse_toml(_bytes(toml[label]), label)
        findings += found
    return sheets, asked, findings


def _read_workbook(path: Path) -> Found:
    """Return the sheets, settings and findings of a workbook."""
    if not path.exists():
        raise InputError([Problem(table=str(path), expected=what_fleet_is_meant(path))])
    if path.suffix.casefold() == ".csv" and word(path.stem) in TABLES:
        expected = "is one table of a fleet: give the folder that holds it"
        raise InputError([Problem(table=path.name, expected=expected)])
    if path.suffix.casefold() != ".xlsx":
        raise InputError([Problem(table=path.name, expected=_WHAT_PATH_IS_RIGHT)])
    parts = {
        column.name
        for table in TABLES.values()
        for column in table.columns
        if column.holds == "part"
    }
    data = _bytes(path)
    found = parse_workbook(data, partial(_open_workbook, data), path.name, parts)
    matched, findings = _match({title: title for title in found}, [*TABLES, _SETTINGS])
    asked: list[Asked] = []
    if title := matched.pop(_SETTINGS, None):
        asked, more = _asked_in(found[title])
        findings += more
    if not matched:
        raise InputError([_no_table(path, found), *_problems(findings)])
    return {table: found[title] for table, title in matched.items()}, asked, findings


def _match(
    titles: Mapping[str, str], names: Collection[str]
) -> tuple[dict[str, str], list[Finding]]:
    """Return which file or sheet holds which table.

    Parameters
    ----------
    titles
        By label, the name to compare: a file without its ending, a sheet's title.
    names
        Of the tables.
    """
    matched: dict[str, str] = {}
    findings: list[Finding] = []
    for label, title in titles.items():
        if (name := word(title)) not in names:
            continue
        if name in matched:
            same = f"holds the same table as {matched[name]}: keep one of them"
            findings.append(Problem(table=label, expected=same))
        else:
            matched[name] = label
    for label, title in titles.items():
        if (name := word(title)) in names or name == HELP_SHEET:
            continue
        near = difflib.get_close_matches(name, [*names, _SETTINGS], n=1, cutoff=0.8)
        near = near or [part for part in re.split(r"[\W_]+", name) if part in names]
        if near and near[0] not in matched:
            ending = label.removeprefix(title)
            findings.append(Problem(table=label, expected=_what_name_is_right(near[0], ending)))
        else:
            findings.append(Note(table=label, text="is not a table and was not read"))
    return matched, findings


def _what_name_is_right(name: str, ending: str) -> str:
    """Return what to do with a file or sheet that is almost called like a table."""
    if name == _SETTINGS and ending.casefold() == ".csv":
        return f"is not read: in a folder settings stand in {_SETTINGS_FILE}, as budget = 4000"
    right = _SETTINGS_FILE if name == _SETTINGS and ending else f"{name}{ending}"
    return f"is not a table: rename it to {right}, or take it out"


def _find_unsaved(files: Iterable[Path], matched: Collection[str]) -> Iterator[Finding]:
    """Yield the files that bear the name of a table but are no CSV, so that nobody misses them."""
    for file in files:
        # A file saved as text may be called fitted.csv.txt.
        name = word(file.stem.removesuffix(".csv"))
        if name not in TABLES or file.suffix.casefold() not in _OTHER_TABLES:
            continue
        if name in matched:
            yield Note(table=file.name, text=f"was not read: {name} was read from its CSV file")
        else:
            expected = f"is not CSV: save it as {name}.csv, or take it out"
            yield Problem(table=file.name, expected=expected)


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        expected = f"cannot be read: {error.strerror}"
        raise InputError([Problem(table=file.name, expected=expected)]) from None


@contextmanager
def _open_workbook(data: bytes, *, data_only: bool) -> Iterator[Workbook]:
    """Open a workbook for reading row by row, without openpyxl's remarks on its styles."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=data_only)
        try:
            yield book
        finally:
            book.close()


def _parse_toml(data: bytes, label: str) -> tuple[list[Asked], list[Finding]]:
    """Return what settings.toml asks."""
    try:
        found = tomllib.loads(data.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        return [], [Problem(table=label, expected=f"is not TOML: {error}")]
    rates = found.pop("rates", {})
    if not isinstance(rates, dict):
        expected = "cannot stand alone: write [rates], and below it USD = 0.92"
        return [], [Problem(table=label, column="rates", value=str(rates), expected=expected)]
    found |= {f"rates.{currency}": rate for currency, rate in rates.items()}
    return [Asked(label=label, setting=name, value=value) for name, value in found.items()], []


def _asked_in(sheet: Sheet) -> tuple[list[Asked], list[Finding]]:
    """Return what the sheet of settings asks, row by row."""
    headings = [word(str(heading)) for heading in sheet.cells.columns]
    findings = list(sheet.findings)
    missing = [
        Problem(table=sheet.label, column=name, expected="the column is missing")
        for name in (_SETTING, _VALUE)
        if name not in headings
    ]
    if missing:
        return [], [*findings, *missing]
    names = sheet.cells.iloc[:, headings.index(_SETTING)]
    values = sheet.cells.iloc[:, headings.index(_VALUE)]
    return [
        Asked(label=sheet.label, row=int(row), setting=name, value=value)
        for row, name, value in zip(sheet.cells.index, names, values, strict=True)
        if name.strip()
    ], findings


def _no_table(path: Path, found: Iterable[object]) -> Problem:
    """Return what to do where nothing bears the name of a table."""
    names = [str(getattr(one, "name", one)) for one in found]
    only = ", ".join(names[:_MOST_NAMES])
    more = f" and {len(names) - _MOST_NAMES} more" if names[_MOST_NAMES:] else ""
    only = f", only {only}{more}" if names else ""
    needed = ", ".join(table.name for table in TABLES.values() if table.required)
    kind = "CSV files" if path.is_dir() else "sheets"
    meant = [f"'{one}'" for one in _fleets_in(path)]
    hint = f"; is {' or '.join(meant)} meant?" if 0 < len(meant) <= _MOST_NAMES else ""
    return Problem(
        table=path.name,
        expected=f"holds no table of a fleet{only}: it needs {kind} named {needed}{hint}",
    )


def _fleets_in(path: Path) -> list[Path]:
    """Return the workbooks in a folder, and the folders in it that hold tables."""
    if not path.is_dir():
        return []
    return [
        one
        for one in sorted(path.iterdir())
        if (one.suffix.casefold() == ".xlsx" and one.is_file())
        or (one.is_dir() and any(word(file.stem) in TABLES for file in one.glob("*.csv")))
    ]


def what_fleet_is_meant(path: Path) -> str:
    """Return what to do where there is no such file or folder."""
    beside = [file.name for file in path.parent.iterdir()] if path.parent.is_dir() else []
    near = [f"{path.name}.xlsx"] if f"{path.name}.xlsx" in beside else []
    near = near or difflib.get_close_matches(path.name, beside, n=1, cutoff=0.7)
    hint = f"is '{near[0]}' meant?" if near else "give the folder or workbook that holds the fleet"
    return f"there is no such folder or file: {hint}"


def _problems(findings: Iterable[Finding]) -> list[Problem]:
    return [finding for finding in findings if isinstance(finding, Problem)]
