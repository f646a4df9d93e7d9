"""How the reasons of a plan are shown: sheets, JSON, terminal, charts."""

from dataclasses import replace
from io import StringIO
from typing import get_args

import openpyxl
import pytest
from report_builders import make_run, make_store_line
from rich.console import Console

from stockopt.report.glance import glance_sheet
from stockopt.report.json_file import plan_keys
from stockopt.report.terminal import print_plan
from stockopt.report.why_sheets import why_sheets
from stockopt.report.why_words import brief_worth, limits_to_tell, stops_text, worth_text
from stockopt.report.workbook import write_workbook
from stockopt.units import Measures
from stockopt.why.why import Curve, CurvePoint, LimitWhy, LineWhy, Stop, Why


def make_line(boat, part, **changes):
    given = {
        "last_pieces": 1,
        "last_saves": 60.0,
        "at_floor": False,
        "more_pieces": 1,
        "more_saves": 20.0,
        "more_cost": 25.0,
        "more_spend": 30.0,
        "more_kg": 0.5,
        "more_from": "Quayside",
        "stopped_by": ("not worth its price",),
    }
    return LineWhy(boat=boat, part=part, **{**given, **changes})


def make_limit(**changes):
    given = {"kind": "kg", "boat": "Heron", "limit": 60.0, "used": 59.0, "step": 5.0}
    solved = {"state": "solved", "saves_low": 12.0, "saves_high": 14.5, "saves": 12.0}
    return LimitWhy(
        **{**given, **solved, "changes": ("Heron, Belt (=BELT): carry 3, not 2",), **changes}
    )


def make_curve(against="budget", now=500.0):
    points = tuple(
        CurvePoint(
            limit=100.0 * k,
            total=1000.0 - 50 * k,
            spend_now=90.0 * k,
            expected_later=1000.0 - 140 * k,
            bound=999.0 - 50 * k,
            gap=1.0 / (1000.0 - 50 * k),
            kg=2.0 * k,
            readiness=0.9 + 0.01 * k,
        )
        for k in range(9)
    )
    return Curve(against=against, points=points, now=now)


def explained(**changes):
    lines = (
        make_line("Heron", "=BELT"),
        make_line("Heron", "BILGE-2", last_pieces=0, last_saves=None, at_floor=True),
        make_line("Heron", "GSK-1", last_pieces=2, stopped_by=("her kilos", "the fleet's budget")),
        make_line(
            "Heron",
            "IMP-1",
            more_pieces=0,
            more_saves=None,
            more_cost=None,
            more_kg=0.0,
            more_from="",
            stopped_by=("brings nothing more",),
        ),
        make_line("Heron", "SEAL-7", last_pieces=0, last_saves=None, more_saves=24.0),
        make_line("Osprey / west", "SEAL-7"),
    )
    limits = (
        make_limit(),
        make_limit(
            kind="readiness",
            boat="",
            limit=0.95,
            used=0.952,
            step=0.01,
            saves_low=-40.0,
            saves_high=-30.0,
            saves=-35.0,
        ),
        make_limit(kind="litres", state="slack", saves_low=0.0, saves_high=0.004, saves=0.0),
    )
    why = Why(lines=lines, limits=limits, asked=True, solves=5, seconds=2.0)
    return replace(make_run(), why=replace(why, **changes))


def rows_of(sheet):
    (table,) = sheet.tables
    return [row.cells for row in table.rows]


def test_each_line_says_what_its_last_piece_saves_and_what_stops_one_more():
    (sheet,) = why_sheets(explained())
    rows = {(row[0], row[1]): row[3:] for row in rows_of(sheet)}
    assert rows["Heron", "=BELT"] == (
        *(2, 60.0, 20.0, 25.0, 0.5, "Quayside"),
        "not worth its price",
    )
    assert rows["Heron", "BILGE-2"][1] == "floor"
    assert rows["Heron", "GSK-1"][-1] == (
        "would pay, but for: her kilos, the fleet's budget (the last 2 together)"
    )
    assert rows["Heron", "IMP-1"][1:] == (60.0, None, None, None, "", "brings nothing more")


@pytest.mark.parametrize(
    ("saves", "stops", "shown"),
    [
        (24.0, ("not worth its price",), True),
        (10.0, ("not worth its price",), False),
        (90.0, ("her kilos",), True),
    ],
)
def test_parts_not_carried_are_shown_where_one_would_nearly_pay(saves, stops, shown):
    nothing = {"last_pieces": 0, "last_saves": None}
    lines = (make_line("Heron", "SEAL-7", more_saves=saves, stopped_by=stops, **nothing),)
    (sheet,) = why_sheets(explained(lines=lines))
    assert bool(rows_of(sheet)) == shown


def test_the_first_page_says_what_holds_the_plan_back():
    tables = {table.heading: table for table in glance_sheet(explained()).tables}
    table = tables["What holds the plan back, and what a little more is worth"]
    assert [row.cells for row in table.rows] == [
        (
            *("Heron, 60.0 kg", "59.0 kg", "5.0 kg more", "saves 12.00 to 14.50 EUR"),
            "Heron, Belt (=BELT): carry 3, not 2",
        ),
        (
            *("Readiness 95.0 %", "95.2 %", "1 point more", "costs 30.00 to 40.00 EUR"),
            "Heron, Belt (=BELT): carry 3, not 2",
        ),
    ]
    assert table.lead[-1] == "1 limit holds nothing back: loosening them all saves nothing."


def test_with_nothing_held_back_the_first_page_says_so_in_a_line():
    slack = make_limit(state="slack", saves_low=0.0, saves_high=0.0, saves=0.0)
    sheet = glance_sheet(explained(limits=(slack, slack)))
    assert all("holds the plan back" not in table.heading for table in sheet.tables)
    assert any(line.startswith("2 limits hold nothing back") for line in sheet.lead)


def test_without_any_limit_the_first_page_says_that():
    run = make_run()
    boats = tuple(
        replace(boat, budget=None, kg_limit=None, litres_limit=None) for boat in run.plan.boats
    )
    free = replace(run, plan=replace(run.plan, boats=boats))
    assert glance_sheet(free).lead[-1].startswith("No limit of money, mass, room or readiness")
    assert "No limit" not in glance_sheet(run).lead[-1]  # Heron has one; nobody asked about it


def test_a_limit_worth_nothing_is_not_said_to_hold_anything_back():
    nothing = make_limit(saves_low=-0.2, saves_high=0.3, saves=0.0)
    little = make_limit(kind="budget", boat="", saves_low=0.0, saves_high=0.6)
    assert limits_to_tell((nothing, little)) == [little]
    assert glance_sheet(explained(limits=(nothing,))).lead[-1] != "1 limit holds nothing back."


def test_a_limit_that_is_half_free_holds_nothing_back_unless_more_is_proven_to_save():
    perhaps = make_limit(limit=60.0, used=31.4, saves_low=0.0, saves_high=27.5)
    assert limits_to_tell((perhaps,)) == []
    proven = make_limit(limit=60.0, used=31.4, saves_low=12.0, saves_high=27.5)
    tight = make_limit(limit=60.0, used=59.0, saves_low=0.0, saves_high=27.5)
    assert limits_to_tell((proven, tight)) == [proven, tight]


def test_a_step_without_time_is_told_only_where_none_of_its_limit_was_solved():
    solved = make_limit(kind="readiness", boat="", step=-0.01)
    unsolved = make_limit(
        kind="readiness", boat="", step=0.01, state="not asked", saves_low=None, saves_high=None
    )
    other = make_limit(kind="budget", boat="", state="not asked", saves_low=None, saves_high=None)
    assert limits_to_tell((solved, unsolved, other)) == [solved, other]


def test_the_first_page_tells_the_first_few_changes():
    changes = tuple(f"Heron, part {k}: carry 1, not 0" for k in range(5))
    (table,) = (
        table
        for table in glance_sheet(explained(limits=(make_limit(changes=changes),))).tables
        if "holds the plan back" in table.heading
    )
    assert table.rows[0].cells[-1].endswith("part 1: carry 1, not 0; and others")


def test_worth_is_never_told_more_surely_than_it_is_proven():
    assert worth_text(make_limit(saves_low=0.0, saves_high=1.5), "EUR") == (
        "saves at most 1.50 EUR, perhaps nothing"
    )
    assert worth_text(make_limit(saves_low=0.0, saves_high=0.0), "EUR") == "saves nothing"
    assert worth_text(make_limit(saves_low=5.0, saves_high=5.001), "EUR") == "saves 5.00 EUR"
    assert worth_text(make_limit(state="no plan", saves_low=None), "EUR") == "no plan is left"
    assert worth_text(make_limit(state="not asked", saves_low=None), "EUR") == "not asked"
    less = {"kind": "readiness", "boat": "", "limit": 0.95, "step": -0.01}
    assert worth_text(make_limit(**less), "EUR") == "saves 12.00 to 14.50 EUR"
    assert brief_worth(make_limit(**less), "EUR") == "saves 12 - 15 EUR"


def test_every_stop_has_words():
    for stop in get_args(Stop):
        assert stops_text(make_line("Heron", "SEAL-7", stopped_by=(stop,)), Measures())


def test_json_says_the_same():
    keys = plan_keys(explained(curves=(make_curve(),)))
    belt = keys["carry"][0]
    assert (belt["last_saves"], belt["one_more_saves"], belt["one_more_cost"]) == (60.0, 20.0, 25.0)
    assert (belt["one_more_kg"], belt["one_more_from"]) == (0.5, "Quayside")
    assert belt["stopped_by"] == ["not worth its price"]
    assert keys["limits"][0]["saves_at_least"] == 12.0
    assert keys["limits"][1] == {
        "limit": "readiness",
        "boat": "",
        "value": 0.95,
        "used": 0.952,
        "step": 0.01,
        "state": "solved",
        "saves": -35.0,
        "saves_at_least": -40.0,
        "saves_at_most": -30.0,
        "changes": ["Heron, Belt (=BELT): carry 3, not 2"],
    }
    (curve,) = keys["curves"]
    assert (curve["against"], curve["now"], len(curve["points"])) == ("budget", 500.0, 9)
    unexplained = plan_keys(make_run())["carry"][0]
    assert unexplained["stopped_by"] is None
    assert list(unexplained) == list(belt)


def test_the_terminal_names_the_limits_that_hold_something_back():
    out = StringIO()
    console = Console(file=out, width=80, highlight=False, markup=False, emoji=False)
    print_plan(console, explained(), [])
    lines = out.getvalue().splitlines()
    (first,) = [k for k, line in enumerate(lines) if "Held back by" in line]
    told = [" ".join(line.split()) for line in lines[first : first + 2]]
    assert told == [
        "Held back by Heron, 60.0 kg 5.0 kg more: saves 12 - 15 EUR",
        "Readiness 95.0 % 1 point more: costs 30 - 40 EUR",
    ]
    assert all(len(line) <= 80 for line in lines)


def test_curves_are_native_charts_over_their_tables(tmp_path):
    run = explained(curves=(make_curve(), make_curve("share of kg", None), make_curve("kg", 60.0)))
    write_workbook(run, tmp_path / "plan.xlsx")
    page = openpyxl.load_workbook(tmp_path / "plan.xlsx")["Curves"]
    charts = page._charts
    assert [len(chart.series) for chart in charts] == [2, 1] * 3
    for chart in charts:
        assert chart.x_axis.delete is False
        for series in chart.series:
            assert series.smooth is False
            # Nine points, from the cells of the page, and no header among them.
            over = page[series.xVal.numRef.f.split("!")[1].replace("$", "")]
            assert [cell[0].value for cell in over] == [100.0 * k for k in range(9)]
            drawn = page[series.yVal.numRef.f.split("!")[1].replace("$", "")]
            assert all(isinstance(cell[0].value, int | float) for cell in drawn)


def test_no_sheet_of_reasons_where_nothing_was_explained():
    assert why_sheets(make_run()) == []


def test_the_levels_of_stores_stand_last_with_their_reasons():
    told = explained(shelves=(make_line("Shed", "seal"),))
    run = replace(told, plan=replace(told.plan, stores=(make_store_line(),)))
    (sheet,) = why_sheets(run)
    assert rows_of(sheet)[-1][:6] == ("Shed", "seal", "seal of something", 5, 60.0, 20.0)
    (keys,) = plan_keys(run)["stores"]
    assert (keys["level"], keys["last_saves"], keys["stopped_by"]) == (
        *(5, 60.0),
        ["not worth its price"],
    )
