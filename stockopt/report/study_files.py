"""The files of what is not a plan: sheets as a workbook, keys as JSON, each where asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from stockopt.report.files import Write, write_files
from stockopt.report.json_file import write_json
from stockopt.report.plain_numbers import Keys
from stockopt.report.sheet import Sheet
from stockopt.report.workbook import write_sheets
from stockopt.units import Paper


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What can be written of a rehearsal, a look back or a comparison.

    Parameters
    ----------
    make_sheets, make_keys
        Called for the files that are asked for alone.
    currency, footer, paper
        Of the workbook's pages.
    """

    make_sheets: Callable[[], Sequence[Sheet]]
    make_keys: Callable[[], Keys]
    currency: str
    footer: str
    paper: Paper


def write_study(
    study: Study, *, workbook: Path | None, json_file: Path | None, overwrite: bool
) -> None:
    """Write as far as asked for.

    Parameters
    ----------
    study
        What.
    workbook, json_file
        Where they go; None for none.
    overwrite
        True to replace files that are there.

    Raises
    ------
    OSError
        Where a file cannot be written; nothing was replaced.
    """
    files: list[tuple[Path, Write]] = []
    if workbook is not None:
        write = partial(
            write_sheets, study.make_sheets(), study.currency, study.footer, paper=study.paper
        )
        files.append((workbook, write))
    if json_file is not None:
        files.append((json_file, partial(write_json, study.make_keys())))
    write_files(files, overwrite=overwrite)
