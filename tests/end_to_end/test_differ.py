"""Two plans made and compared, as a person does it."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from end_to_end_builders import write_fleet

from stockopt.cli.main import main


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_fleet(tmp_path / "tiny")
    return tmp_path


def invoke(*arguments):
    return CliRunner().invoke(main, list(arguments))


def plan(name, *options, fleet="tiny"):
    done = invoke("plan", fleet, "--json", name, "--gap", "0", "--quiet", *options)
    assert done.exit_code == 0, done.output


def test_two_plans_differ_by_what_one_supposes(here):
    plan("plain.json")
    plan("what.json", "--without", "Far Parts", "--pin", "Osprey:SEAL-7=5")
    same = invoke("differ", "plain.json", "plain.json")
    assert same.exit_code == 0
    assert "No difference." in same.stdout

    done = invoke("differ", "plain.json", "what.json", "--json", "d.json")
    assert done.exit_code == 0, done.output
    assert max(map(len, done.stdout.splitlines())) <= 80
    told = json.loads(Path("d.json").read_text(encoding="utf-8"))
    assert set(told["supposed"]) == {
        "nothing from Far Parts",
        "Osprey carries exactly 5 x SEAL-7",
    }
    seal = next(line for line in told["lines"] if line["part"] == "SEAL-7")
    assert any("carries exactly 5" in reason for reason in seal["reasons"])
    assert any("nothing from Far Parts" in reason for reason in seal["reasons"])
    cost = {change["what"]: change["after"] - change["before"] for change in told["cost"]}
    assert cost["total"] > 0
    later = sum(line["later"] for line in told["lines"]) + told["alike_later"] + told["other_later"]
    assert later == pytest.approx(cost["expected_later"], abs=1e-3)
    assert abs(told["other_later"]) < 10.0  # what is left of packs of gaskets
    now = sum(one["more"] for name in ("orders", "charges") for one in told[name])
    assert now == pytest.approx(cost["spend_now"], abs=1e-3)


def test_other_files_are_refused(here):
    plan("plain.json")
    lives = invoke("lives", "tiny", "--json", "lives.json", "--quiet")
    assert lives.exit_code == 0
    done = invoke("differ", "plain.json", "lives.json")
    assert done.exit_code == 1
    assert "another command" in done.stderr
    assert invoke("differ", "plain.json", "missing.json").exit_code == 2
    assert invoke("differ", "plain.json").exit_code == 2
    taken = invoke("differ", "plain.json", "plain.json", "--json", "plain.json", "--overwrite")
    assert taken.exit_code == 2
    assert "is one of the plans" in taken.stderr
    again = invoke("differ", "plain.json", "plain.json", "--json", "lives.json")
    assert again.exit_code == 2
    assert "--overwrite" in again.stderr
