"""From a delivery to the rows of stock it changes."""

from __future__ import annotations

from datetime import date, timedelta

from stockopt.books.events import Entries, Entry, Receive, Value
from stockopt.books.shelf import Sheets, Shelf, add_row, change_row, find_shelves, read_numbers
from stockopt.fleet.fleet import Fleet


def receive(event: Receive, fleet: Fleet, sheets: Sheets) -> Entries:
    """Move the pieces from on order, the first due first, to in hand.

    They lie in a row of their own beside what was counted, or came, on other days: changes made
    before they came do not come off them. A count of a later day knows of them already.
    """
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
        remarks = (*remarks, f"{left} x {event.part}{of} were not on order for {event.place}.")
    added = []
    counted_on = _find_count(event, expires_on, shelves)
    if counted_on is not None:
        words = (
            f"{event.part} at {event.place} was counted on {counted_on}, after they came: none "
            "added."
        )
        remarks = (*remarks, words)
    else:
        alike = [shelf for shelf in (*ordered, *shelves) if _is_alike(shelf, event, expires_on)]
        target = next((shelf for shelf in alike if _takes(shelf, event.on)), None)
        if target is None:
            locker = alike[0].locker if alike else event.locker
            added.append(_new_row(event, locker, expires_on))
        else:
            cells = changed.setdefault(target.row, {})
            cells |= _put(event, target)
            if expires_on is not None and target.expires_on is None:
                cells["expires_on"] = expires_on
    by_row = {shelf.row: shelf for shelf in shelves}
    entries = [change_row(by_row[row], cells) for row, cells in sorted(changed.items())]
    return Entries(entries=(*entries, *added), remarks=remarks)


def _find_expiry(event: Receive, fleet: Fleet) -> tuple[date | None, tuple[str, ...]]:
    """Return the last day to fit the pieces: as told, else from the part's shelf life."""
    if event.expires_on is not None:
        return event.expires_on, ()
    keeps = fleet.parts.loc[fleet.parts["part"].eq(event.part), "shelf_life_days"]
    if keeps.empty or keeps.isna().iloc[0]:
        return None, ()
    day = event.on + timedelta(days=int(keeps.iloc[0]))
    return day, (f"Good until {day}: its shelf life is {keeps.iloc[0]:g} days.",)


def _find_count(event: Receive, expires_on: date | None, shelves: list[Shelf]) -> date | None:
    """Return the day of a later count that saw the pieces; None where there is none.

    Only a row of another expiry, or in another locker, was surely counted without them.
    """
    days = [
        shelf.counted_on
        for shelf in shelves
        if shelf.counted_on
        and shelf.counted_after(event.on)
        and shelf.lies_in(event.locker)
        and (None in (shelf.expires_on, expires_on) or shelf.expires_on == expires_on)
    ]
    return max(days, default=None)


def _is_alike(shelf: Shelf, event: Receive, expires_on: date | None) -> bool:
    """Tell whether the pieces lie with those of a row: of the same expiry and locker.

    An empty row takes the expiry of what is put there.
    """
    same_day = shelf.expires_on == expires_on or (shelf.on_hand == 0 and not shelf.expires_on)
    return same_day and shelf.lies_in(event.locker)


def _takes(shelf: Shelf, on: date) -> bool:
    """Tell whether pieces that came that day can be told from what a row holds.

    It holds what came the same day or nothing, or is not dated: then no change comes off it.
    """
    if shelf.received_on is not None:
        return shelf.received_on == on
    if shelf.on_hand == 0:
        return shelf.counted_on is None or shelf.counted_on < on
    return shelf.counted_on is None


def _put(event: Receive, shelf: Shelf) -> dict[str, Value]:
    on_hand = shelf.on_hand + event.quantity
    if shelf.on_hand and shelf.received_on is None:
        return {"on_hand": on_hand}
    received = shelf.received + event.quantity
    return {"on_hand": on_hand, "received_on": event.on, "received": received}


def _new_row(event: Receive, locker: str, expires_on: date | None) -> Entry:
    return add_row(
        {
            "place": event.place,
            "part": event.part,
            "on_hand": event.quantity,
            "expires_on": expires_on,
            "locker": locker or None,
            "received_on": event.on,
            "received": event.quantity,
        }
    )
