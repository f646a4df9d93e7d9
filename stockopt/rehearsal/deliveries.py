"""When orders arrive, and which spares are therefore not aboard at departure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from stockopt.fleet.fleet import Fleet
from stockopt.rehearsal.calendar import Calendar, Floats, Ints
from stockopt.rehearsal.futures import make_random
from stockopt.rehearsal.held import NEVER, Aboard
from stockopt.rehearsal.policy import Stowed

#: 9 in 10 of a normal distribution are below so many standard deviations.
_NINE_IN_TEN = 1.2815515655446004


class Deliveries:
    """Days that each source takes in every season, the same for all its orders of a season.

    Parameters
    ----------
    fleet
        Its `sources`: lead_days is the middle, and 1 order in 10 takes longer than late_days.
        In between days are spread as their logarithms' normal distribution says (common practice,
        no source).
    seed, seasons
        What they are drawn by, and how many.
    times
        By how much all of them take longer than told; None where every order is in time.
    """

    def __init__(
        self, fleet: Fleet, calendar: Calendar, *, seed: int, seasons: int, times: float | None
    ) -> None:
        self._calendar = calendar
        self._seasons = seasons
        self._days: Mapping[str, Floats] = {}
        homes = dict(zip(fleet.boats["boat"], fleet.boats["home_port"], strict=True))
        self._calls = {boat: _find_calls(calendar, boat, homes[boat]) for boat in calendar.boats}
        if times is not None:
            self._days = {
                row["source"]: times
                * draw_days(
                    make_random(seed, "order", row["source"]),
                    float(row["lead_days"]),
                    float(row["late_days"]),
                    seasons,
                )
                for row in _one_row_each(fleet.sources).to_dict("records")
            }

    @property
    def in_time(self) -> bool:
        """Whether every order is."""
        return not self._days

    def bring(self, lines: Sequence[Stowed]) -> tuple[Aboard, Ints]:
        """Return the spares of one part at departure, and how many positions are replaced: (B, R).

        Orders are placed on the day of the plan. Of pieces that are late, spares go missing before
        changes do; they come aboard when she next calls at her home port. What is to meet her on
        her way does.
        """
        shape = (len(lines), self._seasons)
        carry, replaced, late = (np.zeros(shape, dtype=np.int64) for _ in range(3))
        joins = np.full(shape, NEVER)
        for row, (boat, line) in enumerate(zip(self._calendar.boats, lines, strict=True)):
            carry[row], replaced[row] = line.carry + line.ahead, line.replace_now
            if line.ahead:
                late[row], joins[row] = line.ahead, self._find_call(boat, line)
            for source, pieces in line.awaited:
                days = self._days.get(source)
                if days is None:
                    continue
                is_late = days > self._calendar.departs[self._calendar.first[boat]]
                late[row] += np.where(is_late, pieces, 0)
                when = self._find_leg(boat, days)
                joins[row] = np.where(is_late, _later(joins[row], when), joins[row])
        unchanged = np.maximum(late - carry, 0)
        return (
            Aboard(
                carry=carry,
                restock=np.array([line.restock for line in lines]),
                late=late - unchanged,
                joins=joins,
            ),
            replaced - unchanged,
        )

    def _find_call(self, boat: str, line: Stowed) -> int:
        """Return before which leg pieces come aboard that meet her in a port on her way."""
        calendar = self._calendar
        for leg in calendar.legs_of(boat)[:-1]:
            there = float(calendar.departs[leg] + calendar.days[leg])
            if calendar.to_port[leg] == line.ahead_at and there >= line.ahead_day - 1.0:
                return leg + 1
        return NEVER

    def _find_leg(self, boat: str, days: Floats) -> Ints:
        """Return before which leg what arrives on a day comes aboard; NEVER where it does not."""
        ends, legs = self._calls[boat]
        return np.append(legs, NEVER)[np.searchsorted(ends, days)]


def _later(first: Ints, second: Ints) -> Ints:
    """Return the later of two legs, where the first may not have been told yet."""
    return np.where(first == NEVER, second, np.maximum(first, second))


def _find_calls(calendar: Calendar, boat: str, home: str) -> tuple[Floats, Ints]:
    """Return when a boat comes home, but for the last time, and the leg she leaves on then."""
    legs = calendar.legs_of(boat)
    calls = [leg for leg in legs[:-1] if home and calendar.to_port[leg] == home]
    ends = [float(calendar.departs[leg + 1]) for leg in calls]
    return np.array(ends), np.array([leg + 1 for leg in calls], dtype=np.int64)


def _one_row_each(sources: pd.DataFrame) -> pd.DataFrame:
    """Return the quickest row of each source, which may deliver to several ports."""
    quickest = sources.sort_values(["source", "late_days", "lead_days"], kind="stable")
    return quickest.drop_duplicates("source")


def draw_days(random: np.random.Generator, lead: float, late: float, seasons: int) -> Floats:
    """Return the days that an order takes in each season (R,); see :class:`Deliveries`.

    Where usual days are none, the delay is exponential.
    """
    if math.isnan(late) or late <= lead:
        return np.full(seasons, lead)
    if lead <= 0.0:
        return np.asarray(late / math.log(10.0) * random.standard_exponential(seasons))
    spread = math.log(late / lead) / _NINE_IN_TEN
    return np.asarray(lead * np.exp(spread * random.standard_normal(seasons)))
