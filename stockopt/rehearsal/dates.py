"""How long spares keep, as the tables tell: until when those of a line can be used."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from stockopt.fleet.fleet import Fleet
from stockopt.rehearsal.calendar import ONE_DAY, Calendar
from stockopt.rehearsal.held import Aboard, InDate
from stockopt.rehearsal.policy import Stowed

#: Own pieces that expire under way, by boat and part: the last good day of each, ascending.
_Own = dict[tuple[str, str], list[float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _SortedOut:
    """The spares that a line carries by how long they keep; `wasted` expire ashore.

    `expiring` has last good days; `lasting` keep to the end; `bought` come with orders.
    """

    expiring: Sequence[float]
    lasting: int
    bought: int
    wasted: int


class Dates:
    """Last good days, in days from the day that the calendar counts from.

    Parameters
    ----------
    fleet
        Its `stock` (expires_on) and `parts` (shelf_life_days).
    calendar
        When boats depart, and when their plans end.
    bought_on
        Day on which the pieces that orders bring are bought, and taken to be made.
    """

    def __init__(self, fleet: Fleet, calendar: Calendar, *, bought_on: float = 0.0) -> None:
        self._boats = calendar.boats
        days = zip(fleet.parts["part"], fleet.parts["shelf_life_days"], strict=True)
        self._keeps: dict[str, float] = {
            part: math.inf if math.isnan(keeps) else math.floor(keeps) for part, keeps in days
        }
        self._bought_on = bought_on
        last = {boat: calendar.last[boat] for boat in calendar.boats}
        self._ends: dict[str, float] = {
            boat: math.ceil(float(calendar.departs[leg] + calendar.days[leg]))
            for boat, leg in last.items()
        }
        self._own = self._read_own(fleet, calendar)

    def is_short_lived(self, boat: str, part: str) -> bool:
        """Return whether even a piece bought before departure expires before her plan ends."""
        return self._bought_on + self._keeps[part] < self._ends[boat]

    def count_wasted(self, part: str, lines: Sequence[Stowed]) -> list[int]:
        """Return by boat the own pieces that expire ashore, worth nothing at the end."""
        return [
            self._sort_out(boat, part, line).wasted
            for boat, line in zip(self._boats, lines, strict=True)
        ]

    def stamp(self, part: str, lines: Sequence[Stowed], aboard: Aboard) -> Aboard:
        """Return the spares with their dates, or as they are where all can be used to the end.

        Parameters
        ----------
        part, lines
            What is done about the part on each boat.
        aboard
            The spares it comes to.
        """
        carried = list(zip(self._boats, lines, aboard.carry[:, 0].tolist(), strict=True))
        sorted_out = [self._sort_out(boat, part, line) for boat, line, _ in carried]
        expire = np.array(
            [
                bool(lot.expiring) or (pieces > 0 and self.is_short_lived(boat, part))
                for lot, (boat, _, pieces) in zip(sorted_out, carried, strict=True)
            ]
        )
        if not expire.any():
            return aboard
        bought = self._bought_on + self._keeps[part] + 1.0
        most = int(aboard.carry.max())
        until = np.full((len(lines), most), -math.inf)
        for row, (lot, (_, line, pieces)) in enumerate(zip(sorted_out, carried, strict=True)):
            until[row, :pieces] = [
                *[bought] * (lot.bought + line.ahead),
                *[day + 1.0 for day in lot.expiring],
                *[math.inf] * lot.lasting,
            ]
        in_date = InDate(until=until, expire=expire, bought=bought, keeps=self._keeps[part])
        return replace(aboard, in_date=in_date)

    def _sort_out(self, boat: str, part: str, line: Stowed) -> _SortedOut:
        """Tell which pieces are changed now, which go along and which stay ashore.

        What expires first is fitted now; of the rest those go along that keep, then hers that
        expire last, then what comes from others, which keeps to the end of every plan, and last
        what was bought.
        """
        own = self._own.get((boat, part), [])[: line.on_hand]
        going = own[line.own_left :]
        fitted = min(line.replace_now, len(going))
        lasting = max(line.on_hand - len(own) - (line.replace_now - fitted), 0)
        lasting = min(lasting, line.carry)
        old = going[fitted:]
        along = old[len(old) - min(len(old), line.carry - lasting) :]
        others = line.carry - lasting - len(along)
        moved = min(line.moved, others)
        return _SortedOut(
            expiring=along,
            lasting=lasting + moved,
            bought=others - moved,
            wasted=len(own) - fitted - len(along),
        )

    def _read_own(self, fleet: Fleet, calendar: Calendar) -> _Own:
        """Return the dates of pieces that are aboard or due at departure, and expire under way."""
        today = pd.Timestamp(fleet.settings.planned_on)
        found: _Own = {}
        stock = fleet.stock
        dated = stock[stock["expires_on"].notna() & stock["place"].isin(list(calendar.boats))]
        for row in dated.sort_values("expires_on").to_dict("records"):
            boat = row["place"]
            departs = calendar.departs[calendar.first[boat]]
            last = (row["expires_on"] - today) / ONE_DAY
            if departs <= last < self._ends[boat]:
                pieces = int(row["on_hand"])
                if (row["due_on"] - today) / ONE_DAY <= departs:
                    pieces += int(row["on_order"])
                found.setdefault((boat, row["part"]), []).extend([last] * pieces)
        return found
