"""stockopt check."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.explained import ALL
from stockopt.cli.options import console, fleet_and_common, overrides
from stockopt.report.explain import MOST_PROBLEMS


@click.command()
@fleet_and_common
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
    ctx.meta[ALL] = all_errors

    from stockopt.pipeline import check_fleet
    from stockopt.report.terminal import print_check

    checked = check_fleet(fleet, overrides(planned_on))
    if not quiet:
        print_check(console(), checked)
