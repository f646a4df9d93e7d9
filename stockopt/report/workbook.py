"""The report as an .xlsx workbook: which sheets, under which names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from stockopt.report.buy import buy_sheets
from stockopt.report.calendar_sheet import calendar_sheet
from stockopt.report.curve_sheets import curve_sheets
from stockopt.report.data_notes import data_notes_sheet
from stockopt.report.every_part import every_part_sheet
from stockopt.report.glance import glance_sheet
from stockopt.report.how import how_sheet
from stockopt.report.landed_sheets import landed_sheets
from stockopt.report.life_bars import life_bars_sheet
from stockopt.report.page import write_page
from stockopt.report.part_lives import part_lives_sheets
from stockopt.report.replace_now import replace_now_sheet
from stockopt.report.run import Run
from stockopt.report.sheet import Sheet
from stockopt.report.stores import store_sheets
from stockopt.report.stow import stow_sheets
from stockopt.report.styles import Styles
from stockopt.report.why_sheets import why_sheets
from stockopt.report.words import what_if_mark
from stockopt.units import Paper

#: Longest name a tab may have.
LONGEST_NAME = 31


def list_sheets(run: Run) -> list[Sheet]:
    """Return every sheet of the report as plain values, in reading order."""
    part_lives, *statistics = part_lives_sheets(run)
    return [
        glance_sheet(run),
        *stow_sheets(run),
        replace_now_sheet(run),
        *buy_sheets(run),
        *store_sheets(run),
        calendar_sheet(run),
        part_lives,
        life_bars_sheet(run),
        *landed_sheets(run.landed, run.plan.currency),
        *curve_sheets(run),
        *why_sheets(run),
        every_part_sheet(run),
        *statistics,
        data_notes_sheet(run),
        how_sheet(run),
    ]


def write_workbook(run: Run, path: Path) -> None:
    """Write the report as a workbook.

    Parameters
    ----------
    run
        What to report.
    path
        File to write; one that is there is replaced.
    """
    footer = (
        f"{what_if_mark(run.plan)}{run.plan.fleet}, planned on {run.plan.planned_on.isoformat()}"
    )
    settings = run.fleet.settings
    write_sheets(list_sheets(run), run.plan.currency, footer, path, settings.paper)


def write_sheets(
    sheets: Sequence[Sheet], currency: str, footer: str, path: Path, paper: Paper = "a4"
) -> None:
    """Write sheets as a workbook, its money in `currency`, with a line at the foot of each page."""
    book = Workbook()
    book.remove(book.worksheets[0])
    book.properties.creator = "stockopt"
    book.properties.title = footer
    styles = Styles(book, currency)
    for sheet, name in zip(sheets, sheet_names(sheet.name for sheet in sheets), strict=True):
        write_page(book.create_sheet(name), sheet, styles, footer, paper)
    book.save(path)


def sheet_names(wanted: Iterable[str]) -> list[str]:
    r"""Return legal, unique tab names: at most 31 characters, none of ``/ \ : * ? [ ]``.

    Examples
    --------
    >>> sheet_names(["Stow A/B", "Stow A:B", "Stow a-b"])
    ['Stow A-B', 'Stow A-B 2', 'Stow a-b 3']
    """
    taken: set[str] = set()
    names = []
    for name in wanted:
        cleaned = ILLEGAL_CHARACTERS_RE.sub("", name)
        legal = re.sub(r"[/\\:*?\[\]\n\t]", "-", cleaned).strip("' ") or "Sheet"
        unique, count = legal[:LONGEST_NAME].rstrip("' "), 1
        while unique.casefold() in taken:
            count += 1
            ending = f" {count}"
            unique = legal[: LONGEST_NAME - len(ending)].rstrip("' ") + ending
        taken.add(unique.casefold())
        names.append(unique)
    return names
