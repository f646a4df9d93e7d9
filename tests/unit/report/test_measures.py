"""Masses and room are shown in the units that the settings ask for."""

from dataclasses import replace

import pytest
from report_builders import make_run
from rich.console import Console

from stockopt.report.curve_sheets import curve_sheets
from stockopt.report.glance import glance_sheet
from stockopt.report.stow import stow_sheets
from stockopt.report.terminal import print_plan
from stockopt.report.why_sheets import why_sheets
from stockopt.units import KG_PER_POUND
from stockopt.why.why import Curve, CurvePoint, LineWhy, Why


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


def test_reasons_and_curves_speak_of_pounds():
    line = LineWhy(
        boat="Heron",
        part="IMP-1",
        last_pieces=1,
        last_saves=60.0,
        at_floor=False,
        more_pieces=1,
        more_saves=90.0,
        more_cost=25.0,
        more_spend=30.0,
        more_kg=KG_PER_POUND,
        more_from="Quayside",
        stopped_by=("her kilos", "her litres"),
    )
    point = CurvePoint(
        limit=10.0 * KG_PER_POUND,
        total=9.0,
        spend_now=4.0,
        expected_later=5.0,
        bound=9.0,
        gap=0.0,
        kg=5.0 * KG_PER_POUND,
        readiness=0.9,
    )
    curve = Curve(against="kg", points=(point,), now=None)
    run = in_pounds(replace(make_run(), why=Why(lines=(line,), curves=(curve,))))
    (why,), (curves,) = why_sheets(run), curve_sheets(run)
    assert column(why, "It weighs") == ("It weighs, lb", pytest.approx([1.0]))
    assert column(why, "What stops it")[1] == ["would pay, but for: her pounds, her gallons"]
    assert curves.title == "What more money, and more pounds, would buy"
    assert curves.tables[0].heading == "Cost against the pounds she may take"
    assert column(curves, "Her limit") == ("Her limit, lb", pytest.approx([10.0]))
    assert column(curves, "Spares of all boats") == (
        "Spares of all boats, lb",
        pytest.approx([5.0]),
    )


def test_room_and_terminal_too():
    run = in_pounds(make_run())
    assert " gal." in stow_sheets(run)[0].lead[0]
    console = Console(width=80, record=True, file=None, quiet=False)
    with console.capture() as captured:
        print_plan(console, run, ())
    assert "Spares, lb" in captured.get()
