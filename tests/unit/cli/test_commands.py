"""The commands with the pipeline played by a stand-in: options, files, exit codes, words."""

import json
from dataclasses import replace
from datetime import date

import pytest
from click.testing import CliRunner
from report_builders import make_run

import stockopt.pipeline
from stockopt import __version__
from stockopt.cli.explained import EXIT_BUG, EXIT_INTERRUPTED
from stockopt.cli.main import main
from stockopt.errors import Clash, InputError, NoPlanError, Problem, SolverError
from stockopt.report.run import Checked, PartLives

USUAL = "reports/tiny-2031-04-01.xlsx"


class Line:
    """Stands in for the pipeline: remembers what it was asked and answers, or raises."""

    def __init__(self):
        self.asked = []
        self.error = None

    def plan_fleet(self, path, overrides, on_step, wanted):
        on_step("Working")
        self.wanted = wanted
        return self._answer(path, overrides)

    def lives_of_fleet(self, path, overrides):
        run = self._answer(path, overrides)
        return PartLives(fleet=run.fleet, lives=run.lives, ageing=run.ageing, notes=run.plan.notes)

    def check_fleet(self, path, overrides):
        if isinstance(self.error, NoPlanError):
            self.error = None
        return Checked(fleet=self._answer(path, overrides).fleet, notes=())

    def _answer(self, path, overrides):
        self.asked.append((path, dict(overrides)))
        if self.error is not None:
            raise self.error
        return make_run()


@pytest.fixture
def line(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("STOCKOPT_DEBUG", raising=False)
    (tmp_path / "tiny").mkdir()
    (tmp_path / "tiny" / "parts.csv").write_text("part,name\n", encoding="utf-8")
    stand_in = Line()
    for verb in ("plan_fleet", "lives_of_fleet", "check_fleet"):
        monkeypatch.setattr(stockopt.pipeline, verb, getattr(stand_in, verb))
    return stand_in


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def files(folder):
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def test_plan_writes_to_the_usual_place_and_says_where(line, tmp_path):
    result = run("plan", "tiny")
    assert result.exit_code == 0
    assert files(tmp_path) == [USUAL, "tiny/parts.csv"]
    assert USUAL in result.stdout
    assert result.stderr == ""


def test_a_second_plan_gets_the_next_name(line, tmp_path):
    run("plan", "tiny")
    run("plan", "tiny")
    assert "reports/tiny-2031-04-01-2.xlsx" in files(tmp_path)


def test_overwrite_takes_the_first_name_again(line, tmp_path):
    run("plan", "tiny")
    before = (tmp_path / USUAL).stat().st_ino
    result = run("plan", "tiny", "--overwrite")
    assert result.exit_code == 0
    assert files(tmp_path) == [USUAL, "tiny/parts.csv"]
    assert (tmp_path / USUAL).stat().st_ino != before


def test_options_go_before_the_settings(line):
    result = run(
        *("plan", "tiny", "--budget", "4000", "--readiness", "95%", "--gap", "0.1%"),
        *("--seconds", "5", "--planned-on", "2031-05-01"),
    )
    assert result.exit_code == 0
    ((path, overrides),) = line.asked
    assert str(path) == "tiny"
    assert overrides == {
        "budget": 4000.0,
        "readiness": 0.95,
        "gap": pytest.approx(0.001),
        "seconds": 5.0,
        "planned_on": date(2031, 5, 1),
    }


def test_nothing_is_overridden_unasked(line):
    run("plan", "tiny")
    run("check", "tiny")
    run("lives", "tiny")
    assert [overrides for _, overrides in line.asked] == [{}, {}, {}]


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--budget", "-1"),
        ("--budget", "nan"),
        ("--budget", "inf"),
        ("--budget", "lots"),
        ("--readiness", "1"),
        ("--readiness", "0"),
        ("--readiness", "95"),
        ("--gap", "-0.1"),
        ("--gap", "2"),
        ("--gap", "1"),
        ("--planned-on", "2200-01-01"),
        ("--seconds", "0"),
        ("--planned-on", "01/04/2031"),
    ],
)
def test_a_wrong_value_is_a_wrong_command_line(line, tmp_path, option, value):
    result = run("plan", "tiny", option, value)
    assert result.exit_code == 2
    assert value in result.stderr
    assert line.asked == []
    assert files(tmp_path) == ["tiny/parts.csv"]


def test_a_fleet_that_is_not_there_is_a_wrong_command_line(line, tmp_path):
    (tmp_path / "base.xlsx").write_bytes(b"")
    result = run("plan", "base")
    assert result.exit_code == 2
    assert "'base': there is no such folder or file: is 'base.xlsx' meant?" in result.stderr
    assert line.asked == []


def test_files_are_written_where_asked(line, tmp_path):
    result = run("plan", "tiny", "--report", "r.xlsx", "--json", "p.json")
    assert result.exit_code == 0
    assert files(tmp_path) == ["p.json", "r.xlsx", "tiny/parts.csv"]
    assert json.loads((tmp_path / "p.json").read_text(encoding="utf-8"))["fleet"] == "tiny"


@pytest.mark.parametrize(
    "options",
    [
        ("plan", "tiny", "--report", "there.xlsx"),
        ("plan", "tiny", "--json", "there.json"),
        ("plan", "tiny", "--report", "new.txt"),
        ("plan", "tiny", "--report", "absent/new.xlsx"),
        ("plan", "tiny", "--json", "tiny/parts.csv", "--overwrite"),
        ("lives", "tiny", "--json", "there.json"),
        ("lives", "tiny", "--part", "IMP-1", "--picture", "there.svg"),
        ("lives", "tiny", "--part", "IMP-1", "--picture", "new.pdf"),
        ("lives", "tiny", "--part", "IMP-1", "--picture", "absent/new.svg"),
        ("lives", "tiny", "--part", "IMP-1", "--picture", "a.svg", "--json", "a.svg"),
        ("lives", "tiny", "--picture", "new.svg"),
        ("plan", "absent"),
        ("check", "absent"),
        ("lives", "absent"),
        ("plan",),
        ("stow", "tiny"),
        ("check", "tiny", "--budget", "3"),
    ],
)
def test_a_wrong_command_line_is_refused_before_any_work(line, tmp_path, options):
    for name in ("there.xlsx", "there.json", "there.svg"):
        (tmp_path / name).write_text("old", encoding="utf-8")
    before = files(tmp_path)
    result = run(*options)
    assert result.exit_code == 2
    assert result.stderr
    assert line.asked == []
    assert files(tmp_path) == before
    assert (tmp_path / "there.json").read_text(encoding="utf-8") == "old"


def test_overwrite_replaces_what_is_named(line, tmp_path):
    (tmp_path / "there.json").write_text("old", encoding="utf-8")
    result = run("plan", "tiny", "--json", "there.json", "--report", "r.xlsx", "--overwrite")
    assert result.exit_code == 0
    assert (tmp_path / "there.json").read_text(encoding="utf-8") != "old"


@pytest.mark.parametrize("command", ["plan", "check", "lives"])
def test_quiet_prints_nothing(line, command):
    result = run(command, "tiny", "--quiet")
    assert (result.exit_code, result.output) == (0, "")


@pytest.mark.parametrize("command", ["plan", "check", "lives"])
def test_problems_in_the_tables_are_all_listed_and_nothing_written(line, tmp_path, command):
    line.error = InputError(
        [
            Problem(table="parts.csv", row=5, column="kg", value="-3", expected="must be positive"),
            Problem(table="legs.csv", expected="is missing"),
        ]
    )
    result = run(command, "tiny", "--quiet")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert "2 things in the tables need mending" in result.stderr
    assert "parts.csv, row 5, column kg: '-3' must be positive" in result.stderr
    assert "legs.csv: is missing" in result.stderr
    assert files(tmp_path) == ["tiny/parts.csv"]


def test_no_plan_within_the_limits(line, tmp_path):
    line.error = NoPlanError([Clash(text="the floor of Heron weighs 80 kg, her limit is 60 kg")])
    result = run("plan", "tiny")
    assert result.exit_code == 3
    assert "80 kg" in result.stderr
    assert files(tmp_path) == ["tiny/parts.csv"]


def test_no_plan_as_json(line, tmp_path):
    line.error = NoPlanError([Clash(text="too heavy"), Clash(text="too dear")])
    result = run("plan", "tiny", "--json", "p.json", "--budget", "10")
    assert result.exit_code == 3
    assert files(tmp_path) == ["p.json", "tiny/parts.csv"]
    keys = json.loads((tmp_path / "p.json").read_text(encoding="utf-8"))
    assert keys["status"] == "no plan"
    assert keys["clashes"] == ["too heavy", "too dear"]
    assert line.asked[1][1] == {"budget": 10.0}


def test_the_solver_stopped_without_a_plan(line, tmp_path):
    line.error = SolverError("the time was up")
    result = run("plan", "tiny", "--json", "p.json")
    assert result.exit_code == 4
    assert "--seconds" in result.stderr
    assert files(tmp_path) == ["tiny/parts.csv"]


def test_a_bug_says_so_and_shows_where_only_when_asked(line):
    line.error = KeyError("seal")
    result = run("plan", "tiny")
    assert result.exit_code == EXIT_BUG == 70
    assert "bug in stockopt: KeyError" in result.stderr
    assert "Traceback" not in result.stderr
    assert "Traceback" in run("plan", "tiny", "--debug").stderr
    asked = CliRunner(env={"STOCKOPT_DEBUG": "1"}).invoke(main, ["plan", "tiny"])
    assert "Traceback" in asked.stderr


def test_an_interruption_is_quiet(line, tmp_path):
    line.error = KeyboardInterrupt()
    result = run("plan", "tiny")
    assert result.exit_code == EXIT_INTERRUPTED == 130
    assert "Traceback" not in result.stderr
    assert files(tmp_path) == ["tiny/parts.csv"]


@pytest.mark.parametrize(
    ("number", "words"), [(13, "Permission denied"), (28, "No space left on device")]
)
def test_a_file_that_cannot_be_written_is_said_plainly(line, tmp_path, monkeypatch, number, words):
    def fail(source, target):
        raise OSError(number, words, str(target))

    monkeypatch.setattr("stockopt.report.files.os.replace", fail)
    result = run("plan", "tiny", "--json", "p.json")
    assert result.exit_code == 1
    assert words in result.stderr
    assert "Traceback" not in result.stderr
    assert files(tmp_path) == ["tiny/parts.csv"]


def test_check_says_no_errors(line):
    result = run("check", "tiny")
    assert result.exit_code == 0
    assert "no errors" in result.stdout


def test_lives_prints_and_writes(line, tmp_path):
    result = run("lives", "tiny", "--json", "l.json")
    assert result.exit_code == 0
    assert "IMP-1" in result.stdout
    assert json.loads((tmp_path / "l.json").read_text(encoding="utf-8"))["lives"]


def test_one_part_is_printed_and_written(line, tmp_path):
    result = run("lives", "tiny", "--part", "imp-1", "--json", "l.json")
    assert result.exit_code == 0, result.output
    assert "Impeller, raw-water pump" in result.stdout
    assert "Shaft seal" not in result.stdout
    keys = json.loads((tmp_path / "l.json").read_text(encoding="utf-8"))
    assert [life["part"] for life in keys["lives"]] == ["IMP-1"]
    assert len(keys["pieces"]) == 2


def test_an_unknown_part_names_those_near_to_it_and_nothing_is_written(line, tmp_path):
    result = run("lives", "tiny", "--part", "IMP-2", "--json", "l.json")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert "There is no part 'IMP-2' in tiny." in result.stderr
    assert "IMP-1  Impeller" in result.stderr
    assert files(tmp_path) == ["tiny/parts.csv"]


@pytest.mark.parametrize("name", ["seal.svg", "seal.PNG"])
def test_a_picture_of_one_part(line, tmp_path, name):
    pytest.importorskip("matplotlib")
    result = run("lives", "tiny", "--part", "SEAL-7", "--picture", name, "--quiet")
    assert (result.exit_code, result.output) == (0, "")
    assert files(tmp_path) == [name, "tiny/parts.csv"]


def test_without_matplotlib_a_picture_is_refused_before_any_work(line, tmp_path, monkeypatch):
    monkeypatch.setattr("stockopt.cli.lives.find_spec", lambda name: None)
    result = run("lives", "tiny", "--part", "SEAL-7", "--picture", "seal.svg")
    assert result.exit_code == 2
    assert "pip install matplotlib" in result.stderr
    assert line.asked == []
    assert files(tmp_path) == ["tiny/parts.csv"]


def test_check_lists_all_of_very_many_problems_when_asked(line):
    line.error = InputError(
        [Problem(table="parts.csv", row=row, column="kg", expected="x") for row in range(2, 402)]
    )
    for command in ("plan", "check", "lives"):
        text = run(command, "tiny").stderr
        assert text.count("column kg") == 50
        assert "and 350 more; to list them all: stockopt check FLEET --all" in text
    everything = run("check", "tiny", "--all")
    assert everything.exit_code == 1
    assert everything.stderr.count("column kg") == 400
    assert run("check", "tiny").stderr.count("column kg") == 50


def test_version_and_help():
    assert run("--version").stdout.strip().endswith(__version__)
    text = run("--help").stdout
    for words in ("Example:", "stockopt plan my_fleet", "Exit codes:", "FLEET is a folder"):
        assert words in text
    for command, option in (
        ("plan", "--readiness"),
        ("check", "--quiet"),
        ("lives", "--json"),
    ):
        result = run(command, "--help")
        assert result.exit_code == 0
        assert option in result.stdout
        assert "Example:" in result.stdout


def test_every_command_and_option_has_help():
    for command in main.commands.values():
        assert command.help
        options = [o for o in command.params if o.param_type_name == "option"]
        assert all(option.help for option in options)


def test_names_the_terminal_cannot_show_do_not_stop_it(line, monkeypatch):
    boats = tuple(replace(boat, boat="Bélier Ωmega") for boat in make_run().plan.boats)
    monkeypatch.setattr(line, "_answer", lambda *_: make_run(boats=boats))
    result = CliRunner(charset="ascii").invoke(main, ["plan", "tiny"])
    assert result.exit_code == 0
    assert "B?lier" in result.stdout


def test_orders_go_to_a_folder_of_their_own(line, tmp_path):
    assert run("plan", "tiny", "--orders", "orders").exit_code == 0
    assert len(list((tmp_path / "orders").glob("*.csv"))) == 2
    again = run("plan", "tiny", "--orders", "orders")
    assert again.exit_code == 2
    assert "holds files already" in again.output
    assert len(line.asked) == 1
    assert run("plan", "tiny", "--orders", "orders", "--overwrite").exit_code == 0


def test_orders_never_go_among_the_tables(line):
    done = run("plan", "tiny", "--orders", "tiny", "--overwrite")
    assert done.exit_code == 2
    assert "holds the fleet's tables" in done.output
    assert line.asked == []
