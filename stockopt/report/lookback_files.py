"""The files of a look back."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from stockopt.lookback.lookback import Lookback
from stockopt.report.files import Write, write_files
from stockopt.report.json_file import write_json
from stockopt.report.lookback_keys import lookback_keys
from stockopt.report.lookback_sheets import lookback_sheets
from stockopt.report.lookback_words import title_words
from stockopt.report.workbook import write_sheets


def write_lookback(
    look: Lookback, *, workbook: Path | None, json_file: Path | None, overwrite: bool
) -> None:
    """Write the look back as far as asked for.

    Parameters
    ----------
    look
        What was seen.
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
        sheets = lookback_sheets(look)
        files.append((workbook, partial(write_sheets, sheets, look.currency, title_words(look))))
    if json_file is not None:
        files.append((json_file, partial(write_json, lookback_keys(look))))
    write_files(files, overwrite=overwrite)
