"""Which pieces of the stock table can be counted on."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from datetime import date
from typing import Any

import pandas as pd

from stockopt.choices.choices import BoatLimits
from stockopt.errors import Note


def count_all_stock(
    stock: pd.DataFrame,
    limits: Mapping[str, BoatLimits],
    ends: Mapping[str, date],
    notes: list[Note],
) -> dict[tuple[str, str], int]:
    """Count the stock of the boats and of their stores, which serve all boats of a harbour.

    Parameters
    ----------
    stock
        The stock table.
    limits, ends
        By boat: where she belongs and departs, and the last day of her plan.
    notes
        Pieces left out are added here.

    Returns
    -------
    dict
        By (place, part). A boat's pieces must be in hand or due, and in date, on her departure. A
        store's must be so by the first departure of a boat it serves, and in date to the end of
        every plan there, as it is not known who will have them.
    """
    due_by = {boat: limit.departs_on for boat, limit in limits.items()}
    keeps_until = dict(due_by)
    for boat, limit in limits.items():
        near = {
            other.place
            for other in limits.values()
            if limit.harbour and other.harbour == limit.harbour
        }
        for store in ({limit.place} | near) - limits.keys():
            due_by[store] = min(limit.departs_on, due_by.get(store, limit.departs_on))
            keeps_until[store] = max(ends[boat], keeps_until.get(store, ends[boat]))
    return count_stock(stock, due_by, keeps_until, notes)


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
            notes.append(
                _left_out(row, "expires_on", pieces, f"out of date by {keeps_until[place]}")
            )
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


def list_expiring(
    stock: pd.DataFrame, limits: Mapping[str, BoatLimits], ends: Mapping[str, date]
) -> dict[tuple[str, str], tuple[date, ...]]:
    """List by (boat, part) the last good days of her pieces that expire under way, in order.

    Parameters
    ----------
    stock
        The stock table.
    limits, ends
        By boat: her first departure, and the last day of her plan.

    Returns
    -------
    dict
        Of pieces that count as hers (:func:`count_stock`) and are out of date before her plan
        ends.
    """
    found: dict[tuple[str, str], list[date]] = {}
    dated = stock[stock["expires_on"].notna()]
    for boat, limit in limits.items():
        for day, rows in dated[dated["place"].eq(boat)].groupby("expires_on"):
            last = pd.Timestamp(str(day)).date()
            if limit.departs_on <= last < ends[boat]:
                due = {boat: limit.departs_on}
                for key, pieces in count_stock(rows, due, due, []).items():
                    found.setdefault(key, []).extend([last] * pieces)
    return {key: tuple(sorted(days)) for key, days in found.items()}


def _left_out(row: Mapping[Hashable, Any], column: str, pieces: float, why: str) -> Note:
    text = f"{pieces:g} x {row['part']} for {row['place']} not counted: {why}"
    return Note(table="stock", row=row["row"], column=column, text=text)
