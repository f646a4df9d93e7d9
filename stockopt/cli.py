"""The commands: parse, call one verb, print. Each command loads the rooms that it needs itself.

Exit codes are those of :mod:`stockopt.errors`, 70 for a bug in stockopt, 130 when interrupted.
"""

from __future__ import annotations

import io
import math
import sys
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stockopt import __version__
from stockopt.errors import EXIT_INPUT, NoPlanError, StockoptError
from stockopt.report.explain import MOST_PROBLEMS, explain, explain_bug, explain_file_error
from stockopt.report.files import find_refusals

if TYPE_CHECKING:
    from rich.console import Console

EXIT_BUG = 70
EXIT_INTERRUPTED = 130

_DEBUG = "stockopt.debug"
_ALL = "stockopt.all"
_Function = TypeVar("_Function", bound=Callable[..., Any])


class ExplainedGroup(click.Group):
    """Commands whose errors end in words and an exit code rather than in a traceback."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - click's own signature
        """Run the command and explain whatever it raises."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except StockoptError as error:
            most = None if ctx.meta.get(_ALL) else MOST_PROBLEMS
            self._stop(ctx, explain(error, most), error.exit_code)
        except KeyboardInterrupt:
            self._stop(ctx, "\nStopped. No file was written.", EXIT_INTERRUPTED)
        except OSError as error:
            self._stop(ctx, explain_file_error(error), EXIT_INPUT)
        except Exception as error:
            self._stop(ctx, explain_bug(error), EXIT_BUG)

    @staticmethod
    def _stop(ctx: click.Context, text: str, code: int) -> None:
        if ctx.meta.get(_DEBUG):
            traceback.print_exc()
        click.echo(text, err=True)
        ctx.exit(code)


# Older versions of click that are allowed do not have the type as a generic one.
class Number(click.ParamType):  # type: ignore[type-arg]
    """A finite number; 95% stands for 0.95.

    Parameters
    ----------
    name
        What the help calls it.
    expected
        What would be right, in words.
    allows
        Whether a number is right.
    """

    def __init__(self, name: str, expected: str, allows: Callable[[float], bool]) -> None:
        self.name = name
        self._expected = expected
        self._allows = allows

    def convert(
        self,
        value: Any,  # noqa: ANN401 - click's own signature
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> float:
        """Return the number, or say what would be right."""
        text = str(value).strip()
        try:
            number = float(text[:-1]) / 100.0 if text.endswith("%") else float(text)
        except ValueError:
            number = math.nan
        if not (math.isfinite(number) and self._allows(number)):
            self.fail(f"'{value}' is not {self._expected}.", param, ctx)
        return number


class Day(click.ParamType):  # type: ignore[type-arg]
    """A day, read as those in the tables are."""

    name = "DATE"

    def convert(
        self,
        value: Any,  # noqa: ANN401 - click's own signature
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> date:
        """Return the day, or say what would be right."""
        from stockopt.fleet.cells import CellError, parse_date

        try:
            return date.fromisoformat(str(parse_date(str(value).strip())))
        except CellError as error:
            self.fail(f"'{value}' {error}.", param, ctx)


MONEY = Number("MONEY", "an amount of 0 or more, such as 4000", lambda amount: amount >= 0)
READINESS = Number(
    "SHARE", "a share above 0 and below 1, such as 0.95 or 95%", lambda share: 0 < share < 1
)
GAP = Number(
    "SHARE", "a share of 0 or more and below 1, such as 0.001 or 0.1%", lambda share: 0 <= share < 1
)
SECONDS = Number("SECONDS", "a number above 0", lambda seconds: seconds > 0)
DAY = Day()
#: Endings of pictures.
PICTURES = (".png", ".svg")
NEW_FILE = click.Path(dir_okay=False, path_type=Path)


def _fleet_and_common(function: _Function) -> _Function:
    """Add what every command takes: FLEET, --planned-on, --quiet, --debug."""
    decorators = (
        click.argument("fleet", type=click.Path(exists=True, path_type=Path)),
        click.option(
            "--planned-on",
            type=DAY,
            metavar="DATE",
            help="Day of the plan, such as 2031-04-01; later records are left out.  "
            "[default: from the fleet's settings]",
        ),
        click.option("--quiet", is_flag=True, help="Print nothing but errors."),
        click.option(
            "--debug",
            is_flag=True,
            envvar="STOCKOPT_DEBUG",
            expose_value=False,
            callback=lambda ctx, _, value: ctx.meta.__setitem__(_DEBUG, value),
            help="Show where in stockopt an error came from.",
        ),
    )
    for decorator in reversed(decorators):
        function = decorator(function)
    return function


def _files(function: _Function) -> _Function:
    """Add the options of commands that write files."""
    json_option = click.option(
        "--json", "json_file", type=NEW_FILE, metavar="FILE", help="Also write all of it as JSON."
    )
    overwrite = click.option("--overwrite", is_flag=True, help="Replace files that are there.")
    return json_option(overwrite(function))


@click.group(
    cls=ExplainedGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="stockopt")
def main() -> None:
    """Plan the spares of a fleet of boats: what to carry, change and order, where and by when.

    stockopt learns from your replacement records how long each part really lasts, then finds the
    plan that costs least over the season or crossing, within the weight, room and money there is.

    FLEET is a folder of CSV files or one .xlsx workbook with sheets of the same names: boats,
    machines, readings, parts, fitted, replacements, legs, and more where you have them.

    \b
    Example:
      stockopt check my_fleet            are the tables in order?
      stockopt lives my_fleet            how long do parts last?
      stockopt plan my_fleet             what goes aboard? writes reports/...

    \b
    Exit codes:
      0  done
      1  the tables need mending, or a file cannot be read or written
      2  wrong command line
      3  no plan keeps all the limits
      4  the solver stopped without a plan
      70 a bug in stockopt
    """  # noqa: D301 - \b is click's mark for lines to keep


@main.command()
@_fleet_and_common
@_files
@click.option(
    "--report",
    "workbook",
    type=NEW_FILE,
    metavar="FILE",
    help="Workbook to write.  [default: reports/<fleet>-<day>.xlsx, or -2, -3 ...]",
)
@click.option("--budget", type=MONEY, help="Most to spend now, over all boats.")
@click.option(
    "--readiness",
    type=READINESS,
    help="Least chance, for each boat, of never being stopped for want of a part, such as 95%.",
)
@click.option("--seconds", type=SECONDS, help="Longest time for the solver.  [default: 60]")
@click.option("--gap", type=GAP, help="Stop when proven this near the best.  [default: 0.1%]")
def plan(
    fleet: Path,
    planned_on: date | None,
    quiet: bool,
    json_file: Path | None,
    overwrite: bool,
    workbook: Path | None,
    **settings: float | None,
) -> None:
    """Plan the spares of FLEET; write a workbook.

    The workbook has what costs what, a stow list for each boat, what to replace before leaving,
    what to buy where and by when, how long parts last, and what was doubtful in the tables.
    Options go before the fleet's own settings. No file is replaced unless you say --overwrite.

    \b
    Example:
      stockopt plan my_fleet --budget 4000 --readiness 95% --json plan.json
    """  # noqa: D301 - \b is click's mark for lines to keep
    _refuse(fleet, {"--report": workbook, "--json": json_file}, overwrite=overwrite)

    from stockopt.pipeline import check_fleet, plan_fleet
    from stockopt.report.json_file import no_plan_keys
    from stockopt.report.terminal import print_plan
    from stockopt.report.write import write_keys, write_report

    overrides = _overrides(planned_on, **settings)
    try:
        with _progress(quiet=quiet) as on_step:
            run = plan_fleet(fleet, overrides, on_step)
    except NoPlanError as error:
        if json_file is not None:
            keys = no_plan_keys(check_fleet(fleet, overrides), error.clashes)
            write_keys(keys, json_file, overwrite=overwrite)
        raise
    written = write_report(run, workbook=workbook, json_file=json_file, overwrite=overwrite)
    if not quiet:
        print_plan(_console(), run, written)


@main.command()
@_fleet_and_common
@click.option(
    "--all",
    "all_errors",
    is_flag=True,
    help=f"List all errors, however many.  [default: the first {MOST_PROBLEMS}]",
)
@click.pass_context
def check(
    ctx: click.Context, fleet: Path, planned_on: date | None, quiet: bool, all_errors: bool
) -> None:
    """Check the tables of FLEET.

    All errors are found at once, each with its row and what would be right, then what is
    doubtful.

    \b
    Example:
      stockopt check my_fleet
    """  # noqa: D301 - \b is click's mark for lines to keep
    ctx.meta[_ALL] = all_errors

    from stockopt.pipeline import check_fleet
    from stockopt.report.terminal import print_check

    checked = check_fleet(fleet, _overrides(planned_on))
    if not quiet:
        print_check(_console(), checked)


@main.command()
@_fleet_and_common
@_files
@click.option("--part", metavar="PART", help="Show one part in full: its lives and its survival.")
@click.option(
    "--picture",
    type=NEW_FILE,
    metavar="FILE",
    help="Also draw the survival of the part, as .svg or .png; needs --part.",
)
def lives(
    fleet: Path,
    planned_on: date | None,
    quiet: bool,
    json_file: Path | None,
    overwrite: bool,
    part: str | None,
    picture: Path | None,
) -> None:
    """Show how long the parts of FLEET last.

    For each part: how many pieces failed of those watched, its mean life with a 90 % interval,
    whether it wears out or fails at any age, the best age to change it, and how likely the oldest
    piece now fitted is to fail soon.

    \b
    Example:
      stockopt lives my_fleet --json lives.json
      stockopt lives my_fleet --part SEAL-7 --picture seal.svg
    """  # noqa: D301 - \b is click's mark for lines to keep
    if picture is not None:
        _refuse_picture(picture, part)
    _refuse(fleet, {"--json": json_file, "--picture": picture}, overwrite=overwrite)

    from stockopt.pipeline import lives_of_fleet
    from stockopt.report.lives_table import print_lives
    from stockopt.report.one_part import pick_part, print_part
    from stockopt.report.write import write_lives

    studied = lives_of_fleet(fleet, _overrides(planned_on))
    one = None if part is None else pick_part(studied, part)
    write_lives(studied, one, json_file=json_file, picture=picture, overwrite=overwrite)
    if quiet:
        return
    if one is None:
        print_lives(_console(), studied)
    else:
        print_part(_console(), one)


def _refuse_picture(picture: Path, part: str | None) -> None:
    """Refuse a picture of no part, of a kind that is not drawn, or where none can be drawn."""
    if part is None:
        raise click.UsageError("--picture draws one part: name it with --part.")
    if picture.suffix.lower() not in PICTURES:
        raise click.BadParameter(f"'{picture}' must end in .svg or .png", param_hint="--picture")
    if find_spec("matplotlib") is None:
        raise click.BadParameter(
            "pictures need matplotlib; install it with: pip install 'stockopt[picture]'",
            param_hint="--picture",
        )


def _overrides(planned_on: date | None, **settings: float | None) -> dict[str, Any]:
    """Return the settings given on the command line, by name."""
    given: dict[str, Any] = {name: value for name, value in settings.items() if value is not None}
    if planned_on is not None:
        given["planned_on"] = planned_on
    return given


def _refuse(fleet: Path, targets: dict[str, Path | None], *, overwrite: bool) -> None:
    """Refuse, before any work is done, files that could not or should not be written."""
    given = {option: path for option, path in targets.items() if path is not None}
    for option, why in find_refusals(fleet, given, overwrite=overwrite):
        raise click.BadParameter(why, param_hint=option)


def _console() -> Console:
    """Return a console that never fails on a character the terminal lacks."""
    from rich.console import Console

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")
    return Console(highlight=False, markup=False, emoji=False)


@contextmanager
def _progress(*, quiet: bool) -> Iterator[Callable[[str], None]]:
    """Show what is being done, on a terminal only, and leave nothing of it behind."""
    from rich.console import Console

    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda _: None
        return
    with console.status("Starting", spinner="line") as status:
        yield status.update
