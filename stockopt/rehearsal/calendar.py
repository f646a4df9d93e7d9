"""Every leg of every boat in one row, in days from the day of the plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.fleet.fleet import Fleet

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

ONE_DAY = pd.Timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """The legs of all boats, one behind the other; a leg sailed n times stands there n times.

    Parameters
    ----------
    boats
        Those with legs to come, sorted.
    first, last
        By boat: the numbers of her first and last leg.
    departs, days
        (L,): day on which each leg departs, counted from the day of the plan, and how long it
        takes.
    until_next
        (L,): days until the boat's next leg departs; of her last leg its own days.
    to_port
        Where each ends, "" where that is not told.
    chase_days
        (L,): NaN out of the store's reach.
    running
        By (boat, machine): hours that each of her legs puts on its meter; under (boat, "") those
        of a machine that is not named in `leg_hours`.
    """

    boats: tuple[str, ...]
    first: Mapping[str, int]
    last: Mapping[str, int]
    departs: Floats
    days: Floats
    until_next: Floats
    to_port: tuple[str, ...]
    chase_days: Floats
    running: Mapping[tuple[str, str], Floats]

    def legs_of(self, boat: str) -> range:
        """Return the numbers of a boat's legs."""
        return range(self.first[boat], self.last[boat] + 1)

    def reached(self, boat: str, machine: str, clock: str) -> Floats:
        """Return what a machine's clock shows at the end of each leg, 0 at the first departure.

        The calendar does not stand still in port: days there count with the leg before.
        """
        if clock == "days":
            return np.cumsum(self.until_next[self.first[boat] : self.last[boat] + 1])
        return np.cumsum(self.running.get((boat, machine), self.running[boat, ""]))


def write_out(fleet: Fleet) -> Calendar:
    """Return the calendar of a fleet's `legs` and `leg_hours`."""
    table = fleet.legs.sort_values(["boat", "departs_on"], kind="stable")
    times = table["times"].to_numpy(dtype=np.int64)
    row = np.repeat(np.arange(len(table)), times)
    turn = np.arange(len(row)) - np.repeat(np.cumsum(times) - times, times)
    written = table.iloc[row]
    days = written["days"].to_numpy(dtype=np.float64)
    begins = (written["departs_on"] - pd.Timestamp(fleet.settings.planned_on)) / ONE_DAY
    departs = begins.to_numpy(dtype=np.float64) + turn * days
    boat = written["boat"].to_numpy(dtype=str)
    boats = tuple(sorted({str(name) for name in boat}))
    first = {name: int(np.searchsorted(boat, name)) for name in boats}
    last = {name: int(np.searchsorted(boat, name, side="right")) - 1 for name in boats}
    until_next = np.append(np.diff(departs), np.nan)
    until_next[list(last.values())] = days[list(last.values())]
    return Calendar(
        boats=boats,
        first=first,
        last=last,
        departs=departs,
        days=days,
        until_next=until_next,
        to_port=tuple(written["to_port"].tolist()),
        chase_days=written["chase_days"].to_numpy(dtype=np.float64),
        running=_run_hours(fleet, written, first, last),
    )


def _run_hours(
    fleet: Fleet, written: pd.DataFrame, first: Mapping[str, int], last: Mapping[str, int]
) -> dict[tuple[str, str], Floats]:
    running = {
        (boat, ""): written["hours"].to_numpy(dtype=np.float64)[first[boat] : last[boat] + 1]
        for boat in first
    }
    own = fleet.leg_hours[fleet.leg_hours["boat"].isin(list(first))]
    for (boat, machine), rows in own.groupby(["boat", "machine"]):
        hours = running[str(boat), ""].copy()
        sailed = written["departs_on"].iloc[first[str(boat)] : last[str(boat)] + 1]
        for departs_on, its_own in zip(rows["departs_on"], rows["hours"], strict=True):
            hours[(sailed == departs_on).to_numpy()] = its_own
        running[str(boat), str(machine)] = hours
    return running
