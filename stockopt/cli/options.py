"""What several commands share: options, refusals before any work, the console, progress."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stockopt.cli.explained import DEBUG
from stockopt.cli.kinds import DAY, FLEET, GAP, MONEY, NEW_FILE, READINESS, SECONDS
from stockopt.report.files import find_refusals

if TYPE_CHECKING:
    from rich.console import Console

_Function = TypeVar("_Function", bound=Callable[..., Any])


debug = click.option(
    "--debug",
    is_flag=True,
    envvar="STOCKOPT_DEBUG",
    expose_value=False,
    callback=lambda ctx, _, value: ctx.meta.__setitem__(DEBUG, value),
    help="Show where in stockopt an error came from.",
)


as_workbook = click.option(
    "--report", "workbook", type=NEW_FILE, metavar="FILE", help="Also write it as a workbook."
)


def fleet_and_common(function: _Function) -> _Function:
    """Add what every command takes: FLEET, --planned-on, --quiet, --debug."""
    decorators = (
        click.argument("fleet", type=FLEET),
        click.option(
            "--planned-on",
            type=DAY,
            metavar="DATE",
            help="Day of the plan, such as 2031-04-01; later records are left out.  "
            "[default: from the fleet's settings]",
        ),
        click.option("--quiet", is_flag=True, help="Print nothing but errors."),
        debug,
    )
    for decorator in reversed(decorators):
        function = decorator(function)
    return function


def files(function: _Function) -> _Function:
    """Add the options of commands that write files."""
    json_option = click.option(
        "--json", "json_file", type=NEW_FILE, metavar="FILE", help="Also write all of it as JSON."
    )
    overwrite = click.option("--overwrite", is_flag=True, help="Replace files that are there.")
    return json_option(overwrite(function))


def as_for_a_plan(function: _Function) -> _Function:
    """Add the options of commands that make a plan on their way."""
    decorators = (
        click.option("--budget", type=MONEY, help="Most to spend now, over all boats."),
        click.option("--readiness", type=READINESS, help="Least chance, as for stockopt plan."),
        click.option("--seconds", type=SECONDS, help="Longest time for the solver.  [default: 60]"),
        click.option(
            "--gap", type=GAP, help="Stop when proven this near the best.  [default: 0.1%]"
        ),
    )
    for decorator in reversed(decorators):
        function = decorator(function)
    return function


def overrides(planned_on: date | None, **settings: float | None) -> dict[str, Any]:
    """Return the settings given on the command line, by name."""
    given: dict[str, Any] = {name: value for name, value in settings.items() if value is not None}
    if planned_on is not None:
        given["planned_on"] = planned_on
    return given


def refuse(fleet: Path, targets: dict[str, Path | None], *, overwrite: bool) -> None:
    """Refuse, before any work is done, files that could not or should not be written."""
    given = {option: path for option, path in targets.items() if path is not None}
    for option, why in find_refusals(fleet, given, overwrite=overwrite):
        raise click.BadParameter(why, param_hint=option)


def console() -> Console:
    """Return a console that never fails on a character the terminal lacks."""
    from rich.console import Console

    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")
    return Console(highlight=False, markup=False, emoji=False)


@contextmanager
def progress(*, quiet: bool) -> Iterator[Callable[[str], None]]:
    """Show what is being done and for how long, on a terminal only; nothing of it stays."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if quiet or not console.is_terminal:
        yield lambda _: None
        return
    # What is left to do is not known beforehand, so the bar only says that work goes on.
    columns = (TextColumn("{task.description}", markup=False), BarColumn(20), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("Starting", total=None)
        yield lambda step: bar.update(task, description=step, refresh=True)
