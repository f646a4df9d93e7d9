"""stockopt differ."""

from __future__ import annotations

from pathlib import Path

import click

from stockopt.cli.kinds import NEW_FILE
from stockopt.cli.options import console, debug

_PLAN_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command()
@click.argument("first", type=_PLAN_FILE, metavar="A.json")
@click.argument("second", type=_PLAN_FILE, metavar="B.json")
@click.option(
    "--json", "json_file", type=NEW_FILE, metavar="FILE", help="Also write all of it as JSON."
)
@click.option("--overwrite", is_flag=True, help="Replace files that are there.")
@click.option("--all", "every", is_flag=True, help="List every line, not only the dearest.")
@click.option("--quiet", is_flag=True, help="Print nothing but errors.")
@debug
def differ(
    first: Path, second: Path, json_file: Path | None, overwrite: bool, every: bool, quiet: bool
) -> None:
    """Compare two plans of one fleet: what changed from A to B, and why it pays.

    Both are files written by stockopt plan --json. For each part that is looked after otherwise:
    what is done instead, the money now and later, and the reason: what one plan supposes, another
    price, another need, a limit that is reached.

    \b
    Example:
      stockopt plan my_fleet --json plain.json
      stockopt plan my_fleet --without "Far Parts" --json without.json
      stockopt differ plain.json without.json
    """  # noqa: D301 - \b is click's mark for lines to keep
    from stockopt.report.differ import MOST_LINES, differ_keys, print_differences
    from stockopt.report.differences import compare_plans
    from stockopt.report.plan_file import read_plan_file, refuse_unlike
    from stockopt.report.write import write_keys

    _refuse(json_file, (first, second), overwrite=overwrite)
    plans = read_plan_file(first), read_plan_file(second)
    refuse_unlike(*plans)
    differences = compare_plans(*plans)
    if json_file is not None:
        write_keys(differ_keys(differences), json_file, overwrite=overwrite)
    if not quiet:
        print_differences(console(), differences, None if every else MOST_LINES)


def _refuse(target: Path | None, plans: tuple[Path, Path], *, overwrite: bool) -> None:
    """Refuse a file that could not or should not be written, before any work is done."""
    if target is None:
        return
    if target.resolve() in {plan.resolve() for plan in plans}:
        raise click.BadParameter(f"'{target}' is one of the plans", param_hint="--json")
    if not target.resolve().parent.is_dir():
        raise click.BadParameter(f"there is no folder '{target.parent}'", param_hint="--json")
    if target.exists() and not overwrite:
        raise click.BadParameter(
            f"'{target}' is there already; add --overwrite to replace it", param_hint="--json"
        )
