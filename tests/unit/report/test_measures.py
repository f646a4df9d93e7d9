"""Masses and room are shown in the units that the settings ask for."""

from dataclasses import replace

import pytest
from report_builders import make_run
from rich.console import Console

from stockopt.report.glance import glance_sheet
from stockopt.report.stow import stow_sheets
from stockopt.report.terminal import print_plan
from stockopt.units import KG_PER_POUND


def in_pounds(run):
    settings = replace(run.fleet.settings, mass_unit="lb", volume_unit="gallons")
    return replace(run, fleet=replace(run.fleet, settings=settings))


def column(sheet, start):
    for table in sheet.tables:
        for place, one in enumerate(table.columns):
            if one.title.startswith(start):
                cells = [row.cells[place] for row in table.rows if row.look != "group"]
                return one.title, cells
    raise AssertionError(start)


@pytest.mark.parametrize(
    ("make", "start"), [(glance_sheet, "Spares"), (lambda run: stow_sheets(run)[0], "Mass")]
)
def test_sheets_show_pounds(make, start):
    metric_title, metric = column(make(make_run()), start)
    title, shown = column(make(in_pounds(make_run())), start)
    assert metric_title.endswith(", kg")
    assert title.endswith(", lb")
    assert [value * KG_PER_POUND for value in shown] == pytest.approx(metric)
    assert max(shown) > 0


def test_room_and_terminal_too():
    run = in_pounds(make_run())
    assert " gal." in stow_sheets(run)[0].lead[0]
    console = Console(width=80, record=True, file=None, quiet=False)
    with console.capture() as captured:
        print_plan(console, run, ())
    assert "Spares, lb" in captured.get()
