"""Answers that explain themselves, from the command line to the files."""

import itertools
import json

import openpyxl
import pytest
from click.testing import CliRunner
from end_to_end_builders import write_fleet

from stockopt.cli.main import main


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_fleet(tmp_path / "tiny")
    return tmp_path


def plan(here, *arguments):
    """Return the plan as JSON, and what was printed."""
    done = CliRunner().invoke(
        main,
        ["plan", "tiny", "--json", "plan.json", "--report", "plan.xlsx", "--overwrite", *arguments],
    )
    assert done.exit_code == 0, done.output
    return json.loads((here / "plan.json").read_text(encoding="utf-8")), done.output


def test_every_line_says_why_and_a_tight_budget_is_named_with_its_worth(here):
    free, printed = plan(here)
    assert "Held back by  no limit" in printed
    assert free["curves"] == []
    for line in free["carry"]:
        assert line["stopped_by"], line
        if line["stopped_by"][0] == "not worth its price":
            assert line["one_more_saves"] <= line["one_more_cost"] + 0.005
    floor = [line for line in free["carry"] if line["carry_at_least"] == line["carry"] > 0]
    assert floor
    assert all(line["at_floor"] for line in floor)

    budget = 0.6 * free["cost"]["spend_now"]
    tight, printed = plan(here, "--budget", f"{budget:.2f}")
    assert any("the fleet's budget" in line["stopped_by"] for line in tight["carry"])
    (limit,) = [why for why in tight["limits"] if why["limit"] == "budget"]
    assert limit["state"] == "solved"
    more, _ = plan(here, "--budget", f"{budget + limit['step']:.2f}", "--no-explain")
    worth = tight["cost"]["total"] - more["cost"]["total"]
    slack = 0.001 * (tight["cost"]["total"] + more["cost"]["total"])
    assert limit["saves_at_least"] - slack <= worth <= limit["saves_at_most"] + slack
    assert "EUR more: saves" in printed
    asked = openpyxl.load_workbook(here / "plan.xlsx")
    assert "Why" in asked.sheetnames


def test_without_asking_limits_are_named_but_not_weighed(here):
    free, _ = plan(here, "--no-explain")
    tight, printed = plan(
        here, "--no-explain", "--budget", f"{0.6 * free['cost']['spend_now']:.2f}"
    )
    (limit,) = [why for why in tight["limits"] if why["limit"] == "budget"]
    assert (limit["state"], limit["saves"]) == ("not asked", None)
    assert "saves ? EUR" in printed


def test_curves_of_money_and_kilos_in_the_json_and_as_charts(here):
    drawn, _ = plan(here, "--curve", "--no-explain")
    assert [curve["against"] for curve in drawn["curves"]] == ["budget", "share of kg"]
    for curve in drawn["curves"]:
        assert len(curve["points"]) >= 9
        for less, more in itertools.pairwise(curve["points"]):
            assert less["limit"] < more["limit"]
            assert more["total"] <= less["total"] + 1e-6
        for point in curve["points"]:
            assert point["bound"] <= point["total"] + 1e-6
            assert point["gap"] <= 0.001 + 1e-9
            assert 0.0 <= point["readiness"] <= 1.0
    last = drawn["curves"][0]["points"][-1]
    assert last["total"] == pytest.approx(drawn["cost"]["total"], rel=2e-3)
    page = openpyxl.load_workbook(here / "plan.xlsx")["Curves"]
    assert len(page._charts) == 4
