"""The files of a comparison of local shops with mail order."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from stockopt import __version__
from stockopt.report.json_file import note_keys
from stockopt.report.landed_keys import port_keys
from stockopt.report.landed_sheets import landed_sheets
from stockopt.report.plain_numbers import Keys
from stockopt.report.run import Compared
from stockopt.report.study_files import write_study


def write_landed(
    compared: Compared,
    part: str | None,
    *,
    workbook: Path | None,
    json_file: Path | None,
    overwrite: bool,
) -> None:
    """Write the comparison as far as asked for.

    Parameters
    ----------
    compared
        What was compared.
    part
        The only part that the JSON tells of; None for all.
    workbook, json_file
        Where they go; None for none.
    overwrite
        True to replace files that are there.

    Raises
    ------
    OSError
        Where a file cannot be written; nothing was replaced.
    """
    settings = compared.fleet.settings
    write_study(
        partial(landed_sheets, compared.landed, settings.currency),
        partial(landed_keys, compared, part),
        currency=settings.currency,
        footer=f"{compared.fleet.name}, planned on {settings.planned_on.isoformat()}",
        paper=settings.paper,
        workbook=workbook,
        json_file=json_file,
        overwrite=overwrite,
    )


def landed_keys(compared: Compared, part: str | None) -> Keys:
    """Return the comparison as keys and plain values; with `part`, of the parts only that one."""
    settings = compared.fleet.settings
    return {
        "stockopt": __version__,
        "fleet": compared.fleet.name,
        "planned_on": settings.planned_on.isoformat(),
        "currency": settings.currency,
        "basket": compared.landed.basket,
        "ports": port_keys(compared.landed, part),
        "notes": note_keys(compared.notes),
    }
