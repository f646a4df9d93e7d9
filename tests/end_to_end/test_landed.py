"""stockopt landed on the sample crossing, from the command line to the files."""

import json
from collections import Counter
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from end_to_end_builders import write_fleet

import stockopt.pipeline
from stockopt.cli.main import main

SAMPLE = Path(__file__).parents[2] / "sample_fleet" / "ocean_crossing.xlsx"


def run(*arguments):
    return CliRunner().invoke(main, ["landed", str(SAMPLE), *map(str, arguments)])


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    folder = tmp_path_factory.mktemp("landed")
    done = run("--json", folder / "l.json", "--report", folder / "l.xlsx")
    assert done.exit_code == 0, done.output
    return done.output, json.loads((folder / "l.json").read_text("utf-8")), folder / "l.xlsx"


def test_terminal_is_80_wide_and_ends_with_the_word_on_customs(written):
    output, _, _ = written
    assert all(len(line.rstrip()) <= 80 for line in output.splitlines())
    assert "check it with customs or your agent" in " ".join(output.split())


def test_cheapest_split_costs_no_more_than_either_way_and_covers_the_basket(written):
    _, keys, _ = written
    (port,) = keys["ports"]
    totals = {way["way"]: way["total"] for way in port["ways"]}
    assert totals["cheapest split"] <= min(totals.values()) + 0.05
    wanted = {part["part"]: part["pieces"] for part in port["parts"]}
    for way in port["ways"]:
        got = dict.fromkeys(wanted, 0)
        total = 0.0
        for order in way["orders"]:
            total += order["total"]
            lines = sum(line["landed"] for line in order["lines"])
            assert lines == pytest.approx(order["total"], abs=1e-6)
            for line in order["lines"]:
                got[line["part"]] += line["pieces"]
        assert total == pytest.approx(way["total"], abs=1e-6)
        assert all(got[part] >= wanted[part] for part in wanted)


def test_every_source_adds_up_to_its_landed_cost(written):
    _, keys, _ = written
    sources = [s for port in keys["ports"] for part in port["parts"] for s in part["sources"]]
    assert len(sources) > 40
    for one in sources:
        columns = ("goods", "freight", "duty", "tax", "charges")
        assert sum(one[name] for name in columns) == pytest.approx(one["landed"], abs=1e-6)


def test_workbook_has_both_sheets(written):
    _, _, report = written
    assert openpyxl.load_workbook(report).sheetnames == ["Local or mail order", "Landed cost"]


def test_unknown_ports_and_parts_are_explained(tmp_path):
    done = run("--port", "Nowhere")
    assert done.exit_code == 1
    assert "'Nowhere' no source delivers there" in done.output
    done = run("--part", "SEAL")
    assert done.exit_code == 1
    assert "No basket holds a part 'SEAL'" in done.output
    done = run("--report", tmp_path / "l.csv")
    assert done.exit_code == 2


def test_what_the_plan_buys_is_compared_on_tables_read_once(tmp_path, monkeypatch):
    read, fleets = stockopt.pipeline.read_fleet, []

    def read_and_note(*arguments, **more):
        fleets.append(read(*arguments, **more))
        return fleets[-1]

    monkeypatch.setattr(stockopt.pipeline, "read_fleet", read_and_note)
    fleet, steps = write_fleet(tmp_path / "tiny"), []
    compared = stockopt.pipeline.landed_of_fleet(fleet, {}, steps.append, port=None, of_plan=True)
    assert len(fleets) == steps.count("Reading the tables") == 1
    plan, bought = stockopt.pipeline.plan_fleet(fleet, {}, steps.append).plan, Counter()
    for line in plan.orders:
        bought[line.part] += line.pieces
    (port,) = compared.landed.ports
    assert {part.part: part.wanted.pieces for part in port.parts} == bought
