"""The rows of a stock table as they stand, before anything is changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import pandas as pd

from stockopt.books.events import Count, Entry, Value
from stockopt.fleet.fleet import Fleet
from stockopt.fleet.part_numbers import Numbers
from stockopt.fleet.sheet import Sheet, word
from stockopt.fleet.tables import TABLES
from stockopt.fleet.typed import fill_defaults, type_sheet

Sheets = Mapping[str, Sheet]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """One row of stock: where it stands in the table and what it says; dates None where blank.

    `received_on` is None too where the row was counted that day or later.
    """

    row: int
    on_hand: int
    on_order: int
    due_on: date | None
    expires_on: date | None
    locker: str
    counted_on: date | None
    received_on: date | None
    received: int
    text: Mapping[str, str]

    def counted_after(self, day: date) -> bool:
        """Tell whether a count knows of what happened that day."""
        return self.counted_on is not None and self.counted_on > day

    def came_after(self, day: date) -> bool:
        """Tell whether the pieces were delivered later."""
        return self.received_on is not None and self.received_on > day

    def lies_in(self, locker: str) -> bool:
        """Tell whether the pieces are meant where a locker is told; "" for any."""
        return locker.casefold() in ("", self.locker.casefold())


def read_numbers(sheets: Sheets) -> Numbers:
    """Return what leads from every part number written anywhere to the current one, casefolded."""
    parts, aliases = _columns(sheets.get("parts")), _columns(sheets.get("aliases"))
    own = set(parts.get("part", ()))
    pairs = zip(aliases.get("other", ()), aliases.get("part", ()), strict=True)
    later = parts.get("replaced_by") or [""] * len(parts.get("part", ()))
    return Numbers(
        spelled={
            other.casefold(): part.casefold()
            for other, part in pairs
            if other and part and other not in own
        },
        superseded={
            part.casefold(): by.casefold()
            for part, by in zip(parts.get("part", ()), later, strict=True)
            if part and by
        },
    )


def list_numbers_known(sheets: Sheets, fleet: Fleet) -> dict[str, str]:
    """Return every number that stock and records may name: parts, sets, other spellings.

    Numbers of parts and sets lead to themselves, other spellings to the part.
    """
    parts, kits = _columns(sheets.get("parts")), _columns(sheets.get("kits"))
    others = zip(fleet.aliases["other"], fleet.aliases["part"], strict=True)
    known = dict(others)
    known.update({kit: kit for kit in kits.get("kit", ()) if kit})
    known.update({part: part for part in parts.get("part", ()) if part})
    return known


def find_shelves(sheets: Sheets, numbers: Numbers, place: str, part: str) -> list[Shelf]:
    """Return the rows of stock of a part at a place, under whichever of its numbers, by row."""
    sheet = sheets.get("stock")
    if sheet is None:
        return []
    frame, _ = type_sheet(sheet, TABLES["stock"])
    frame = fill_defaults(frame, TABLES["stock"])
    written = _columns(sheet)
    wanted = numbers.current(part.casefold())
    shelves = []
    for position, (row, told) in enumerate(zip(frame.index, frame.to_dict("records"), strict=True)):
        current = numbers.current(str(told["part"]).casefold())
        if str(told["place"]).casefold() != place.casefold() or current != wanted:
            continue
        counted_on, received_on = _day(told["counted_on"]), _day(told["received_on"])
        if counted_on and received_on and counted_on >= received_on:
            received_on = None
        shelves.append(
            Shelf(
                row=int(row),
                on_hand=int(told["on_hand"]),
                on_order=int(told["on_order"]),
                due_on=_day(told["due_on"]),
                expires_on=_day(told["expires_on"]),
                locker=str(told["locker"]),
                counted_on=counted_on,
                received_on=received_on,
                received=int(told["received"]) if received_on else 0,
                text={name: column[position] for name, column in written.items()},
            )
        )
    return shelves


def find_booked(
    sheets: Sheets, numbers: Numbers, fleet: Fleet, event: Count
) -> tuple[int, date, int] | None:
    """Return what the books took off a place after a count: pieces, last day and its row."""
    sheet = sheets.get("replacements")
    if sheet is None:
        return None
    frame, _ = type_sheet(sheet, TABLES["replacements"])
    frame = fill_defaults(frame, TABLES["replacements"])
    frame = frame[frame["on"] > pd.Timestamp(event.on)]
    boats = fleet.boats["boat"].str.casefold()
    served = set(boats[fleet.boats["store"].str.casefold().eq(event.place.casefold())])
    own = frame["taken_off"].eq("boat") & frame["boat"].str.casefold().eq(event.place.casefold())
    shared = frame["taken_off"].eq("store") & frame["boat"].str.casefold().isin(served)
    wanted = numbers.current(event.part.casefold())
    part = frame["part"].map(lambda number: numbers.current(str(number).casefold()) == wanted)
    booked = frame[(own | shared) & part.astype(bool)].sort_values("on", kind="stable")
    if booked.empty:
        return None
    last = booked.iloc[-1]
    return int(booked["quantity"].sum()), last["on"].date(), int(str(last.name))


def change_row(shelf: Shelf, cells: Mapping[str, Value]) -> Entry:
    """Return the entry that changes a row of stock."""
    before = {name: shelf.text.get(name, "") for name in cells}
    return Entry(table="stock", row=shelf.row, cells=cells, before=before)


def add_row(cells: Mapping[str, Value | None]) -> Entry:
    """Return the entry that adds a row of stock; what is None stays blank."""
    told = {name: value for name, value in cells.items() if value is not None}
    return Entry(table="stock", row=None, cells=told, before={})


def _columns(sheet: Sheet | None) -> dict[str, list[str]]:
    """Return the cells by the words of their headings, stripped."""
    if sheet is None:
        return {}
    return {
        word(str(heading)): [str(cell).strip() for cell in sheet.cells.iloc[:, place]]
        for place, heading in enumerate(sheet.cells.columns)
    }


def _day(value: object) -> date | None:
    return value.date() if isinstance(value, pd.Timestamp) and not pd.isna(value) else None
