"""From an event to the rows it changes: no file is touched here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from stockopt.books.events import Count, Entry, Event, Receive, Use, Value
from stockopt.books.shelf import (
    Shelf,
    find_before,
    find_shelves,
    list_numbers_known,
    read_numbers,
)
from stockopt.errors import CommandError, StockoptError
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.names import Names, UnknownNameError, name_each
from stockopt.fleet.sheet import Sheet

Sheets = Mapping[str, Sheet]


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """What is written, and what the person should know of it."""

    entries: tuple[Entry, ...]
    remarks: tuple[str, ...]


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
        return _receive(event, fleet, sheets)
    return _count(event, sheets)


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

    A row counted after the change knows of it already.
    """
    late = [shelf for shelf in shelves if shelf.counted_on and shelf.counted_on > event.on]
    if late:
        day = max(shelf.counted_on for shelf in late if shelf.counted_on)
        words = f"{event.part} at {place} was counted on {day}, after this change: none drawn."
        return Entries(entries=(), remarks=(words,))
    there = sum(shelf.on_hand for shelf in shelves)
    if there < event.quantity:
        raise StockoptError(
            f"{event.quantity} x {event.part} cannot come from {place}: the books have {there} "
            f"there (stock, row {', '.join(str(shelf.row) for shelf in shelves)}).\n"
            "Count it first (stockopt count), or say where the piece came from: --from-store, "
            "or --not-from-stock. Nothing was written."
        )
    left, entries = event.quantity, []
    for shelf in sorted(shelves, key=lambda shelf: (shelf.expires_on or date.max, shelf.row)):
        taken = min(left, shelf.on_hand)
        if taken:
            entries.append(_change(shelf, {"on_hand": shelf.on_hand - taken}))
            left -= taken
    return Entries(entries=tuple(entries), remarks=())


def _receive(event: Receive, fleet: Fleet, sheets: Sheets) -> Entries:
    """Move the pieces from on order, the first due first, to in hand."""
    shelves = find_shelves(sheets, read_numbers(sheets), event.place, event.part)
    expires_on, remarks = _find_expiry(event, fleet)
    ordered = sorted(
        (shelf for shelf in shelves if shelf.on_order),
        key=lambda shelf: (shelf.due_on or date.max, shelf.row),
    )
    changed: dict[int, dict[str, Value]] = {}
    left = event.quantity
    for shelf in ordered:
        come = min(left, shelf.on_order)
        if come:
            changed[shelf.row] = {"on_order": shelf.on_order - come}
            if come == shelf.on_order and shelf.due_on is not None:
                changed[shelf.row]["due_on"] = ""
            left -= come
    if left:
        of = f" from {event.source}" if event.source else ""
        count = event.quantity if left == event.quantity else left
        remarks = (*remarks, f"{count} x {event.part}{of} were not on order for {event.place}.")
    target = _find_target(event, expires_on, [*ordered, *shelves])
    if target is not None:
        changed.setdefault(target.row, {})["on_hand"] = target.on_hand + event.quantity
        if expires_on is not None and target.expires_on is None:
            changed[target.row]["expires_on"] = expires_on
    by_row = {shelf.row: shelf for shelf in shelves}
    entries = [_change(by_row[row], cells) for row, cells in sorted(changed.items())]
    if target is None:
        entries.append(_new_row(event, event.quantity, expires_on))
    return Entries(entries=tuple(entries), remarks=remarks)


def _find_expiry(event: Receive, fleet: Fleet) -> tuple[date | None, tuple[str, ...]]:
    """Return the last day to fit the pieces: as told, else from the part's shelf life."""
    if event.expires_on is not None:
        return event.expires_on, ()
    keeps = fleet.parts.loc[fleet.parts["part"].eq(event.part), "shelf_life_days"]
    if keeps.empty or keeps.isna().iloc[0]:
        return None, ()
    day = event.on + timedelta(days=int(keeps.iloc[0]))
    return day, (f"Good until {day}: its shelf life is {keeps.iloc[0]:g} days.",)


def _find_target(event: Receive, expires_on: date | None, shelves: list[Shelf]) -> Shelf | None:
    """Return the row the pieces lie on: of the same expiry and locker, else none.

    An empty row takes the expiry of what is put there.
    """
    for shelf in shelves:
        same_day = shelf.expires_on == expires_on or (shelf.on_hand == 0 and not shelf.expires_on)
        if same_day and event.locker.casefold() in ("", shelf.locker.casefold()):
            return shelf
    return None


def _count(event: Count, sheets: Sheets) -> Entries:
    """Write what was counted on the one row that is meant."""
    shelves = find_shelves(sheets, read_numbers(sheets), event.place, event.part)
    meant = [
        shelf
        for shelf in shelves
        if event.locker.casefold() in ("", shelf.locker.casefold())
        and event.expires_on in (None, shelf.expires_on)
    ]
    if len(meant) > 1:
        rows = "\n".join(f"  {_describe(shelf)}" for shelf in meant)
        raise StockoptError(
            f"{event.part} lies in {len(meant)} rows of stock at {event.place}:\n\n{rows}\n\n"
            "Say which was counted, with --locker or --expires-on. Nothing was written."
        )
    if not meant:
        return Entries(entries=(_new_row(event, event.on_hand, event.expires_on),), remarks=())
    (shelf,) = meant
    if shelf.counted_on and shelf.counted_on > event.on:
        raise StockoptError(
            f"{event.part} at {event.place} was counted later, on {shelf.counted_on} (stock, row "
            f"{shelf.row}): a count of {event.on} cannot replace it. Nothing was written."
        )
    return Entries(
        entries=(_change(shelf, {"on_hand": event.on_hand, "counted_on": event.on}),), remarks=()
    )


def _describe(shelf: Shelf) -> str:
    told = [f"row {shelf.row}: {shelf.on_hand} in hand"]
    told += [f"locker {shelf.locker}"] if shelf.locker else []
    told += [f"good until {shelf.expires_on}"] if shelf.expires_on else []
    return ", ".join(told)


def _new_row(event: Receive | Count, on_hand: int, expires_on: date | None) -> Entry:
    cells: dict[str, Value | None] = {
        "place": event.place,
        "part": event.part,
        "on_hand": on_hand,
        "expires_on": expires_on,
        "locker": event.locker or None,
        "counted_on": event.on,
    }
    told = {name: value for name, value in cells.items() if value is not None}
    return Entry(table="stock", row=None, cells=told, before={})


def _change(shelf: Shelf, cells: Mapping[str, Value]) -> Entry:
    return Entry(table="stock", row=shelf.row, cells=cells, before=find_before(shelf, cells))
