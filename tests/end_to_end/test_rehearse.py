"""`stockopt rehearse`: the whole way, and plans that meet the seasons they were told of."""

import json
from pathlib import Path

import openpyxl
import pytest
from end_to_end_builders import run, run_to_json, write_fleet, write_shuffled

SAMPLES = Path(__file__).parents[2] / "sample_fleet"


def rehearse(fleet, out, *options):
    return run_to_json(out, "rehearse", fleet, *options)


@pytest.fixture(scope="module")
def tiny(tmp_path_factory):
    return write_fleet(tmp_path_factory.mktemp("fleets") / "tiny")


@pytest.fixture(scope="module")
def plan_file(tiny):
    path = tiny.parent / "plan.json"
    result = run("plan", tiny, "--json", path, "--report", path.with_suffix(".xlsx"), "--quiet")
    assert result.exit_code == 0, result.output
    return path


@pytest.mark.parametrize(
    "sample", ["ocean_crossing.xlsx", pytest.param("charter_base", marks=pytest.mark.full)]
)
def test_the_samples_meet_their_seasons(sample, tmp_path):
    options = ("--seasons", 2_000, "--no-rules", "--gap", "2%")
    _, keys = rehearse(SAMPLES / sample, tmp_path / "seen.json", *options)
    assert [one["what"] for one in keys["totals"] if not one["agrees"]] == []
    assert keys["differing"] == []
    assert keys["compared"] >= 160
    assert all(boat["readiness"]["agrees"] for boat in keys["boats"])
    assert sum(keys["money_out"]["seasons"]) == 2_000


#: Pumps and lamps fail at random. Bought today a pump keeps to 21 May; eight weeks end on 28 June.
DATED = {
    "parts": """
part,name,clock,wear,expected_life,price,consequence,carry_at_least,shelf_life_days
IMP-1,"Impeller, raw-water pump",hours,wears,600,45,stops,,
GSK-1,"Gasket, raw-water pump cover",hours,,,6,stops,,
SEAL-7,"Shaft seal, raw-water pump",hours,wears,700,25,stops,,
BILGE-2,"Bilge pump, electric",days,random,400,70,limits,1,50
LAMP-3,"Lamp, navigation light",days,random,200,60,nuisance,1,
""",
    "stock": """
place,part,on_hand,expires_on
Heron,LAMP-3,2,2031-05-20
Osprey,LAMP-3,2,2031-06-10
""",
    "legs": """
boat,departs_on,days,to_port,hours,times
Heron,2031-05-03,7,Away,25,8
Osprey,2031-05-03,7,Away,25,8
""",
    "ports": """
port,price_factor,wait_days
Port Amber,1.5,1
Away,,4
""",
}


def test_spares_that_expire_under_way_meet_their_seasons_too(tmp_path):
    fleet = write_fleet(tmp_path / "dated", **DATED)
    out, plan = tmp_path / "seen.json", tmp_path / "plan.json"
    files = ("--json", plan, "--report", plan.with_suffix(".xlsx"))
    assert run("plan", fleet, *files, "--no-explain", "--quiet").exit_code == 0
    options = ("--plan", plan, "--no-rules", "--seasons", 10_000)
    _, keys = rehearse(fleet, out, *options)
    assert [one["what"] for one in keys["totals"] if not one["agrees"]] == []
    assert keys["differing"] == []
    # Played as if they kept, the same plan would look far better than it tells.
    kept = DATED["parts"].replace(",1,50", ",1,")
    undated = write_fleet(tmp_path / "undated" / "dated", **DATED | {"parts": kept})
    _, better = rehearse(undated, out, *options)
    short = {one["what"]: one for one in better["totals"]}["pieces short"]
    assert not short["agrees"]
    assert short["seen"]["high"] < 0.5 * short["told"]


def test_all_of_it_is_printed_and_written(tiny, tmp_path):
    book = tmp_path / "seen.xlsx"
    text, keys = rehearse(
        tiny, tmp_path / "seen.json", "--seasons", 500, "--stress", "--report", book
    )
    assert max(len(line) for line in text.splitlines()) <= 80
    for words in ("all boats ready", "1 in 10 takes more", "one of each", "Worse circumstances"):
        assert words in text
    assert [one["rule"]["name"] for one in keys["rules"]] == [
        "carry nothing",
        "one of each",
        "last year's use",
        "twice last year's use",
    ]
    assert len(keys["stresses"]) >= 3
    workbook = openpyxl.load_workbook(book)
    assert "Rehearsal" in workbook.sheetnames
    (chart,) = workbook["Rehearsal"]._charts
    assert len(chart.series) == 1


def test_workbooks_are_for_the_paper_and_in_the_units_of_the_fleet(tmp_path):
    fleet = write_fleet(tmp_path / "letter")
    settings = (fleet / "settings.toml").read_text(encoding="utf-8")
    settings += 'paper = "letter"\nmass_unit = "lb"\n'
    (fleet / "settings.toml").write_text(settings, encoding="utf-8")
    boats = (fleet / "boats.csv").read_text(encoding="utf-8")
    (fleet / "boats.csv").write_text(boats.replace(",60,", ",1,"), encoding="utf-8")
    book = tmp_path / "seen.xlsx"
    rehearse(fleet, tmp_path / "seen.json", "--seasons", 200, "--report", book)
    pages = openpyxl.load_workbook(book).worksheets
    assert {int(page.page_setup.paperSize) for page in pages} == {1}
    broken = [str(cell.value) for cell in pages[0]["H"] if "of 2.2 lb" in str(cell.value)]
    assert any("Heron: " in words for words in broken)
    assert not any(" kg" in str(cell.value) for page in pages for row in page for cell in row)


def test_the_plan_beats_rules_of_thumb_with_their_own_money(tiny, tmp_path):
    _, keys = rehearse(tiny, tmp_path / "seen.json", "--seasons", 4_000)
    for one in keys["rules"]:
        cheaper = one["saves"]["mean"] >= -0.005
        readier = one["same_money"]["readiness"]["mean"] > one["rule"]["readiness"]["mean"]
        assert cheaper or readier, one["rule"]["name"]


def test_a_plan_made_before_meets_the_same_seasons(tiny, plan_file, tmp_path):
    options = ("--seasons", 300, "--no-rules")
    _, planned = rehearse(tiny, tmp_path / "planned.json", *options)
    _, taken = rehearse(tiny, tmp_path / "taken.json", *options, "--plan", plan_file)
    assert taken["plan"] == planned["plan"]
    assert [one["seen"] for one in taken["totals"]] == [one["seen"] for one in planned["totals"]]


def test_seasons_do_not_depend_on_the_order_of_rows(tiny, plan_file, tmp_path):
    shuffled = write_shuffled(tiny, tmp_path / "tiny", seed=5)
    options = ("--seasons", 300, "--no-rules", "--plan", plan_file)
    _, usual = rehearse(tiny, tmp_path / "usual.json", *options)
    _, other = rehearse(shuffled, tmp_path / "other.json", *options)
    assert other == usual


def other_fleet(keys):
    keys["fleet"] = "another"


def other_day(keys):
    keys["planned_on"] = "2031-04-02"


def unknown_boat(keys):
    keys["boats"][0]["boat"] = "Nowhere"


def unknown_part(keys):
    keys["carry"][0]["part"] = "XYZ-9"


def no_number(keys):
    keys["carry"][0]["carry"] = "two"


def no_plan(keys):
    keys["status"] = "no plan"


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (other_fleet, "another fleet's plan"),
        (other_day, "--planned-on"),
        (unknown_boat, "Nowhere"),
        (unknown_part, "XYZ-9"),
        (no_number, "carry[0].carry"),
        (no_plan, "nothing to rehearse"),
        (dict.clear, "is not a plan"),
    ],
)
def test_a_plan_that_does_not_fit_is_refused_in_words(tiny, plan_file, tmp_path, spoil, words):
    keys = json.loads(plan_file.read_text(encoding="utf-8"))
    spoil(keys)
    spoilt = tmp_path / "spoilt.json"
    spoilt.write_text(json.dumps(keys), encoding="utf-8")
    result = run("rehearse", tiny, "--plan", spoilt)
    assert result.exit_code == 1
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_a_file_that_is_no_json_is_refused(tiny, tmp_path):
    spoilt = tmp_path / "plan.json"
    spoilt.write_text("boat,part\n", encoding="utf-8")
    result = run("rehearse", tiny, "--plan", spoilt)
    assert result.exit_code == 1
    assert "is not JSON" in result.stderr
