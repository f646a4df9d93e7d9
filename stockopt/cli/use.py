"""stockopt use."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from stockopt.cli.booked import HOURS, PIECES, fleet_argument, keep, on_option, part_option, writing
from stockopt.cli.kinds import DAY
from stockopt.fleet.tables import TABLES

_REASONS = next(
    column.choices for column in TABLES["replacements"].columns if column.name == "reason"
)


@click.command()
@fleet_argument
@click.option("--boat", required=True, metavar="BOAT", help="Boat on which it was changed.")
@click.option("--machine", required=True, metavar="MACHINE", help="Machine it is fitted to.")
@part_option
@click.option("--quantity", type=PIECES, default=1, show_default=True, help="Pieces changed.")
@on_option("it was changed")
@click.option(
    "--reason",
    type=click.Choice(_REASONS, case_sensitive=False),
    required=True,
    help="Why it came off.",
)
@click.option("--hours", type=HOURS, help="Meter at the change.  [default: from the readings]")
@click.option("--slot", type=PIECES, help="Which of several pieces fitted, 1, 2 ...")
@click.option(
    "--sound-on", type=DAY, metavar="DATE", help="Day it was last seen sound, if found worn."
)
@click.option("--note", default="", help="Anything worth keeping.")
@click.option("--from-store", is_flag=True, help="The new piece came from her store.")
@click.option(
    "--not-from-stock", is_flag=True, help="It came from no stock, as bought on the spot."
)
@writing
def use(
    fleet: Path,
    boat: str,
    machine: str,
    part: str,
    quantity: int,
    on: date,
    reason: str,
    hours: float | None,
    slot: int | None,
    sound_on: date | None,
    note: str,
    from_store: bool,
    not_from_stock: bool,
    dry_run: bool,
    take_over: bool,
    quiet: bool,
) -> None:
    """Record in FLEET that a part was changed, and take the new piece off the boat's stock.

    Adds a row to replacements. The piece comes from the boat's own stock unless you say otherwise;
    of several rows of it, those that expire first. A stock that was counted after the change knows
    of it already. The previous version of each file stays beside it.

    \b
    Example:
      stockopt use my_fleet --boat Heron --machine engine --part IMP-1 --reason worn --hours 1210
    """  # noqa: D301 - \b is click's mark for lines to keep
    from stockopt.books.events import Use

    if from_store and not_from_stock:
        raise click.UsageError("--from-store and --not-from-stock exclude each other.")
    drawn_from = "store" if from_store else "" if not_from_stock else "boat"
    event = Use(
        boat=boat,
        machine=machine,
        part=part,
        quantity=quantity,
        on=on,
        reason=reason.lower(),
        hours=hours,
        slot=slot,
        sound_on=sound_on,
        note=note.strip(),
        drawn_from=drawn_from,
    )
    keep(fleet, event, dry_run=dry_run, take_over=take_over, quiet=quiet)
