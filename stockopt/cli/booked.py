"""What the commands that keep the books share."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from stockopt.cli.kinds import DAY, FLEET, Number
from stockopt.cli.options import console, debug

if TYPE_CHECKING:
    from stockopt.books.events import Event

_Function = TypeVar("_Function", bound=Callable[..., Any])

PIECES = click.IntRange(min=1)
COUNTED = click.IntRange(min=0)
HOURS = Number("HOURS", "a number of hours of 0 or more, such as 1210.5", lambda hours: hours >= 0)

fleet_argument = click.argument("fleet", type=FLEET)
part_option = click.option("--part", required=True, metavar="PART", help="Part number, any of its.")
place_option = click.option(
    "--place", required=True, metavar="PLACE", help="Boat or store where the pieces are."
)
locker_option = click.option("--locker", default="", metavar="WHERE", help="Where they lie.")
expires_option = click.option(
    "--expires-on", type=DAY, metavar="DATE", help="Last day to fit these pieces."
)


def on_option(what: str) -> Callable[[_Function], _Function]:
    """Return the option for the day of it; today unless told."""
    return click.option(
        "--on",
        type=DAY,
        metavar="DATE",
        default=lambda: date.today().isoformat(),
        help=f"Day {what}.  [default: today]",
    )


def writing(function: _Function) -> _Function:
    """Add --dry-run, --take-over, --quiet and --debug."""
    decorators = (
        click.option(
            "--dry-run", is_flag=True, help="Say what would be written, and write nothing."
        ),
        click.option(
            "--take-over",
            is_flag=True,
            help="Go on although somebody else seems to write: that program ended long ago.",
        ),
        click.option("--quiet", is_flag=True, help="Print nothing but errors."),
        debug,
    )
    for decorator in reversed(decorators):
        function = decorator(function)
    return function


def keep(fleet: Path, event: Event, *, dry_run: bool, take_over: bool, quiet: bool) -> None:
    """Write the event into the books and say what was written."""
    from rich.padding import Padding
    from rich.text import Text

    from stockopt.books.keep import keep_books
    from stockopt.report.terminal import note_text

    kept = keep_books(fleet, event, dry_run=dry_run, take_over=take_over)
    if quiet:
        return
    out = console()
    out.print("Would be written:" if dry_run else "Written:")
    doubts = [f"Doubtful: {note_text(note)}" for note in kept.doubts]
    for line in (*kept.lines, *kept.remarks, *doubts):
        out.print(Padding(Text(line), (0, 0, 0, 2), expand=False))
    for path in kept.previous:
        out.print(Padding(Text(f"Previous version: {path.name}"), (0, 0, 0, 2), expand=False))
    if dry_run:
        out.print("Nothing was written (--dry-run).")
