"""stockopt rehearse."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

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

#: Seasons played unless asked otherwise, and bounds that a slip of the finger would pass.
SEASONS, FEWEST, MOST = 10_000, 100, 1_000_000


@click.command()
@fleet_and_common
@files
@click.option(
    "--plan",
    "plan_file",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Rehearse this plan, written by stockopt plan --json.  [default: plan first]",
)
@click.option(
    "--seasons",
    type=click.IntRange(FEWEST, MOST),
    default=SEASONS,
    show_default=True,
    help="How many seasons to play.",
)
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Which seasons to draw."
)
@click.option("--stress", is_flag=True, help="Also play worse circumstances, and plan for them.")
@click.option(
    "--rules/--no-rules",
    default=True,
    show_default=True,
    help="Play rules of thumb on the same seasons.",
)
@as_workbook
@as_for_a_plan
def rehearse(
    fleet: Path,
    planned_on: date | None,
    quiet: bool,
    json_file: Path | None,
    overwrite: bool,
    plan_file: Path | None,
    seasons: int,
    seed: int,
    stress: bool,
    rules: bool,
    workbook: Path | None,
    **settings: float | None,
) -> None:
    """Rehearse a plan of FLEET: play it through seasons, event by event.

    Lives are drawn from what the records tell, parts fail leg by leg, spares are used, run out and
    are made up. Shows what the plan told against what was seen, how bad a bad season is and what is
    behind it, and how rules of thumb do on the same seasons.

    --stress also plays failures 1.5 times as fast, deliveries twice as late, and each mail source
    gone, and says which lines of the plan would change.

    \b
    Example:
      stockopt rehearse my_fleet
      stockopt rehearse my_fleet --plan plan.json --stress --report rehearsal.xlsx
    """  # noqa: D301 - \b is click's mark for lines to keep
    refuse(fleet, {"--report": workbook, "--json": json_file}, overwrite=overwrite)

    from stockopt.pipeline import rehearse_fleet
    from stockopt.rehearsal.asked import Asked
    from stockopt.report.rehearsal_files import read_plan_file, rehearsal_study
    from stockopt.report.rehearsal_table import print_rehearsal
    from stockopt.report.study_files import write_study

    written = None if plan_file is None else read_plan_file(plan_file)
    asked = Asked(seasons=seasons, seed=seed, rules=rules, stress=stress)
    with progress(quiet=quiet) as on_step:
        rehearsal = rehearse_fleet(
            fleet, overrides(planned_on, **settings), on_step, written=written, asked=asked
        )
    study = rehearsal_study(rehearsal)
    write_study(study, workbook=workbook, json_file=json_file, overwrite=overwrite)
    if not quiet:
        print_rehearsal(console(), rehearsal)
