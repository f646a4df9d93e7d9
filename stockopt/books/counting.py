"""From a count to the rows of stock it changes."""

from __future__ import annotations

from collections.abc import Sequence

from stockopt.books.events import Count, Entries, Entry, Value
from stockopt.books.shelf import (
    Sheets,
    Shelf,
    add_row,
    change_row,
    find_booked,
    find_shelves,
    read_numbers,
)
from stockopt.errors import StockoptError
from stockopt.fleet.fleet import Fleet


def count(event: Count, fleet: Fleet, sheets: Sheets) -> Entries:
    """Write what was counted on one row, and take what was counted with it off the others.

    Rows of one locker and expiry, as deliveries leave them, were counted together; what came
    after the count stays beside it.
    """
    numbers = read_numbers(sheets)
    shelves = find_shelves(sheets, numbers, event.place, event.part)
    meant = [
        shelf
        for shelf in shelves
        if shelf.lies_in(event.locker) and event.expires_on in (None, shelf.expires_on)
    ]
    if len({(shelf.locker.casefold(), shelf.expires_on) for shelf in meant}) > 1:
        rows = "\n".join(f"  {_describe(shelf)}" for shelf in meant)
        raise StockoptError(
            f"{event.part} lies in {len(meant)} rows of stock at {event.place}:\n\n{rows}\n\n"
            "Say which was counted, with --locker or --expires-on. Nothing was written."
        )
    _refuse_older(event, meant)
    if meant and (booked := find_booked(sheets, numbers, fleet, event)):
        pieces, last, row = booked
        raise StockoptError(
            f"{pieces} x {event.part} came off the books of {event.place} after {event.on}, last "
            f"on {last} (replacements, row {row}): this count would put them back. Bring it up to "
            f"that day (less what was used since, and with what came), and give --on {last}. "
            "Nothing was written."
        )
    later = [shelf for shelf in meant if shelf.came_after(event.on)]
    remarks = tuple(
        f"{shelf.on_hand} that came later, on {shelf.received_on}, are left as they are."
        for shelf in later
    )
    together = [shelf for shelf in meant if shelf not in later]
    if together:
        return Entries(entries=_write(event, together), remarks=remarks)
    cells: dict[str, Value | None] = {
        "place": event.place,
        "part": event.part,
        "on_hand": event.on_hand,
        "expires_on": event.expires_on or (later[0].expires_on if later else None),
        "locker": event.locker or (later[0].locker if later else "") or None,
        "counted_on": event.on,
    }
    return Entries(entries=(add_row(cells),), remarks=remarks)


def _refuse_older(event: Count, meant: Sequence[Shelf]) -> None:
    for shelf in meant:
        if shelf.counted_after(event.on):
            raise StockoptError(
                f"{event.part} at {event.place} was counted later, on {shelf.counted_on} (stock, "
                f"row {shelf.row}): a count of {event.on} cannot replace it. Nothing was written."
            )


def _write(event: Count, together: Sequence[Shelf]) -> tuple[Entry, ...]:
    """Return the changes of the rows that were counted together: all pieces go to one of them."""
    first = min(together, key=lambda shelf: (shelf.received_on is not None, shelf.row))
    entries = []
    for shelf in together:
        cells: dict[str, Value] = {
            "on_hand": event.on_hand if shelf is first else 0,
            "counted_on": event.on,
        }
        cells |= {name: "" for name in ("received_on", "received") if shelf.text.get(name)}
        entries.append(change_row(shelf, cells))
    return tuple(entries)


def _describe(shelf: Shelf) -> str:
    told = [f"row {shelf.row}: {shelf.on_hand} in hand"]
    told += [f"locker {shelf.locker}"] if shelf.locker else []
    told += [f"good until {shelf.expires_on}"] if shelf.expires_on else []
    return ", ".join(told)
