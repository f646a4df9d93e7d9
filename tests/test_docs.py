"""The README says what is true: its tables, its commands and its output come from the program.

Write them again with ``STOCKOPT_WRITE_DOCS=1 pytest -n0 tests/test_docs.py``.
"""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from stockopt.cli.main import main
from stockopt.fleet.describe import describe_tables

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
#: What the README shows the output of, in its order: a command, and how much of it.
OUTPUTS = re.findall(r"<!-- output: (.*?) -->", README.read_text(encoding="utf-8"))


def check_or_write(marker: str, made: str, *, exactly: bool = True) -> None:
    """Compare what stands between the marker and its end with `made`, or put it there."""
    text = README.read_text(encoding="utf-8")
    pattern = re.compile(rf"(<!-- {re.escape(marker)} -->\n)(.*?)(<!-- end -->)", re.DOTALL)
    found = pattern.search(text)
    assert found, f"README has no <!-- {marker} -->"
    if os.environ.get("STOCKOPT_WRITE_DOCS"):
        README.write_text(text[: found.start(2)] + made + text[found.end(2) :], encoding="utf-8")
    elif exactly:
        assert found.group(2) == made
    else:
        assert words_of(found.group(2)) == words_of(made)


def words_of(text: str) -> list[str]:
    """Return the words alone: numbers and the columns' widths may differ from machine to machine.

    Another build of the solver may stop at another plan within the same proven gap. How many limits
    there is time to ask about depends on the machine.
    """
    text = re.sub(r"^ *Held back by.*?(?=^ *$)", "", text, flags=re.DOTALL | re.MULTILINE)
    return re.findall(r"[A-Za-z][A-Za-z'-]*", text)


def run_as_a_person_would(command: str, folder: Path) -> str:
    """Run a command as typed in a clone, 80 columns wide, and return what it printed."""
    done = subprocess.run(
        [sys.executable, "-m", *shlex.split(command)],
        cwd=folder,
        env={**os.environ, "COLUMNS": "80", "PYTHONIOENCODING": "utf-8", "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    return "\n".join(line.rstrip() for line in done.stdout.splitlines()).strip() + "\n"


def test_tables_are_those_that_are_checked():
    check_or_write("tables", "\n" + describe_tables() + "\n")


@pytest.fixture(scope="module")
def clone(tmp_path_factory):
    """Return a folder in which the README's commands run one after the other."""
    folder = tmp_path_factory.mktemp("clone")
    (folder / "sample_fleet").symlink_to(ROOT / "sample_fleet")
    return folder


@pytest.mark.parametrize("marker", OUTPUTS)
def test_printed_output_is_real(clone, marker):
    command, _, shown = marker.partition(" | ")
    printed = run_as_a_person_would(command, clone)
    if shown:
        printed = "\n".join(printed.splitlines()[: int(shown.split()[0])]) + "\n"
    made = f"```\n$ {command}\n{printed}```\n".replace("\n\n```", "\n```")
    check_or_write(f"output: {marker}", made, exactly=False)


@pytest.mark.parametrize("command", ["plan", "check", "lives", "landed"])
def test_every_command_and_option_named_in_the_readme_exists(command):
    text = README.read_text(encoding="utf-8")
    helped = CliRunner().invoke(main, [command, "--help"]).output
    assert f"stockopt {command} my_fleet" in text
    for line in re.findall(rf"^stockopt {command} my_fleet.*$", text, flags=re.MULTILINE):
        for option in re.findall(r"--[a-z-]+", line):
            assert option in helped


def test_every_command_is_in_the_readme():
    text = README.read_text(encoding="utf-8")
    for command in main.commands:
        assert f"stockopt {command}" in text
        assert CliRunner().invoke(main, [command, "--help"]).exit_code == 0


def test_the_two_commands_are_one_line_each():
    text = README.read_text(encoding="utf-8")
    assert len(re.findall(r"^python3 -m venv .*charter_base$", text, flags=re.MULTILINE)) == 1
    assert len(re.findall(r"^python3 -m venv .*/pytest$", text, flags=re.MULTILINE)) == 1


def test_the_changelog_has_this_version():
    from stockopt import __version__

    assert f"## {__version__}" in (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
