"""Which pieces of the stock table can be counted on."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from datetime import date
from typing import Any

import pandas as pd

from stockopt.choices.choices import BoatLimits
from stockopt.errors import Note


def count_stock(
    stock: pd.DataFrame,
    due_by: Mapping[str, date],
    keeps_until: Mapping[str, date],
    notes: list[Note],
) -> dict[tuple[str, str], int]:
    """Count, by place and part, the pieces in hand or due in time that will be in date.

    Parameters
    ----------
    stock
        The stock table.
    due_by
        By place: the last day on which pieces on order are in time.
    keeps_until
        By place: the day up to which a piece must keep to count.
    notes
        Pieces left out are added here, with the reason.

    Returns
    -------
    dict
        By (place, part), for the places of `due_by`; summed over the rows of the table.
    """
    counted: dict[tuple[str, str], int] = {}
    for row in stock.reset_index(names="row").to_dict("records"):
        place, part, pieces = row["place"], row["part"], row["on_hand"]
        if place not in due_by:
            continue
        if row["on_order"] and row["due_on"] <= pd.Timestamp(due_by[place]):
            pieces += row["on_order"]
        elif row["on_order"]:
            notes.append(_left_out(row, "due_on", row["on_order"], "not known to arrive in time"))
        if pieces and row["expires_on"] < pd.Timestamp(keeps_until[place]):
            notes.append(_left_out(row, "expires_on", pieces, "out of date by the departure"))
        else:
            counted[place, part] = counted.get((place, part), 0) + int(pieces)
    return counted


def count_movable(
    stock: pd.DataFrame, limits: Mapping[str, BoatLimits], ends: Mapping[str, date]
) -> dict[tuple[str, str], int]:
    """Count by (boat, part) the pieces in hand that other boats of her harbour could have.

    Parameters
    ----------
    stock
        The stock table.
    limits, ends
        By boat: her harbour, and the last day of her plan.

    Returns
    -------
    dict
        Pieces in date to the end of every plan of the harbour; none for a boat without one.
    """
    last: dict[str, date] = {}
    for boat, limit in limits.items():
        last[limit.harbour] = max(ends[boat], last.get(limit.harbour, ends[boat]))
    sharing = {boat: last[limit.harbour] for boat, limit in limits.items() if limit.harbour}
    return count_stock(stock.assign(on_order=0), due_by=sharing, keeps_until=sharing, notes=[])


def _left_out(row: Mapping[Hashable, Any], column: str, pieces: float, why: str) -> Note:
    text = f"{pieces:g} x {row['part']} for {row['place']} not counted: {why}"
    return Note(table="stock", row=row["row"], column=column, text=text)
