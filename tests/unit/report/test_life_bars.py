"""Bars of part lives: from the low end over the mean to the high end, in order of life."""

from dataclasses import replace

import openpyxl
import pytest
from report_builders import make_ageing, make_run

from stockopt.report.life_bars import life_bars_sheet
from stockopt.report.workbook import write_workbook


def with_lives(run, **lives):
    parts = {
        part: make_ageing(part, clock=clock, mean_life=mean, mean_life_low=low, mean_life_high=high)
        for part, (clock, low, mean, high) in lives.items()
    }
    positions = run.lives.positions.iloc[[0] * len(parts)].assign(part=list(parts))
    return replace(
        run,
        ageing=replace(run.ageing, parts=parts),
        lives=replace(run.lives, positions=positions),
    )


def test_bars_end_where_the_interval_does():
    run = with_lives(
        make_run(), B=("hours", 500.0, 800.0, 1500.0), A=("hours", 100.0, 300.0, 9000.0)
    )
    (table,) = life_bars_sheet(run).tables
    rows = [row.cells[1:4] for row in table.rows]
    assert rows == [(100.0, 200.0, 2100.0), (500.0, 300.0, 700.0)]  # cut at 3 x 800
    assert table.chart.kind == "intervals"


def test_each_clock_has_its_own_bars_and_a_page_no_more_than_fit():
    lives = {f"P{k:02d}": ("hours", 90.0, 100.0 + k, 250.0) for k in range(24)}
    run = with_lives(make_run(), **lives, D=("days", 10.0, 20.0, 30.0))
    tables = life_bars_sheet(run).tables
    assert [len(table.rows) for table in tables] == [12, 12, 1]
    assert tables[2].columns[1].title == "Low, days"


@pytest.mark.parametrize(("paper", "number"), [("a4", 9), ("letter", 1)])
def test_the_workbook_is_for_the_paper_asked_for(tmp_path, paper, number):
    run = make_run()
    settings = replace(run.fleet.settings, paper=paper)
    run = replace(run, fleet=replace(run.fleet, settings=settings))
    write_workbook(run, tmp_path / "report.xlsx")
    book = openpyxl.load_workbook(tmp_path / "report.xlsx")
    assert {int(sheet.page_setup.paperSize) for sheet in book.worksheets} == {number}
