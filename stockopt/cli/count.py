"""stockopt count."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.booked import (
    COUNTED,
    expires_option,
    fleet_argument,
    keep,
    locker_option,
    on_option,
    part_option,
    place_option,
    writing,
)


@click.command()
@fleet_argument
@place_option
@part_option
@click.option("--on-hand", type=COUNTED, required=True, help="Pieces that are there.")
@on_option("of the count")
@locker_option
@expires_option
@writing
def count(
    fleet: Path,
    place: str,
    part: str,
    on_hand: int,
    on: date,
    locker: str,
    expires_on: date | None,
    dry_run: bool,
    take_over: bool,
    quiet: bool,
) -> None:
    """Record in FLEET how many pieces of a part are at a place.

    Where a part lies in several lockers or expires on several days, --locker or --expires-on say
    which was counted; one that no row has becomes a new row. What came after the count stays
    beside it. The previous version of each file stays beside it.

    \b
    Example:
      stockopt count my_fleet --place Heron --part IMP-1 --on-hand 2
    """  # noqa: D301 - \b is click's mark for lines to keep
    from stockopt.books.events import Count

    event = Count(
        place=place,
        part=part,
        on_hand=on_hand,
        on=on,
        locker=locker.strip(),
        expires_on=expires_on,
    )
    keep(fleet, event, dry_run=dry_run, take_over=take_over, quiet=quiet)
