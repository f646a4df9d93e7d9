"""The files of a comparison of local shops with mail order."""

from __future__ import annotations

from functools import partial

from stockopt import __version__
from stockopt.report.json_file import note_keys
from stockopt.report.landed_keys import port_keys
from stockopt.report.landed_sheets import landed_sheets
from stockopt.report.plain_numbers import Keys
from stockopt.report.run import Compared
from stockopt.report.study_files import Study


def landed_study(compared: Compared, part: str | None) -> Study:
    """Return what can be written of a comparison; `part` is the only one that the JSON tells of."""
    settings = compared.fleet.settings
    return Study(
        make_sheets=partial(landed_sheets, compared.landed, settings.currency),
        make_keys=partial(landed_keys, compared, part),
        currency=settings.currency,
        footer=f"{compared.fleet.name}, planned on {settings.planned_on.isoformat()}",
        paper=settings.paper,
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
