"""From an event to the rows it changes: no file is touched here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from stockopt.books.counting import count
from stockopt.books.events import Entries, Entry, Event, Receive, Use, Value
from stockopt.books.receiving import receive
from stockopt.books.shelf import Shelf, change_row, find_shelves, list_numbers_known, read_numbers
from stockopt.errors import CommandError, StockoptError
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.names import Names, UnknownNameError, name_each
from stockopt.fleet.sheet import Sheet

Sheets = Mapping[str, Sheet]


def make_entries(event: Event, fleet: Fleet, sheets: Sheets) -> Entries:
    """Work out which rows an event changes.

    Parameters
    ----------
    event
        What happened; names in any capitals, parts by any of their numbers.
    fleet, sheets
        The tables, checked and as written.

    Returns
    -------
    Entries
        Rows to change and to add.

    Raises
    ------
    CommandError
        A name is not known.
    StockoptError
        The books do not hold what was used, or do not say which row was counted.
    """
    event = _match(event, fleet, sheets)
    if isinstance(event, Use):
        return _use(event, fleet, sheets)
    if isinstance(event, Receive):
        return receive(event, fleet, sheets)
    return count(event, fleet, sheets)


def _match(event: Event, fleet: Fleet, sheets: Sheets) -> Event:
    """Return the event with the names that the tables use."""
    wrong: list[str] = []

    def pick(option: str, name: str, names: Names) -> str:
        try:
            return names.pick(name)
        except UnknownNameError as error:
            wrong.append(f"{option}: {error}")
            return ""

    part = pick("--part", event.part, Names("part", list_numbers_known(sheets, fleet)))
    boats = list(fleet.boats["boat"])
    if isinstance(event, Use):
        boat = pick("--boat", event.boat, name_each("boat", boats))
        hers = fleet.machines.loc[fleet.machines["boat"].eq(boat), "machine"]
        machine = (
            pick("--machine", event.machine, name_each(f"machine of {boat}", hers)) if boat else ""
        )
        event = replace(event, boat=boat, machine=machine, part=part)
    else:
        stores = [store for store in fleet.boats["store"].unique() if store]
        place = pick("--place", event.place, name_each("boat or store", [*boats, *stores]))
        event = replace(event, place=place, part=part)
        if isinstance(event, Receive) and event.source:
            sources = name_each("source", fleet.sources["source"])
            event = replace(event, source=pick("--source", event.source, sources))
    if wrong:
        raise CommandError(wrong)
    return event


def _use(event: Use, fleet: Fleet, sheets: Sheets) -> Entries:
    """Record the change, and mark it where its piece is off the stock, that it stays so."""
    cells: dict[str, Value | None] = {
        "on": event.on,
        "boat": event.boat,
        "machine": event.machine,
        "part": event.part,
        "quantity": event.quantity,
        "hours": event.hours,
        "reason": event.reason,
        "sound_on": event.sound_on,
        "slot": event.slot,
        "note": event.note or None,
    }
    told = {name: value for name, value in cells.items() if value is not None}
    place = _find_place(event, fleet)
    if not event.drawn_from:
        drawn = Entries(entries=(), remarks=("No stock was drawn on.",))
        told["taken_off"] = "none"
    elif shelves := find_shelves(sheets, read_numbers(sheets), place, event.part):
        drawn = _draw(event, place, shelves)
        told["taken_off"] = event.drawn_from
    else:
        words = f"No stock of {event.part} at {place} is in the books: none drawn."
        drawn = Entries(entries=(), remarks=(words,))
    record = Entry(table="replacements", row=None, cells=told, before={})
    return Entries(entries=(record, *drawn.entries), remarks=drawn.remarks)


def _find_place(event: Use, fleet: Fleet) -> str:
    if event.drawn_from != "store":
        return event.boat
    store = str(fleet.boats.loc[fleet.boats["boat"].eq(event.boat), "store"].iloc[0])
    if not store:
        raise CommandError([f"--from-store: no store serves {event.boat} (boats, column store)"])
    return store


def _draw(event: Use, place: str, shelves: list[Shelf]) -> Entries:
    """Take the pieces from the rows of stock, those that expire first before others.

    A row counted after the change knows of it already. What came after the change is taken only
    where the books hold nothing else: then a later change was taken off what this one used.
    """
    knowing = [shelf.counted_on for shelf in shelves if shelf.counted_after(event.on)]
    there = [
        shelf
        for shelf in shelves
        if not shelf.counted_after(event.on) and not shelf.came_after(event.on)
    ]
    there.sort(key=lambda shelf: (shelf.expires_on or date.max, shelf.row))
    if not knowing:
        later = [shelf for shelf in shelves if shelf.came_after(event.on)]
        there += sorted(later, key=lambda shelf: (shelf.received_on or date.max, shelf.row))
    left, entries = event.quantity, []
    for shelf in there:
        taken = min(left, shelf.on_hand)
        if taken:
            entries.append(change_row(shelf, {"on_hand": shelf.on_hand - taken}))
            left -= taken
    if not left:
        return Entries(entries=tuple(entries), remarks=())
    drawn = event.quantity - left
    if not knowing:
        raise StockoptError(
            f"{event.quantity} x {event.part} cannot come from {place}: the books have {drawn} "
            f"there (stock, row {', '.join(str(shelf.row) for shelf in shelves)}).\n"
            "Count it first (stockopt count), or say where the piece came from: --from-store, "
            "or --not-from-stock. Nothing was written."
        )
    day = max(day for day in knowing if day)
    words = (
        f"{event.part} at {place} was counted on {day}, after this change: "
        f"{f'only {drawn}' if drawn else 'none'} drawn."
    )
    return Entries(entries=tuple(entries), remarks=(words,))
