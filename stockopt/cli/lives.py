"""stockopt lives."""

from __future__ import annotations

from datetime import date
from importlib.util import find_spec
from pathlib import Path

import click

from stockopt.cli.kinds import NEW_FILE
from stockopt.cli.options import console, files, fleet_and_common, overrides, refuse

#: Endings of pictures.
PICTURES = (".png", ".svg")


@click.command()
@fleet_and_common
@files
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
    refuse(fleet, {"--json": json_file, "--picture": picture}, overwrite=overwrite)

    from stockopt.pipeline import lives_of_fleet
    from stockopt.report.lives_table import print_lives
    from stockopt.report.one_part import pick_part, print_part
    from stockopt.report.write import write_lives

    studied = lives_of_fleet(fleet, overrides(planned_on))
    one = None if part is None else pick_part(studied, part)
    write_lives(studied, one, json_file=json_file, picture=picture, overwrite=overwrite)
    if quiet:
        return
    if one is None:
        print_lives(console(), studied)
    else:
        print_part(console(), one)


def _refuse_picture(picture: Path, part: str | None) -> None:
    """Refuse a picture of no part, of a kind that is not drawn, or where none can be drawn."""
    if part is None:
        raise click.UsageError("--picture draws one part: name it with --part.")
    if picture.suffix.lower() not in PICTURES:
        raise click.BadParameter(f"'{picture}' must end in .svg or .png", param_hint="--picture")
    if find_spec("matplotlib") is None:
        raise click.BadParameter(
            "pictures need matplotlib; install it with: pip install matplotlib",
            param_hint="--picture",
        )
