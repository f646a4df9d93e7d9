"""The commands from the tables to the files, as a person runs them."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from end_to_end_builders import TABLES, snapshot, write_fleet, write_workbook_of

from stockopt.cli.main import main
from stockopt.demand.stretches import write_out_legs
from stockopt.pipeline import plan_fleet
from stockopt.report.fitted_now import chance_on_plan


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_fleet(tmp_path / "tiny")
    return tmp_path


def invoke(*arguments):
    return CliRunner().invoke(main, list(arguments))


def shell(folder, *arguments, **environment):
    return subprocess.run(
        [sys.executable, "-m", "stockopt", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        env={**os.environ, **environment},
    )


def made(folder):
    return [name for name in snapshot(folder) if not name.startswith("tiny")]


def test_plan_from_tables_to_files(here):
    before = snapshot(here / "tiny")
    result = invoke("plan", "tiny", "--json", "plan.json")
    assert result.exit_code == 0, result.output
    assert made(here) == ["plan.json", "reports/tiny-2031-04-01.xlsx"]
    assert snapshot(here / "tiny") == before
    plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    assert plan["status"] in ("optimal", "within gap")
    assert plan["gap"] <= 0.001
    cost = plan["cost"]
    assert cost["spend_now"] + cost["expected_later"] == pytest.approx(cost["total"], abs=2e-6)
    assert plan["bound"] <= cost["total"] + 1e-6
    assert "Osprey" in result.stdout


def test_the_orders_and_their_charges_are_what_is_spent_now(here):
    invoke("plan", "tiny", "--json", "plan.json", "--report", "plan.xlsx")
    plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    assert plan["orders"]
    goods = sum(line["pieces"] * line["landed"] for line in plan["orders"])
    charges = sum(charge["freight"] + charge["handling"] for charge in plan["charges"])
    assert goods + charges == pytest.approx(plan["cost"]["spend_now"], abs=1e-4)
    page = openpyxl.load_workbook(here / "plan.xlsx")["Buy"]
    sums = [c for row in page.iter_rows() for c in row if c.style == "stockopt total money"]
    assert [cell.value for cell in sums if cell.value is not None] == [
        pytest.approx(plan["cost"]["spend_now"], abs=1e-6)
    ]


def test_the_stow_lists_weigh_what_the_boats_carry(here):
    invoke("plan", "tiny", "--json", "plan.json")
    plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    for boat in plan["boats"]:
        lines = [line for line in plan["carry"] if line["boat"] == boat["boat"]]
        assert sum(line["kg"] for line in lines) == pytest.approx(boat["kg"])
        for line in lines:
            needed = line["carry"] + line["replace_now"]
            assert line["on_hand"] + line["moved"] + line["buy"] >= needed
            assert line["carry"] >= line["carry_at_least"]


def test_options_reach_the_plan(here):
    invoke("plan", "tiny", "--json", "free.json")
    free = json.loads((here / "free.json").read_text(encoding="utf-8"))
    budget = 0.75 * free["cost"]["spend_now"]
    result = invoke("plan", "tiny", "--json", "tight.json", "--budget", str(budget))
    assert result.exit_code == 0, result.output
    tight = json.loads((here / "tight.json").read_text(encoding="utf-8"))
    assert tight["cost"]["spend_now"] <= budget + 1e-6
    assert tight["cost"]["total"] >= free["bound"] - 1e-6


def test_planned_on_reaches_the_plan(here):
    result = invoke("plan", "tiny", "--json", "plan.json", "--planned-on", "2031-04-10")
    assert result.exit_code == 0, result.output
    assert (
        json.loads((here / "plan.json").read_text(encoding="utf-8"))["planned_on"] == "2031-04-10"
    )
    assert "reports/tiny-2031-04-10.xlsx" in made(here)


def test_a_floor_that_the_boat_cannot_bear_is_no_plan(here):
    heavy = TABLES["parts"].replace(
        '"Bilge pump, electric",days,random,1100,70,0.8', "B,days,,900,70,90"
    )
    assert heavy != TABLES["parts"]
    write_fleet(here / "heavy", parts=heavy)
    result = invoke("plan", "heavy", "--json", "plan.json")
    assert result.exit_code == 3, result.output
    assert "No plan keeps all the limits" in result.stderr
    plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    assert (plan["status"], plan["fleet"], plan["currency"]) == ("no plan", "heavy", "EUR")
    assert plan["clashes"]
    assert not (here / "reports").exists()


@pytest.mark.parametrize("planned_on", ["2031-12-31", "2032-06-01"])
def test_no_leg_to_come_is_no_plan_of_nothing(here, planned_on):
    result = invoke("plan", "tiny", "--planned-on", planned_on)
    assert result.exit_code == 1, result.output
    assert f"legs, column departs_on: no leg departs on {planned_on}" in result.stderr
    assert not made(here)
    assert invoke("lives", "tiny", "--planned-on", planned_on).exit_code == 0


@pytest.mark.parametrize("command", ["plan", "lives"])
def test_tables_of_headings_alone_need_parts(here, command):
    headings = {name: text.lstrip().splitlines()[0] + "\n" for name, text in TABLES.items()}
    write_fleet(here / "headings", **headings)
    result = invoke(command, "headings")
    assert result.exit_code == 1, result.output
    assert "parts: has no row: list the parts of the fleet" in result.stderr


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (
            {name: TABLES[name].lstrip().splitlines()[0] for name in ("fitted", "replacements")},
            "fitted: has no row: list which parts each model of machine holds",
        ),
        (
            {
                "boats": TABLES["boats"] + "Tern,Port Amber,Base,60,,600\n",
                "legs": TABLES["legs"]
                .replace("Heron", "Tern")
                .replace("Osprey,2031-05-03", "Tern,2031-08-03"),
            },
            "fitted: fits no part to any boat with legs to come",
        ),
    ],
)
def test_nothing_fitted_is_no_plan_of_nothing(here, changed, said):
    write_fleet(here / "bare", **changed)
    result = invoke("plan", "bare")
    assert result.exit_code == 1, result.output
    assert said in result.stderr
    assert not (here / "reports").exists()


def test_a_missing_table_and_a_wrong_cell_are_told_together(here):
    parts = TABLES["parts"].replace(",0.15,", ",-0.15,")
    write_fleet(here / "broken", legs="", parts=parts)
    for command in ("plan", "check", "lives"):
        result = invoke(command, "broken")
        assert result.exit_code == 1
        assert "things in the tables need mending" in result.stderr
        assert "legs" in result.stderr
        assert "parts.csv, row 2, column kg: '-0.15'" in result.stderr
    assert not [name for name in made(here) if not name.startswith("broken")]


@pytest.mark.parametrize("command", ["plan", "check", "lives"])
def test_a_folder_that_is_no_fleet(here, command):
    (here / "empty").mkdir()
    (here / "notes.txt").write_text("hello", encoding="utf-8")
    for path in ("empty", "notes.txt"):
        result = invoke(command, path)
        assert result.exit_code == 1, result.output
        assert "Traceback" not in result.stderr
    assert made(here) == ["notes.txt"]


def test_check_and_lives(here):
    check = invoke("check", "tiny")
    assert check.exit_code == 0, check.output
    assert "no errors" in check.stdout
    assert "replacements" in check.stdout
    lives = invoke("lives", "tiny", "--json", "lives.json")
    assert lives.exit_code == 0, lives.output
    assert "Shaft seal" in lives.stdout
    parts = json.loads((here / "lives.json").read_text(encoding="utf-8"))["lives"]
    seal = next(part for part in parts if part["part"] == "SEAL-7")
    assert seal["failures"] == 2
    assert seal["exposure"] == pytest.approx(1380 + 1510 + 1495)
    assert made(here) == ["lives.json"]


def test_one_part_from_tables_to_words_and_files(here):
    result = invoke("lives", "tiny", "--part", "seal-7", "--json", "seal.json")
    assert result.exit_code == 0, result.output
    assert "702" in result.stdout
    keys = json.loads((here / "seal.json").read_text(encoding="utf-8"))
    (life,) = keys["lives"]
    assert life["pieces_watched"] == len(keys["pieces"]) == 5
    ages = [piece["left"] for piece in keys["pieces"] if piece["failed"]]
    assert keys["survival"]["age"] == sorted(ages) == [pytest.approx(702), pytest.approx(1210)]
    # Of the five only Heron's, Osprey's second at port (808 h) and both at starboard but the one
    # fitted last (285 h) were watched to 702 h: four of them; to 1,210 h two.
    assert keys["survival"]["survival"] == pytest.approx([3 / 4, 3 / 8])
    assert max(keys["fitted"]["high"]) <= 1.0
    assert life["oldest"]["age"] == pytest.approx(1380.0)
    assert life["oldest"]["boat"] == "Heron"
    assert 0.0 < life["oldest"]["chance"] < 1.0
    wrong = invoke("lives", "tiny", "--part", "SEAL-8")
    assert wrong.exit_code == 1
    assert "SEAL-7  Shaft seal" in wrong.stderr


def test_a_picture_is_drawn_from_the_tables(here):
    pytest.importorskip("matplotlib")
    result = shell(here, "lives", "tiny", "--part", "IMP-1", "--picture", "imp.svg", "--quiet")
    assert (result.returncode, result.stdout) == (0, ""), result.stderr
    assert "Impeller, raw-water pump" in (here / "imp.svg").read_text(encoding="utf-8")


def test_what_is_known_of_a_part_is_shown_in_every_form(here):
    invoke("plan", "tiny", "--json", "plan.json", "--report", "plan.xlsx")
    plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    book = openpyxl.load_workbook(here / "plan.xlsx")
    rows = [[cell.value for cell in row] for row in book["Part lives"].iter_rows()]
    (header,) = [row for row in rows if row[0] == "Part"]
    of_part = {row[0]: dict(zip(header, row, strict=True)) for row in rows}
    fitted = 0
    for life in plan["lives"]:
        shown = of_part[life["part"]]
        assert shown["Failures"] == life["failures"]
        assert shown["How it ages"] == life["ages"]
        if life["oldest"] is None:
            continue
        fitted += 1
        assert life["oldest"]["boat"] in shown["Oldest piece now fitted"]
        chance = shown["Chance it fails in 100 h / 90 days"]
        assert chance == pytest.approx(life["oldest"]["chance"])
    assert fitted == 4


def test_the_chance_of_failing_on_the_plan_is_the_forecasts_own(here):
    """Two ways to one number: one piece fitted, and the chance of at least one piece needed."""
    run = plan_fleet(here / "tiny", {}, lambda _: None)
    voyages = write_out_legs(run.fleet)
    places = run.lives.positions
    compared = 0
    for (boat, part), demand in run.demand.parts.items():
        if demand.positions != 1 or part == "GSK-1":
            continue
        (place,) = places[(places["boat"] == boat) & (places["part"] == part)].to_dict("records")
        chance = chance_on_plan(place, voyages[boat], run.ageing)
        assert chance == pytest.approx(1.0 - demand.whole[0, 0], abs=1e-4)
        compared += 1
    assert compared == 3


def test_the_same_tables_give_the_same_json(here):
    for name in ("one.json", "two.json"):
        invoke("plan", "tiny", "--quiet", "--json", name)
    one, two = (
        {**json.loads((here / name).read_text(encoding="utf-8")), "seconds": 0}
        for name in ("one.json", "two.json")
    )
    assert one == two


def test_a_folder_and_a_workbook_of_the_same_tables_give_the_same_plan(here):
    write_workbook_of(here / "tiny", here / "book.xlsx")
    plans = []
    for fleet in ("tiny", "book.xlsx"):
        result = invoke("plan", fleet, "--quiet", "--json", f"{fleet}.json")
        assert result.exit_code == 0, result.output
        plan = json.loads((here / f"{fleet}.json").read_text(encoding="utf-8"))
        plans.append({**plan, "fleet": "", "seconds": 0})
    assert plans[0] == plans[1]


@pytest.mark.full
@pytest.mark.parametrize("sample", ["charter_base", "ocean_crossing.xlsx"])
def test_the_samples_are_planned_within_the_gap_and_add_up(here, sample):
    fleet = Path(__file__).parents[2] / "sample_fleet" / sample
    result = invoke("plan", str(fleet), "--json", "plan.json", "--report", "plan.xlsx")
    assert result.exit_code == 0, result.output
    plan = json.loads((here / "plan.json").read_text(encoding="utf-8"))
    assert plan["gap"] <= 0.001
    goods = sum(line["pieces"] * line["landed"] for line in plan["orders"])
    charges = sum(charge["freight"] + charge["handling"] for charge in plan["charges"])
    assert goods + charges == pytest.approx(plan["cost"]["spend_now"], abs=1e-3)
    page = openpyxl.load_workbook(here / "plan.xlsx")["Buy"]
    sums = [c for row in page.iter_rows() for c in row if c.style == "stockopt total money"]
    assert [cell.value for cell in sums if cell.value is not None] == [
        pytest.approx(plan["cost"]["spend_now"], abs=1e-6)
    ]


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (("plan", "tiny", "--quiet"), 0),
        (("check", "broken"), 1),
        (("plan", "absent"), 2),
        (("plan", "heavy"), 3),
    ],
)
def test_exit_codes_reach_the_shell(here, arguments, code):
    write_fleet(here / "broken", legs="")
    heavy = TABLES["boats"].replace("Port Amber,Base,60", "Port Amber,Base,0.1")
    write_fleet(here / "heavy", boats=heavy)
    result = shell(here, *arguments)
    assert result.returncode == code, result.stderr
    assert "Traceback" not in result.stderr
    if code:
        assert result.stdout == ""
        assert result.stderr
    else:
        assert (result.stdout, result.stderr) == ("", "")


def test_a_terminal_that_knows_only_ascii(here):
    boats = TABLES["boats"].replace("Heron", "Hérisson")
    legs = TABLES["legs"].replace("Heron", "Hérisson")
    others = {
        name: TABLES[name].replace("Heron", "Hérisson")
        for name in ("machines", "readings", "replacements", "stock")
    }
    write_fleet(here / "accents", boats=boats, legs=legs, **others)
    result = shell(here, "plan", "accents", PYTHONIOENCODING="ascii", PYTHONUTF8="0", LC_ALL="C")
    assert result.returncode == 0, result.stderr
    assert "H?risson" in result.stdout


def test_a_reader_that_goes_away_is_no_error(here):
    command = [sys.executable, "-m", "stockopt", "check", "tiny"]
    with subprocess.Popen(
        command, cwd=here, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        running.stdout.close()
        words = running.stderr.read().decode()
    assert "Traceback" not in words
    assert "bug" not in words


def test_help_comes_at_once(here):
    shell(here, "--help")
    started = time.perf_counter()
    result = shell(here, "--help")
    assert result.returncode == 0
    # 0.2 s when measured alone; the loose limit is for a busy machine.
    assert time.perf_counter() - started < 1.5


def test_help_loads_no_heavy_library(here):
    code = (
        "import sys, stockopt.cli.main;"
        "print(sorted({'numpy', 'pandas', 'scipy', 'pulp', 'openpyxl', 'rich'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
