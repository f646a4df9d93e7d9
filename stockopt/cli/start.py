"""stockopt start."""

from __future__ import annotations

from pathlib import Path

import click


@click.command()
@click.argument("target", metavar="FOLDER_OR_XLSX", type=click.Path(path_type=Path))
@click.option(
    "--one-boat", is_flag=True, help="Only the few tables and columns that one boat needs."
)
@click.option("--overwrite", is_flag=True, help="Replace a workbook that is there.")
@click.option("--quiet", is_flag=True, help="Print nothing but errors.")
def start(target: Path, one_boat: bool, overwrite: bool, quiet: bool) -> None:
    """Write empty tables to fill in.

    A name that ends in .xlsx becomes one workbook, with help on every cell, lists to choose from
    and a sheet that explains; any other a folder of CSV files with a page of help beside them.

    \b
    Example:
      stockopt start my_boat.xlsx --one-boat
      stockopt start my_fleet
    """  # noqa: D301 - \b is click's mark for lines to keep
    from stockopt.report.start import refuse_start, write_start

    refused = refuse_start(target, overwrite=overwrite)
    if refused is not None:
        raise click.BadParameter(refused, param_hint="FOLDER_OR_XLSX")
    write_start(target, one_boat=one_boat, overwrite=overwrite)
    if not quiet:
        click.echo(f"{target} is ready to be filled in. Then: stockopt check {target}")
