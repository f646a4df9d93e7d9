"""stockopt lookback."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.kinds import DAY
from stockopt.cli.options import (
    as_for_a_plan,
    as_workbook,
    console,
    files,
    fleet_and_common,
    overrides,
    progress,
    refuse,
)


@click.command()
@fleet_and_common
@files
@click.option(
    "--from",
    "since",
    type=DAY,
    required=True,
    metavar="DATE",
    help="Plan with what was known on that day.",
)
@click.option(
    "--until",
    type=DAY,
    metavar="DATE",
    help="Last day replayed.  [default: a year later, or the last record]",
)
@as_workbook
@as_for_a_plan
def lookback(
    fleet: Path,
    planned_on: date | None,
    quiet: bool,
    json_file: Path | None,
    overwrite: bool,
    since: date,
    until: date | None,
    workbook: Path | None,
    **settings: float | None,
) -> None:
    """Look back: meet a plan of FLEET, made on a day that is past, with what failed after it.

    Learns from the records up to that day only, plans, and replays what really failed: what was
    aboard, what was short, what was left over, and what it cost, beside rules of thumb on the same
    history. Scores the number of failures foretold of each part against what came, and against last
    year's rate carried forward.

    \b
    Example:
      stockopt lookback my_fleet --from 2030-04-01
      stockopt lookback my_fleet --from 2030-04-01 --until 2030-10-31 --report back.xlsx
    """  # noqa: D301 - \b is click's mark for lines to keep
    refuse(fleet, {"--report": workbook, "--json": json_file}, overwrite=overwrite)

    from stockopt.pipeline import look_back_on_fleet
    from stockopt.report.lookback_files import lookback_study
    from stockopt.report.lookback_table import print_lookback
    from stockopt.report.study_files import write_study

    with progress(quiet=quiet) as on_step:
        look = look_back_on_fleet(
            fleet, overrides(planned_on, **settings), on_step, since=since, until=until
        )
    study = lookback_study(look)
    write_study(study, workbook=workbook, json_file=json_file, overwrite=overwrite)
    if not quiet:
        print_lookback(console(), look)
