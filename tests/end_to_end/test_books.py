"""Keeping the books, as people do it: alone, together, and when something goes wrong."""

import json
import os
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner
from end_to_end_builders import TABLES, snapshot, write_fleet, write_workbook_of

import stockopt.books.keep
import stockopt.books.lock
from stockopt.books.events import Count, Use
from stockopt.books.keep import keep_books
from stockopt.books.lock import lock_path, locked, note_moves
from stockopt.cli.main import main
from stockopt.errors import InputError, StockoptError
from stockopt.fleet.read import read_fleet

USE = ("--boat", "heron", "--machine", "engine", "--part", "imp-1", "--on", "2031-04-01")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return write_fleet(tmp_path / "tiny")


@pytest.fixture(params=["tiny", "tiny.xlsx"])
def fleet(request, folder):
    if request.param.endswith(".xlsx"):
        write_workbook_of(folder, folder.parent / request.param)
    return request.param


def invoke(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def stock_of(fleet):
    stock = read_fleet(Path(fleet)).stock
    return {
        (place, part): int(count)
        for place, part, count in zip(stock["place"], stock["part"], stock["on_hand"], strict=True)
    }


def test_what_was_used_came_and_was_counted_stands_in_the_tables(fleet):
    used = invoke("use", fleet, *USE, "--reason", "WORN", "--hours", "1370.5", "--note", "a, b")
    assert used.exit_code == 0, used.output
    came = invoke(
        "receive", fleet, "--place", "base", "--part", "IMP-1", "--quantity", 3, *USE[-2:]
    )
    assert came.exit_code == 0, came.output
    counted = invoke(
        "count", fleet, "--place", "Base", "--part", "LAMP-3", "--on-hand", 5, "--on", "2031-04-01"
    )
    assert counted.exit_code == 0, counted.output
    assert stock_of(fleet) == {("Heron", "IMP-1"): 0, ("Base", "LAMP-3"): 5, ("Base", "IMP-1"): 3}
    last = read_fleet(Path(fleet)).replacements.sort_index().iloc[-1]
    assert (last["boat"], last["machine"], last["part"]) == ("Heron", "engine", "IMP-1")
    assert (last["reason"], last["hours"], last["note"]) == ("worn", 1370.5, "a, b")
    assert last["on"].date() == date(2031, 4, 1)
    assert max(map(len, used.stdout.splitlines())) <= 80


def test_the_next_plan_starts_from_it(fleet):
    def plan(name):
        done = invoke("plan", fleet, "--quiet", "--json", name, "--gap", "0")
        assert done.exit_code == 0, done.output
        keys = json.loads(Path(name).read_text(encoding="utf-8"))
        part = next(life for life in keys["lives"] if life["part"] == "IMP-1")
        line = next(
            line for line in keys["carry"] if (line["boat"], line["part"]) == ("Heron", "IMP-1")
        )
        return part, line

    life, line = plan("before.json")
    assert invoke("use", fleet, *USE, "--reason", "failed").exit_code == 0
    life_after, line_after = plan("after.json")
    assert (line["on_hand"], line_after["on_hand"]) == (1, 0)
    assert life_after["failures"] == life["failures"] + 1
    assert line_after["expected_need"] != line["expected_need"]


@pytest.mark.parametrize(
    ("options", "left"),
    [((), (0, 5)), (("--from-store",), (1, 4)), (("--not-from-stock",), (1, 5))],
)
def test_a_piece_is_taken_off_once_and_where_it_was_said(folder, options, left):
    stock = "place,part,on_hand,counted_on\nHeron,IMP-1,1,2031-03-20\nBase,IMP-1,5,2031-03-20\n"
    (folder / "stock.csv").write_text(stock, encoding="utf-8")
    assert invoke("use", "tiny", *USE, "--reason", "worn", *options).exit_code == 0
    found = stock_of("tiny")
    assert (found["Heron", "IMP-1"], found["Base", "IMP-1"]) == left


def test_a_dry_run_writes_nothing(fleet, folder):
    before = snapshot(folder.parent)
    done = invoke("use", fleet, *USE, "--reason", "worn", "--dry-run")
    assert done.exit_code == 0
    assert "Would be written" in done.stdout
    assert "on_hand 1 -> 0" in done.stdout
    assert snapshot(folder.parent) == before


def test_the_previous_version_is_kept_and_never_read(fleet, folder):
    before = snapshot(folder.parent)
    assert invoke("use", fleet, *USE, "--reason", "worn").exit_code == 0
    after = snapshot(folder.parent)
    kept = {name: data for name, data in after.items() if name.endswith(".bak")}
    changed = {name for name in before if before[name] != after[name]}
    assert len(kept) == len(changed) == (2 if Path(fleet).is_dir() else 1)
    assert sorted(kept.values()) == sorted(before[name] for name in changed)
    assert set(after) - set(before) == set(kept)
    assert not any("bak" in note.text + note.table for note in read_fleet(Path(fleet)).notes)


def test_a_table_that_is_not_there_is_made(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = write_fleet(tmp_path / "bare", stock="")
    write_workbook_of(folder, tmp_path / "bare.xlsx")
    for fleet in ("bare", "bare.xlsx"):
        done = invoke("count", fleet, "--place", "Heron", "--part", "SEAL-7", "--on-hand", 4)
        assert done.exit_code == 0, done.output
        assert "of a new table" in " ".join(done.stdout.split())
        assert stock_of(fleet) == {("Heron", "SEAL-7"): 4}


def test_own_columns_order_and_separators_stay(folder):
    text = "remark;part;on_hand;place\r\nlow shelf;LAMP-3;2;Base\r\n"
    (folder / "stock.csv").write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert (
        invoke("count", "tiny", "--place", "Base", "--part", "LAMP-3", "--on-hand", 7).exit_code
        == 0
    )
    day = date.today().isoformat()
    wanted = text.replace(";2;", ";7;").replace("place\r", "place;counted_on\r")
    wanted = wanted.replace("Base\r", f"Base;{day}\r")
    assert (folder / "stock.csv").read_bytes() == b"\xef\xbb\xbf" + wanted.encode()


def test_other_sheets_and_styles_of_a_workbook_stay(folder):
    write_workbook_of(folder, folder.parent / "tiny.xlsx")
    book = openpyxl.load_workbook("tiny.xlsx")
    book.create_sheet("My sums")["A1"] = "=SUM(stock!C2:C9)"
    book["stock"]["C2"].number_format = "0.0"
    book.save("tiny.xlsx")
    assert invoke("use", "tiny.xlsx", *USE, "--reason", "worn").exit_code == 0
    book = openpyxl.load_workbook("tiny.xlsx")
    assert book["My sums"]["A1"].value == "=SUM(stock!C2:C9)"
    assert book["stock"]["C2"].number_format == "0.0"
    assert book["stock"]["C2"].value == 0


def test_tables_that_are_or_would_be_wrong_are_told_as_by_check(folder):
    before = snapshot(folder)
    with pytest.raises(InputError, match=r"replacements\.csv, row 7, column reason: 'x'"):
        keep_books(folder, Use(**{**_use(), "reason": "x"}))
    assert snapshot(folder) == before
    (folder / "boats.csv").write_text("boat,day_cost\nHeron,much\n", encoding="utf-8")
    checked = invoke("check", "tiny")
    done = invoke("use", "tiny", *USE, "--reason", "worn")
    assert done.exit_code == checked.exit_code == 1
    assert done.stderr == checked.stderr


def _use():
    return {
        "boat": "Heron",
        "machine": "engine",
        "part": "IMP-1",
        "quantity": 1,
        "on": date(2031, 4, 1),
        "reason": "worn",
    }


@pytest.mark.parametrize(
    ("arguments", "code", "told"),
    [
        ((*USE, "--reason", "broken"), 2, "broken"),
        (USE, 2, "--reason"),
        ((*USE, "--reason", "worn", "--quantity", "0"), 2, "--quantity"),
        ((*USE, "--reason", "worn", "--quantity", "2"), 1, "the books have 1"),
        ((*USE, "--reason", "worn", "--hours", "-3"), 2, "--hours"),
        ((*USE[:-1], "1.4.31", "--reason", "worn"), 2, "--on"),
        ((*USE[:-1], "2031-05-01", "--reason", "worn"), 0, "after 2031-04-01, the day of the plan"),
        ((*USE, "--reason", "worn", "--from-store", "--not-from-stock"), 2, "exclude each other"),
        (("--boat", "Hern", *USE[2:], "--reason", "worn"), 2, "is 'Heron' meant?"),
    ],
)
def test_what_is_wrong_is_told_in_words(folder, arguments, code, told):
    before = snapshot(folder)
    done = invoke("use", "tiny", *arguments)
    assert done.exit_code == code
    assert told in " ".join(done.output.split())
    assert (snapshot(folder) == before) == (code != 0)


def test_an_open_spreadsheet_is_refused(folder):
    (folder / ".~lock.stock.csv#").write_text("", encoding="utf-8")
    before = snapshot(folder)
    done = invoke(
        "count", "tiny", "--place", "Base", "--part", "LAMP-3", "--on-hand", 7, "--on", "2031-04-01"
    )
    assert done.exit_code == 1
    assert "is open in a spreadsheet program" in " ".join(done.stderr.split())
    assert snapshot(folder) == before


def test_a_file_changed_by_another_program_meanwhile_is_not_overwritten(folder, monkeypatch):
    check = stockopt.books.keep._check
    stock = folder / "stock.csv"

    def change_meanwhile(*arguments):
        found = check(*arguments)
        stock.write_text(stock.read_text(encoding="utf-8") + "Base,SEAL-7,1,,\n", encoding="utf-8")
        return found

    monkeypatch.setattr(stockopt.books.keep, "_check", change_meanwhile)
    with pytest.raises(StockoptError, match="changed by another program"):
        keep_books(folder, Count(place="Base", part="LAMP-3", on_hand=9, on=date(2031, 4, 1)))
    assert stock.read_text(encoding="utf-8").endswith("Base,SEAL-7,1,,\n")
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        [*(f"{name}.csv" for name in TABLES), "settings.toml"]
    )


def test_a_failing_disk_leaves_everything_as_it_was(folder, monkeypatch):
    before = snapshot(folder)

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(stockopt.books.keep, "note_moves", full)
    with pytest.raises(OSError, match="No space"):
        keep_books(folder, Use(**_use()))
    assert snapshot(folder) == before


# Each of several processes records one piece used, as fast as it can.
WRITER = """
import sys
from datetime import date
from pathlib import Path
from stockopt.books.events import Use
from stockopt.books.keep import keep_books
for turn in range(int(sys.argv[2])):
    keep_books(Path(sys.argv[1]), Use(boat="Heron", machine="engine", part="IMP-1", quantity=1,
        on=date(2031, 4, 1), reason="worn", note=f"{sys.argv[3]} {turn}"), wait_seconds=300)
"""


@pytest.mark.parametrize("kind", ["folder", pytest.param("workbook", marks=pytest.mark.full)])
def test_no_entry_is_lost_when_several_write_at_once(folder, kind):
    fleet, turns = "tiny", 2
    if kind == "workbook":
        fleet = str(write_workbook_of(folder, folder.parent / "tiny.xlsx"))
    count = Count(place="Heron", part="IMP-1", on_hand=50, on=date(2031, 4, 1))
    keep_books(Path(fleet), count)
    before = len(read_fleet(Path(fleet)).replacements)
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, fleet, str(turns), f"writer {number}"])
        for number in range(3)
    ]
    assert [writer.wait(timeout=300) for writer in writers] == [0, 0, 0]
    after = read_fleet(Path(fleet))
    assert len(after.replacements) == before + 3 * turns
    assert set(after.replacements["note"]) >= {
        f"writer {number} {turn}" for number in range(3) for turn in range(turns)
    }
    assert stock_of(fleet)["Heron", "IMP-1"] == 50 - 3 * turns
    left = [path.name for path in Path().rglob(".*")]
    assert left == []


def test_whoever_waits_too_long_is_told_who_writes(folder):
    with locked(folder, wait_seconds=0):
        with pytest.raises(StockoptError, match="are being written by"):
            keep_books(folder, Use(**_use()), wait_seconds=0.2)
        assert len(read_fleet(folder).replacements) == 5
    keep_books(folder, Use(**_use()), wait_seconds=0)
    assert len(read_fleet(folder).replacements) == 6


def _leave_lock(folder, **changes):
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    with locked(folder, wait_seconds=0) as lock:
        found = {**json.loads(lock.read_text(encoding="utf-8")), "pid": gone.pid, **changes}
    lock.write_text(json.dumps({**found, "token": "other"}), encoding="utf-8")
    return lock


def test_a_lock_whose_process_is_gone_is_cleared(folder):
    lock = _leave_lock(folder)
    keep_books(folder, Use(**_use()), wait_seconds=1)
    assert len(read_fleet(folder).replacements) == 6
    assert not lock.exists()


def test_a_lock_of_another_computer_is_cleared_only_when_told_so(folder, monkeypatch):
    lock = _leave_lock(folder, host="elsewhere", since="2031-04-01 09:30")
    long_ago = time.time() - 1e6
    os.utime(lock, (long_ago, long_ago))
    with pytest.raises(StockoptError, match=r"on elsewhere since 2031-04-01 09:30.*--take-over"):
        keep_books(folder, Use(**_use()), wait_seconds=0.2)
    assert lock.exists()
    monkeypatch.setattr(stockopt.books.lock, "_TAKE_OVER_SECONDS", 0.2)
    done = invoke("use", folder, *USE, "--reason", "worn", "--take-over")
    assert done.exit_code == 0, done.output
    assert len(read_fleet(folder).replacements) == 6
    assert not lock_path(folder).exists()


def test_what_was_taken_over_is_not_written_by_two(folder, monkeypatch):
    """Somebody slow, not gone, is taken over before he notes what he moves: he writes nothing."""
    monkeypatch.setattr(stockopt.books.lock, "_TAKE_OVER_SECONDS", 0.1)
    before = snapshot(folder)
    with locked(folder, wait_seconds=0) as slow:
        with locked(folder, wait_seconds=0.1, take_over=True):
            found = json.loads(slow.read_text(encoding="utf-8"))
            slow.write_text(json.dumps({**found, "host": "elsewhere"}), encoding="utf-8")
            with pytest.raises(StockoptError, match="took the books over"):
                note_moves(slow, [])
            slow.write_text(json.dumps(found), encoding="utf-8")
        assert not slow.exists()
    assert snapshot(folder) == before


def test_only_the_lock_that_was_there_is_taken_over(folder, monkeypatch):
    """While one waits to take over, the first ends and another begins: that one is let alone."""
    monkeypatch.setattr(stockopt.books.lock, "_TAKE_OVER_SECONDS", 0.3)
    lock = _leave_lock(folder, host="elsewhere")
    found = json.loads(lock.read_text(encoding="utf-8"))
    read = stockopt.books.lock._read
    seen = []

    def another_by_then(path):
        seen.append(path)
        return read(path) if len(seen) == 1 else {**found, "token": "another"}

    monkeypatch.setattr(stockopt.books.lock, "_read", another_by_then)
    with (
        pytest.raises(StockoptError, match="are being written by"),
        locked(folder, wait_seconds=9, take_over=True),
    ):
        pass
    assert lock.exists()


# Killed when the first of its two files is in place and the second is not.
KILLED = """
import os, sys
from datetime import date
from pathlib import Path
import stockopt.books.keep as keep
from stockopt.books.events import Use
def move_one_and_die(moves):
    os.replace(*moves[0])
    os._exit(9)
keep.make_moves = move_one_and_die
keep.keep_books(Path(sys.argv[1]), Use(boat="Heron", machine="engine", part="IMP-1", quantity=1,
    on=date(2031, 4, 1), reason="worn"))
"""


def test_whoever_is_killed_half_way_is_finished_by_the_next(folder):
    done = subprocess.run([sys.executable, "-c", KILLED, "tiny"], check=False)
    assert done.returncode == 9
    assert len(read_fleet(folder).replacements) == 6
    assert stock_of(folder)["Heron", "IMP-1"] == 1  # half made
    count = Count(place="Base", part="LAMP-3", on_hand=9, on=date(2031, 4, 1))
    keep_books(folder, count, wait_seconds=1)
    assert stock_of(folder) == {("Heron", "IMP-1"): 0, ("Base", "LAMP-3"): 9}
    assert len(read_fleet(folder).replacements) == 6
    assert list(folder.glob(".*")) == []


def test_an_entry_half_made_is_finished_by_the_next(folder):
    stock = folder / "stock.csv"
    text = stock.read_text(encoding="utf-8").replace("LAMP-3,2", "LAMP-3,6")
    beside = folder / ".stock.csv.20310401.new"
    beside.write_text(text, encoding="utf-8")
    _leave_lock(folder, moves=[[str(beside), str(stock)]])
    keep_books(folder, Use(**_use()), wait_seconds=1)
    assert stock_of(folder)["Base", "LAMP-3"] == 6
    assert not beside.exists()
