"""The settings of a run, from wherever they were asked: file, sheet or command line."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import Any

import pandas as pd

from stockopt.errors import Note, Problem
from stockopt.fleet.columns import Column, Table
from stockopt.fleet.limits import check_limits
from stockopt.fleet.sheet import Finding, Sheet, word
from stockopt.fleet.tables import RATE, SETTINGS
from stockopt.fleet.typed import type_sheet
from stockopt.settings import Settings

_RATES = "rates."


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One setting as the person wrote it.

    Parameters
    ----------
    label
        Where: ``settings.toml``, the sheet ``settings``, or ``command line``.
    row
        Of the sheet; None elsewhere.
    setting
        Its name; ``rates.USD`` for an exchange rate.
    value
        As found.
    """

    label: str
    row: int | None = None
    setting: str
    value: object


def make_settings(asked: Iterable[Asked]) -> tuple[Settings, list[Finding]]:
    """Read the settings; a later one overrides an earlier one of the same name.

    Returns
    -------
    settings
        Where one could not be read, its default holds.
    findings
        What could not be read, and the day taken where `planned_on` is not given.
    """
    findings: list[Finding] = []
    values: dict[str, Any] = {}
    rates: dict[str, float] = {}
    rated: dict[str, Asked] = {}
    for one in asked:
        column = _column(one.setting)
        if column is None:
            findings.append(_unknown(one))
            continue
        value, found = _read(one, column)
        findings += found
        if value is None:
            continue
        if column.name.startswith(_RATES):
            currency = column.name.removeprefix(_RATES)
            rates[currency], rated[currency] = value, one
        else:
            values[column.name] = value
    if "planned_on" not in values:
        values["planned_on"] = date.today()
        findings.append(
            Note(
                table="settings",
                column="planned_on",
                text=f"not given: planned on today, {values['planned_on']}",
            )
        )
    settings = Settings(rates=MappingProxyType(rates), **values)
    own = rated.get(settings.currency)
    if own is not None and rates[settings.currency] != 1.0:
        findings.append(
            Problem(
                table=own.label,
                row=own.row,
                column=own.setting,
                value=str(own.value),
                expected="is for the plan's own currency, whose worth is 1",
            )
        )
    return settings, findings


def _column(setting: str) -> Column | None:
    """Return what the setting is, None if there is no such setting."""
    name = word(setting)
    if re.fullmatch(r"rates\.[a-z]{3}", name):
        return replace(RATE, name=_RATES + name.removeprefix(_RATES).upper())
    return next((column for column in SETTINGS.columns if column.name == name), None)


def _unknown(one: Asked) -> Problem:
    names = [column.name for column in SETTINGS.columns]
    near = difflib.get_close_matches(word(one.setting), names, n=1)
    hint = f"is '{near[0]}' meant?" if near else f"there are {', '.join(names)} and rates"
    return Problem(
        table=one.label, row=one.row, column=one.setting, expected=f"is not a setting: {hint}"
    )


def _read(one: Asked, column: Column) -> tuple[Any, list[Finding]]:
    """Return the value of one setting, None where blank or wrong, and what is wrong with it."""
    text = "" if one.value is None else str(one.value)
    cells = pd.DataFrame({column.name: [text]}, index=[0], dtype=object)
    cells.columns = pd.Index([word(column.name)])
    table = Table(name="settings", help="", columns=(replace(column, name=word(column.name)),))
    sheet = Sheet(label=one.label, cells=cells)
    frame, found = type_sheet(sheet, table)
    problems = [*found, *check_limits(frame, sheet, table)]
    if problems:
        return None, [replace(problem, row=one.row, column=one.setting) for problem in problems]
    value: Any = frame.iat[0, 0]
    if column.kind == "text":
        return value or None, []
    if pd.isna(value):
        return None, []
    return value.date() if column.kind == "date" else float(value), []
