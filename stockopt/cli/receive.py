"""stockopt receive."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.booked import (
    PIECES,
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
@click.option("--quantity", type=PIECES, required=True, help="Pieces that came.")
@on_option("they came")
@click.option("--source", default="", metavar="SOURCE", help="Who sent them.")
@expires_option
@locker_option
@writing
def receive(
    fleet: Path,
    place: str,
    part: str,
    quantity: int,
    on: date,
    source: str,
    expires_on: date | None,
    locker: str,
    dry_run: bool,
    take_over: bool,
    quiet: bool,
) -> None:
    """Record in FLEET that pieces were delivered: off what is on order, into stock.

    Of several orders the one due first is reduced first; pieces that were not on order are added
    as well, and that is said. Without --expires-on they keep as long as the part's shelf life
    says. Changes made before they came are not taken off them; a count of a later day knows of
    them already. The previous version of each file stays beside it.

    \b
    Example:
      stockopt receive my_fleet --place Base --part IMP-1 --quantity 4 --source "Far Parts"
    """  # noqa: D301 - \b is click's mark for lines to keep
    from stockopt.books.events import Receive

    event = Receive(
        place=place,
        part=part,
        quantity=quantity,
        on=on,
        source=source,
        expires_on=expires_on,
        locker=locker.strip(),
    )
    keep(fleet, event, dry_run=dry_run, take_over=take_over, quiet=quiet)
