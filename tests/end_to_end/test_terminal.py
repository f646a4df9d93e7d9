"""What a person sees at a terminal: progress while it works, completion, no colour in a pipe."""

import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from end_to_end_builders import write_fleet

COMMANDS = [
    ("plan", "tiny", "--report", "new.xlsx"),
    ("lives", "tiny"),
    ("check", "tiny"),
    ("landed", "tiny"),
]


@pytest.fixture
def here(tmp_path):
    write_fleet(tmp_path / "tiny")
    return tmp_path


def environment(**more):
    kept = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    return {**kept, "COLUMNS": "80", "TERM": "xterm-256color", **more}


def at_a_terminal(folder, *arguments):
    """Return all that a command wrote to a terminal of 80 columns, and its exit code."""
    pty = pytest.importorskip("pty")
    parent, child = pty.openpty()
    running = subprocess.Popen(
        [sys.executable, "-m", "stockopt", *arguments],
        cwd=folder,
        stdin=child,
        stdout=child,
        stderr=child,
        env=environment(),
    )
    os.close(child)
    seen = b""
    until = time.monotonic() + 120
    while time.monotonic() < until:
        try:
            more = os.read(parent, 65536)
        except OSError:  # closed: the command has ended
            break
        if not more:
            break
        seen += more
    os.close(parent)
    return seen.decode("utf-8"), running.wait(timeout=30)


def test_progress_says_what_is_done_and_leaves_nothing(here):
    seen, code = at_a_terminal(here, "plan", "tiny")
    assert code == 0, seen
    for step in ("Reading the tables", "Working out how long parts last", "Finding the best plan"):
        assert step in seen
    assert re.search(r"\d:\d\d:\d\d", seen)  # for how long
    after = seen[seen.rindex("Finding the best plan") :]
    assert "\x1b[2K" in after  # its line was wiped


def test_quiet_shows_no_progress(here):
    seen, code = at_a_terminal(here, "plan", "tiny", "--quiet")
    assert (seen.strip(), code) == ("", 0)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_nothing_but_text_of_80_columns_goes_into_a_pipe(here, command):
    done = subprocess.run(
        [sys.executable, "-m", "stockopt", *command],
        cwd=here,
        env=environment(),
        capture_output=True,
        check=True,
        timeout=120,
    )
    assert b"\x1b" not in done.stdout + done.stderr
    lines = done.stdout.decode("utf-8").splitlines()
    assert lines
    assert max(len(line.rstrip()) for line in lines) <= 80


@pytest.mark.parametrize(
    ("shell", "words"), [("bash", "complete -o nosort"), ("zsh", "compdef"), ("fish", "complete")]
)
def test_shells_can_complete_commands_and_options(shell, words):
    stockopt = Path(sys.executable).with_name("stockopt")
    if not stockopt.exists():
        pytest.skip("not installed as a command")

    def ask(instruction, **more):
        return subprocess.run(
            [stockopt],
            env=environment(_STOCKOPT_COMPLETE=f"{shell}_{instruction}", **more),
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        ).stdout

    # Older versions of bash cannot, and click says so.
    if shell != "bash" or re.search(r"version ([5-9]|4\.[4-9])", bash_version()):
        assert words in ask("source")
    number = "reh" if shell == "fish" else "1"  # fish hands over the word itself
    offered = ask("complete", COMP_WORDS="stockopt reh", COMP_CWORD=number)
    assert "rehearse" in offered


def bash_version():
    try:
        return subprocess.run(
            ["bash", "--version"], capture_output=True, text=True, check=False
        ).stdout
    except FileNotFoundError:
        return ""
