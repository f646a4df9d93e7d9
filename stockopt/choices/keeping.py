"""How long the pieces of a part keep, beside how long the plans go on."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from stockopt.errors import Note


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """How long pieces of one part keep on one boat, where some expire before her plan ends.

    Parameters
    ----------
    own
        Last good days of her own pieces that expire under way, earliest first.
    fresh
        Last good day of a piece bought today; None where it keeps beyond her plan.
    days
        Days that a piece keeps once bought; None for any time.
    """

    own: tuple[date, ...]
    fresh: date | None
    days: float | None


def find_shelf(
    own: tuple[date, ...], days: float, *, planned_on: date, ends_on: date
) -> Shelf | None:
    """Return how long pieces keep where some expire under way; None where none does.

    Parameters
    ----------
    own
        Last good days of her own pieces that expire under way.
    days
        shelf_life_days, NaN for any time. A piece bought now is taken to be made today.
    planned_on, ends_on
        The day of the plan, and the last of hers.
    """
    fresh = None
    if not math.isnan(days):
        last = planned_on + timedelta(days=math.floor(days))
        fresh = last if last < ends_on else None
    if not own and fresh is None:
        return None
    return Shelf(own=own, fresh=fresh, days=None if math.isnan(days) else days)


def note_short_lived(shelf_days: Mapping[str, float], planned_on: date, last: date) -> list[Note]:
    """Note parts that keep for less than the plans take, even bought today.

    Parameters
    ----------
    shelf_days
        By part: shelf_life_days, NaN for any time.
    planned_on, last
        The day of the plan, and the last of all boats' plans.
    """
    notes = []
    for part, days in sorted(shelf_days.items()):
        if math.isnan(days):
            continue
        keeps = planned_on + timedelta(days=math.floor(days))
        if keeps < last:
            text = (
                f"{part} bought today keeps to {keeps}, and plans go on to {last}: after that day "
                "its spares do not count, and what is left of them is worth nothing"
            )
            notes.append(Note(table="parts", column="shelf_life_days", text=text))
    return notes
