"""stockopt plan."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.kinds import GAP, MONEY, NEW_FILE, READINESS, SECONDS
from stockopt.cli.options import console, files, fleet_and_common, overrides, progress, refuse
from stockopt.cli.supposed import supposed
from stockopt.errors import NoPlanError
from stockopt.fleet.what_if import Wanted


@click.command()
@fleet_and_common
@files
@click.option(
    "--report",
    "workbook",
    type=NEW_FILE,
    metavar="FILE",
    help="Workbook to write.  [default: reports/<fleet>-<day>.xlsx, or -2, -3 ...]",
)
@click.option(
    "--page", type=NEW_FILE, metavar="FILE", help="Also write it as one page for a phone (.html)."
)
@click.option(
    "--orders",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Also write each purchase order to this folder, as a CSV file ready to send.",
)
@click.option("--budget", type=MONEY, help="Most to spend now, over all boats.")
@click.option(
    "--readiness",
    type=READINESS,
    help="Least chance, for each boat, of never being stopped for want of a part, such as 95%.",
)
@click.option("--seconds", type=SECONDS, help="Longest time for the solver.  [default: 60]")
@click.option("--gap", type=GAP, help="Stop when proven this near the best.  [default: 0.1%]")
@click.option(
    "--explain/--no-explain",
    "explain",
    default=None,
    help="Solve again with a little more of each limit, to say what it is worth.  [default: up "
    "to 10 s, for fleets of up to about 15 boats]",
)
@click.option(
    "--curve",
    is_flag=True,
    help="Draw cost and readiness against money and against kilos: some 20 more plans.",
)
@supposed
def plan(
    fleet: Path,
    planned_on: date | None,
    quiet: bool,
    json_file: Path | None,
    overwrite: bool,
    workbook: Path | None,
    page: Path | None,
    orders: Path | None,
    explain: bool | None,
    curve: bool,
    wanted: Wanted,
    **settings: float | None,
) -> None:
    """Plan the spares of FLEET; write a workbook.

    The workbook has what costs what, a stow list for each boat, what to replace before leaving,
    what to buy where and by when, how long parts last, and what was doubtful in the tables.
    Options go before the fleet's own settings. No file is replaced unless you say --overwrite.

    --without, --departs, --rate and --pin suppose something for this plan only; each can be given
    several times, and the plan says what it supposes.

    \b
    Example:
      stockopt plan my_fleet --budget 4000 --readiness 95% --json plan.json
      stockopt plan my_fleet --without "Far Parts" --pin Heron:SEAL-7=2
      stockopt plan my_fleet --curve
    """  # noqa: D301 - \b is click's mark for lines to keep
    targets = {"--report": workbook, "--json": json_file, "--page": page}
    refuse(fleet, targets, overwrite=overwrite)

    from stockopt.pipeline import check_fleet, explain_run, plan_fleet
    from stockopt.report.json_file import no_plan_keys
    from stockopt.report.order_files import refuse_orders
    from stockopt.report.terminal import print_plan
    from stockopt.report.write import write_keys, write_report

    if orders is not None and (why := refuse_orders(fleet, orders, overwrite=overwrite)):
        raise click.BadParameter(why, param_hint="--orders")
    given = overrides(planned_on, **settings)
    try:
        with progress(quiet=quiet) as on_step:
            run = plan_fleet(fleet, given, on_step, wanted)
            run = explain_run(run, on_step, limits=explain, curve=curve)
    except NoPlanError as error:
        if json_file is not None:
            keys = no_plan_keys(check_fleet(fleet, given), error.clashes)
            write_keys(keys, json_file, overwrite=overwrite)
        raise
    written = write_report(
        run,
        workbook=workbook,
        json_file=json_file,
        page=page,
        orders=orders,
        overwrite=overwrite,
    )
    if not quiet:
        print_plan(console(), run, written)
