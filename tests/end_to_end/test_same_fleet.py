"""One fleet is one plan, whatever it is written in and in whatever order."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from end_to_end_builders import write_fleet, write_folder_of, write_shuffled, write_workbook_of

from stockopt.cli.main import main

SAMPLES = Path(__file__).parents[2] / "sample_fleet"


def plan(fleet, folder, *more):
    """Return the whole plan but its name, the seconds it took, and in which row a note stands."""
    out = folder / "plan.json"
    arguments = ["--json", str(out), "--report", str(folder / "plan.xlsx"), "--overwrite"]
    result = CliRunner().invoke(main, ["plan", str(fleet), "--quiet", *arguments, *more])
    assert result.exit_code == 0, result.output
    keys = json.loads(out.read_text(encoding="utf-8"))
    notes = sorted((note["table"], note["column"], note["text"]) for note in keys["notes"])
    return {**keys, "fleet": "", "seconds": 0, "notes": notes}


def test_shuffled_tables_give_the_same_plan(tmp_path):
    fleet = write_fleet(tmp_path / "tiny")
    shuffled = write_shuffled(fleet, tmp_path / "shuffled", seed=3)
    assert plan(fleet, tmp_path) == plan(shuffled, tmp_path)


@pytest.mark.full
def test_the_charter_base_in_every_form(tmp_path):
    fleet = SAMPLES / "charter_base"
    # What limits are worth is asked as long as there is time, which is not the same every time.
    first = plan(fleet, tmp_path, "--no-explain")
    book = write_workbook_of(fleet, tmp_path / "book.xlsx")
    assert plan(book, tmp_path, "--no-explain") == first
    shuffled = write_shuffled(fleet, tmp_path / "shuffled", seed=4)
    assert plan(shuffled, tmp_path, "--no-explain") == first


@pytest.mark.full
def test_the_ocean_crossing_in_every_form(tmp_path):
    book = SAMPLES / "ocean_crossing.xlsx"
    first = plan(book, tmp_path)
    folder = write_folder_of(book, tmp_path / "folder")
    assert plan(folder, tmp_path) == first
    assert plan(write_shuffled(folder, tmp_path / "shuffled", seed=5), tmp_path) == first
