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
from stockopt.report.study_files import Study


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


def rehearsal_study(rehearsal: Rehearsal) -> Study:
    """Return what can be written of a rehearsal."""
    return Study(
        make_sheets=partial(rehearsal_sheets, rehearsal),
        make_keys=partial(rehearsal_keys, rehearsal),
        currency=rehearsal.currency,
        footer=f"{rehearsal.fleet}, planned on {rehearsal.planned_on.isoformat()}, rehearsed",
        paper=rehearsal.paper,
    )
