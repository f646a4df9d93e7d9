"""stockopt landed."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.kinds import NEW_FILE
from stockopt.cli.options import console, files, fleet_and_common, overrides, progress, refuse


@click.command()
@fleet_and_common
@files
@click.option("--part", metavar="PART", help="Show one part in full, from every source.")
@click.option(
    "--port",
    metavar="PORT",
    help="Compare at this port only.  [default: every home port that a source delivers to]",
)
@click.option(
    "--basket",
    type=click.Choice(["need", "buy"]),
    default="need",
    show_default=True,
    help="What is compared: need, the pieces the season is expected to need, each part rounded up; "
    "buy, what the plan buys.",
)
@click.option(
    "--report",
    "workbook",
    type=NEW_FILE,
    metavar="FILE",
    help="Also write a workbook, with a chart.",
)
def landed(
    fleet: Path,
    planned_on: date | None,
    quiet: bool,
    json_file: Path | None,
    overwrite: bool,
    part: str | None,
    port: str | None,
    basket: str,
    workbook: Path | None,
) -> None:
    """Compare local shops with mail order: what FLEET's parts cost in your hand.

    For each part and for the whole basket: price, freight, duty, tax and its share of the order's
    charges, to the cent; days and what waiting costs; the cheapest split over the sources, and
    from how much on mail order pays.

    \b
    Example:
      stockopt landed my_fleet
      stockopt landed my_fleet --part SEAL-7 --port "North Quay"
    """  # noqa: D301 - \b is click's mark for lines to keep
    refuse(fleet, {"--report": workbook, "--json": json_file}, overwrite=overwrite)

    from stockopt.pipeline import landed_of_fleet
    from stockopt.report.landed_files import landed_study
    from stockopt.report.landed_table import print_landed
    from stockopt.report.landed_words import pick_compared
    from stockopt.report.study_files import write_study

    with progress(quiet=quiet) as on_step:
        compared = landed_of_fleet(
            fleet, overrides(planned_on), on_step, port=port, of_plan=basket == "buy"
        )
    one = None if part is None else pick_compared(compared.landed, compared.fleet, part)
    study = landed_study(compared, one)
    write_study(study, workbook=workbook, json_file=json_file, overwrite=overwrite)
    if not quiet:
        print_landed(console(), compared, one)
