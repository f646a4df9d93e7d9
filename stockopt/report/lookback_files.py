"""The files of a look back."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from stockopt.lookback.lookback import Lookback
from stockopt.report.lookback_keys import lookback_keys
from stockopt.report.lookback_sheets import lookback_sheets
from stockopt.report.lookback_words import title_words
from stockopt.report.study_files import write_study


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
    write_study(
        partial(lookback_sheets, look),
        partial(lookback_keys, look),
        currency=look.currency,
        footer=title_words(look),
        workbook=workbook,
        json_file=json_file,
        overwrite=overwrite,
    )
