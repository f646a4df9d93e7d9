"""Files are written beside and moved in; none is replaced unasked; all or none."""

from datetime import date
from pathlib import Path

import pytest

from stockopt.report.files import default_report, find_refusals, write_files

DAY = date(2031, 4, 1)


def write(text):
    return lambda path: path.write_text(text, encoding="utf-8") and None


def fail(path):
    path.write_text("half", encoding="utf-8")
    raise OSError(28, "No space left on device", str(path))


def contents(folder):
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.iterdir())}


def test_files_are_written_and_folders_made(tmp_path):
    write_files(
        [(tmp_path / "new" / "a.txt", write("a")), (tmp_path / "new" / "b.txt", write("b"))],
        overwrite=False,
    )
    assert contents(tmp_path / "new") == {"a.txt": "a", "b.txt": "b"}


def test_when_one_cannot_be_written_nothing_is_left(tmp_path):
    (tmp_path / "a.txt").write_text("old", encoding="utf-8")
    with pytest.raises(OSError, match="No space left"):
        write_files(
            [(tmp_path / "a.txt", write("new")), (tmp_path / "b.txt", fail)], overwrite=True
        )
    assert contents(tmp_path) == {"a.txt": "old"}


def test_a_file_that_is_there_is_kept(tmp_path):
    (tmp_path / "b.txt").write_text("old", encoding="utf-8")
    with pytest.raises(FileExistsError):
        write_files(
            [(tmp_path / "a.txt", write("a")), (tmp_path / "b.txt", write("b"))], overwrite=False
        )
    assert contents(tmp_path) == {"b.txt": "old"}


def test_overwrite_replaces(tmp_path):
    (tmp_path / "a.txt").write_text("old", encoding="utf-8")
    write_files([(tmp_path / "a.txt", write("new"))], overwrite=True)
    assert contents(tmp_path) == {"a.txt": "new"}


def test_the_usual_name_counts_up(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    first = default_report("base", DAY, overwrite=False)
    assert first == Path("reports/base-2031-04-01.xlsx")
    first.parent.mkdir()
    first.touch()
    second = default_report("base", DAY, overwrite=False)
    assert second == Path("reports/base-2031-04-01-2.xlsx")
    second.touch()
    assert default_report("base", DAY, overwrite=False).name == "base-2031-04-01-3.xlsx"
    assert default_report("base", DAY, overwrite=True) == first


def test_the_usual_name_is_one_that_every_system_can_hold():
    assert default_report("a/b:c", DAY, overwrite=False).name == "a-b-c-2031-04-01.xlsx"
    assert default_report(" ..", DAY, overwrite=False).name == "fleet-2031-04-01.xlsx"


def refusals(fleet, overwrite=False, **targets):
    given = {f"--{name}": path for name, path in targets.items()}
    return list(find_refusals(fleet, given, overwrite=overwrite))


def test_what_is_refused(tmp_path):
    fleet = tmp_path / "fleet"
    fleet.mkdir()
    table = fleet / "parts.csv"
    table.touch()
    there = tmp_path / "there.xlsx"
    there.touch()
    assert refusals(fleet, report=tmp_path / "new.xlsx", json=tmp_path / "new.json") == []
    assert refusals(fleet, report=there, overwrite=True) == []
    for why, overwrite, targets in (
        ("there already", False, {"report": there}),
        ("must end in .xlsx", False, {"report": tmp_path / "new.ods"}),
        ("no folder", False, {"json": tmp_path / "absent" / "new.json"}),
        ("own tables", True, {"json": table}),
        ("would be read", False, {"json": fleet / "prices.csv"}),
        ("named twice", False, {"report": tmp_path / "x.xlsx", "json": tmp_path / "x.xlsx"}),
    ):
        found = refusals(fleet, overwrite=overwrite, **targets)
        assert [why in text for _, text in found] == [True], found


def test_the_fleets_own_workbook_is_never_replaced(tmp_path):
    fleet = tmp_path / "fleet.xlsx"
    fleet.touch()
    ((option, why),) = refusals(fleet, overwrite=True, report=fleet)
    assert option == "--report"
    assert "own tables" in why
