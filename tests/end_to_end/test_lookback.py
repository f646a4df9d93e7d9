"""`stockopt lookback`: a plan of the past, met by what failed after it."""

from pathlib import Path

import openpyxl
import pytest
from end_to_end_builders import TABLES, run, run_to_json, write_fleet, write_shuffled

SAMPLES = Path(__file__).parents[2] / "sample_fleet"
SINCE = ("--from", "2030-01-01")


def look_back(fleet, out, *options):
    return run_to_json(out, "lookback", fleet, *options)


@pytest.fixture(scope="module")
def tiny(tmp_path_factory):
    return write_fleet(tmp_path_factory.mktemp("fleets") / "tiny")


@pytest.fixture(scope="module")
def usual(tiny):
    """Return what is printed, the keys, and the workbook."""
    book = tiny.parent / "back.xlsx"
    text, keys = look_back(tiny, tiny.parent / "back.json", *SINCE, "--report", book)
    return text, keys, book


def test_all_of_it_is_printed_and_written(usual):
    text, keys, book = usual
    assert max(len(line) for line in text.splitlines()) <= 80
    for words in (
        "looked back on 2030-01-01 to 2031-01-01",
        "carry nothing",
        "nothing is taken to have been there",
        "With fewer than 10 failures nothing can be told",
    ):
        assert words in " ".join(text.split())
    # 2 replacements by that day; 4 pieces after it, the scheduled one of a part with no schedule.
    assert keys["records"] == 2
    assert keys["not_counted"] == {"planned": 1, "proved": 0, "not_fitted": 0}
    assert {part["part"]: part["failed"] for part in keys["parts"]} == {
        "IMP-1": 0,
        "SEAL-7": 1,
        "BILGE-2": 0,
        "LAMP-3": 1,
    }
    for one in (keys["plan"], *keys["rules"]):
        assert one["needed"] + one["avoided"] == 2
        assert one["covered"] + one["short"] == one["needed"]
    assert keys["plan"]["short"] == len(keys["plan"]["missed"])
    workbook = openpyxl.load_workbook(book)
    short = ["Short"] if keys["plan"]["missed"] else []
    assert workbook.sheetnames == ["Looked back", "Counts", *short]
    (money,) = workbook["Looked back"]._charts
    (counts,) = workbook["Counts"]._charts
    assert (len(money.series), len(counts.series)) == (1, 3)


@pytest.mark.parametrize(("paper", "number"), [("a4", 9), ("letter", 1)])
def test_the_workbook_is_for_the_paper_of_the_fleet(tmp_path, paper, number):
    fleet = write_fleet(tmp_path / "tiny")
    with (fleet / "settings.toml").open("a", encoding="utf-8") as settings:
        settings.write(f'paper = "{paper}"\n')
    book = tmp_path / "back.xlsx"
    look_back(fleet, tmp_path / "back.json", *SINCE, "--report", book)
    pages = openpyxl.load_workbook(book).worksheets
    assert {int(page.page_setup.paperSize) for page in pages} == {number}


def test_money_adds_up(usual):
    _, keys, _ = usual
    for one in (keys["plan"], *keys["rules"]):
        paid = sum(one[name] for name in ("fitting", "failing", "shortages", "restocking"))
        total = one["spend_now"] + paid + one["stores"] - one["worth_left"]
        assert one["total"] == pytest.approx(total, abs=1e-5)
    assert [rule["name"] for rule in keys["rules"]][:2] == ["carry nothing", "one of each"]


def test_what_came_later_is_not_known_to_the_plan(usual, tmp_path):
    known = [row for row in TABLES["replacements"].strip().splitlines() if "2030" not in row]
    # The hours of the season are those that were really run.
    seen = "Heron,engine,2030-05-11,1010\nOsprey,starboard engine,2030-08-20,1210\n"
    forgetful = write_fleet(
        tmp_path / "fleet",
        replacements="\n".join(known) + "\n",
        readings=TABLES["readings"] + seen,
    )
    _, knowing, _ = usual
    _, other = look_back(forgetful, tmp_path / "other.json", *SINCE)
    assert other["plan"]["needed"] == 0
    told = {boat["boat"]: (boat["told_need"], boat["readiness"]) for boat in knowing["boats"]}
    assert told == {boat["boat"]: (boat["told_need"], boat["readiness"]) for boat in other["boats"]}
    assert knowing["plan"]["spend_now"] == other["plan"]["spend_now"]


def test_it_does_not_depend_on_the_order_of_rows(tiny, usual, tmp_path):
    shuffled = write_shuffled(tiny, tmp_path / "tiny", seed=3)
    _, other = look_back(shuffled, tmp_path / "other.json", *SINCE)
    assert other == usual[1]


def test_a_boat_that_joined_later_does_not_stand_in_the_way(tiny, tmp_path):
    fleet = write_fleet(
        tmp_path / "fleet",
        boats=TABLES["boats"].replace("day_cost", "day_cost,joined_on")
        + "Kite,Port Amber,Base,60,,600,2030-06-01\n",
        machines=TABLES["machines"] + "Kite,engine,Diesel A,2030-06-01,0\n",
        readings=TABLES["readings"] + "Kite,engine,2030-06-01,0\nKite,engine,2031-03-01,300\n",
    )
    text, keys = look_back(fleet, tmp_path / "back.json", *SINCE)
    assert [boat["boat"] for boat in keys["boats"]] == ["Heron", "Osprey"]
    assert "Kite has no record by 2030-01-01" in " ".join(text.split())


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--from", "2027-01-01"), "the first record is of 2028-01-10"),
        (("--from", "2031-04-01"), "the last record is of 2031-04-01"),
        (("--from", "2030-01-01", "--until", "2029-12-31"), "is not after 2030-01-01"),
        (("--from", "the spring"), "the spring"),
        ((), "--from"),
    ],
)
def test_a_day_that_cannot_be_looked_back_to_is_refused_in_words(tiny, options, words):
    result = run("lookback", tiny, *options)
    assert result.exit_code == 2
    assert words in " ".join(result.stderr.split())
    assert "Traceback" not in result.stderr


def test_where_no_failure_was_known_it_says_so(tmp_path):
    later = TABLES["replacements"].replace("2029-", "2030-")
    fleet = write_fleet(tmp_path / "fleet", replacements=later)
    text, keys = look_back(fleet, tmp_path / "back.json", *SINCE)
    assert keys["failures_known"] == 0
    assert "the forecast is what parts are expected to last, and no more" in " ".join(text.split())


def test_the_crossing_looks_back(tmp_path):
    sample = SAMPLES / "ocean_crossing.xlsx"
    _, keys = look_back(sample, tmp_path / "back.json", "--from", "2029-09-01", "--gap", "1%")
    assert keys["scores"]["verdict"] == "too few"
    assert keys["plan"]["needed"] > 0
    assert all(keys["plan"]["total"] <= rule["total"] for rule in keys["rules"])


def look_at_the_base(tmp_path, *options):
    base = SAMPLES / "charter_base"
    options = ("--from", "2030-03-01", "--gap", "2%", *options)
    _, keys = look_back(base, tmp_path / "back.json", *options)
    assert len(keys["boats"]) == 8
    assert abs(keys["scores"]["covered"] - keys["scores"]["told"]) < 0.1
    return keys


def test_the_charter_base_looks_back_on_a_month(tmp_path):
    keys = look_at_the_base(tmp_path, "--until", "2030-03-22", "--seconds", "3")
    assert keys["plan"]["needed"] > 0


@pytest.mark.full
def test_the_charter_base_looks_back_on_a_year(tmp_path):
    keys = look_at_the_base(tmp_path)
    assert all(keys["plan"]["total"] < rule["total"] for rule in keys["rules"])
    assert keys["scores"]["verdict"] in {"better", "no difference"}
