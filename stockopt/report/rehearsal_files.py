"""The files of a rehearsal: the plan that is rehearsed, and what is written of it."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path

from stockopt.errors import InputError, Problem
from stockopt.rehearsal.asked import PlanFile
from stockopt.rehearsal.rehearsal import Rehearsal
from stockopt.report.rehearsal_keys import rehearsal_keys
from stockopt.report.rehearsal_sheets import rehearsal_sheets
from stockopt.report.study_files import write_study


def read_plan_file(path: Path) -> PlanFile:
    """Read the JSON of a plan made before.

    Raises
    ------
    InputError
        Where the file is not JSON.
    OSError
        Where it cannot be read.
    """
    try:
        keys = json.loads(path.read_text(encoding="utf-8"))
    except (UnicodeDecodeError, json.JSONDecodeError):
        expected = "is not JSON: write the plan with `stockopt plan FLEET --json FILE`"
        raise InputError([Problem(table=str(path), expected=expected)]) from None
    return PlanFile(label=str(path), keys=keys)


def write_rehearsal(
    rehearsal: Rehearsal, *, workbook: Path | None, json_file: Path | None, overwrite: bool
) -> None:
    """Write the rehearsal as far as asked for.

    Parameters
    ----------
    rehearsal
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
        partial(rehearsal_sheets, rehearsal),
        partial(rehearsal_keys, rehearsal),
        currency=rehearsal.currency,
        footer=f"{rehearsal.fleet}, planned on {rehearsal.planned_on.isoformat()}, rehearsed",
        workbook=workbook,
        json_file=json_file,
        overwrite=overwrite,
    )
