"""What the needs of one part cost: by leg for pieces short and restocked, by grade for failures."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from stockopt.fleet.fleet import Fleet
from stockopt.rehearsal.calendar import Bools, Calendar, Floats, Ints
from stockopt.rehearsal.dates import Dates
from stockopt.sourcing import DEFAULT_WAIT_DAYS, Offer, Offers
from stockopt.units import CONSEQUENCES

Row = Mapping[Hashable, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """What one part costs every boat; in the plan's currency.

    Parameters
    ----------
    stretch
        (L,): number of the stretch that each leg is in, counted on each boat from 0.
    last_stretch
        (B,): number of the boat's last stretch.
    restock
        (L,): of one piece where the leg's stretch ends.
    short
        (L,): of one piece short on the leg, without the days lost.
    wait
        (L,): days until a piece is there: from the failing where the store reaches her, else from
        when the leg ends.
    in_reach
        (L,): whether the store reaches her.
    empty_wait
        (B,): days more where the store has none on its shelf.
    lost_day
        (B,): of one day without the part.
    failing
        (B, 3): of one failure under way, by the grade of its position.
    fitting
        Of changing one piece before departure.
    worth, spare_worth
        (B,): of one unspent life at the end, and of one unused piece: nothing where even one bought
        before departure expires before that.
    end_leg, at_store, end_day
        (L,): the leg that the leg's stretch ends with, whether the boat's store is there, and on
        which day.
    fallback
        Of one piece that nobody offers.
    """

    stretch: Ints
    last_stretch: Ints
    restock: Floats
    short: Floats
    wait: Floats
    in_reach: Bools
    empty_wait: Floats
    lost_day: Floats
    failing: Floats
    fitting: float
    worth: Floats
    spare_worth: Floats
    end_leg: Ints
    at_store: Bools
    end_day: Floats
    fallback: float

    def dearest(self, calendar: Calendar, boat: str, number: int) -> float:
        """Return about the most that one piece short costs a boat, by its number."""
        legs = slice(calendar.first[boat], calendar.last[boat] + 1)
        late = np.where(self.in_reach[legs], self.empty_wait[number], calendar.days[legs])
        cost = self.short[legs] + self.lost_day[number] * (self.wait[legs] + late)
        return float(cost.max())


class Till:
    """Where prices are looked up for one part after another."""

    def __init__(self, fleet: Fleet, offers: Offers, calendar: Calendar, dates: Dates) -> None:
        self._settings = fleet.settings
        self._offers = offers
        self._calendar = calendar
        self._dates = dates
        self._boats: dict[str, Row] = {row["boat"]: row for row in fleet.boats.to_dict("records")}
        self._parts: dict[str, Row] = {row["part"]: row for row in fleet.parts.to_dict("records")}
        self._shops = set(fleet.ports[fleet.ports["price_factor"].notna()]["port"])
        quays = fleet.sources[fleet.sources["kind"] == "local"]
        self._quoted = {
            (port, part)
            for source, port in zip(quays["source"], quays["delivers_to"], strict=True)
            for part in fleet.prices[fleet.prices["source"] == source]["part"]
        }
        self._wait = np.array(
            [offers.wait_days.get(port, DEFAULT_WAIT_DAYS) for port in calendar.to_port]
        )
        self._dearest = dict(offers.price)
        for part, price in self._all_prices():
            self._dearest[part] = max(price, self._dearest.get(part, 0.0))

    def _all_prices(self) -> Iterable[tuple[str, float]]:
        for (_, part), several in self._offers.offers.items():
            yield from ((part, offer.landed) for offer in several)
        for (_, part), there in self._offers.at_port.items():
            yield part, there.price

    def at_home(self, boat: str, part: str) -> tuple[Offer, ...]:
        """Return what is offered of a part in a boat's home port, in time or not."""
        return self._offers.offers.get((self._boats[boat]["home_port"], part), ())

    def worth(self, boat: str, part: str) -> float:
        """Return what an unspent life, or an unused piece that is in date, is worth at the end."""
        prices = [offer.landed for offer in self.at_home(boat, part)]
        return self._settings.carry_over * min([self._offers.price[part], *prices])

    def spare_worth(self, boat: str, part: str) -> float:
        """Return what an unused piece is worth at the end: nothing where none can be in date."""
        return 0.0 if self._dates.is_short_lived(boat, part) else self.worth(boat, part)

    def price(self, part: str, grades: Mapping[str, int]) -> Money:
        """Return what a part costs; `grades` is, by boat, the gravest consequence of it there."""
        calendar, settings, row = self._calendar, self._settings, self._parts[part]
        boats = calendar.boats
        stretch, end = self._cut(part)
        there = np.array([self._piece(boat, part, port) for boat, port in self._calls()])[end]
        pieces = np.where(np.isnan(there), self._dearest[part], there)
        shares = np.array([settings.share(grade) for grade in CONSEQUENCES])
        day_cost = np.array([self._boats[boat]["day_cost"] for boat in boats])
        to_fix = row["days_to_fix"]
        if math.isnan(to_fix):
            to_fix = settings.days_to_fix
        return Money(
            stretch=stretch,
            last_stretch=np.array([stretch[calendar.last[boat]] for boat in boats]),
            restock=pieces,
            short=pieces,
            wait=np.where(np.isnan(calendar.chase_days), self._wait, calendar.chase_days),
            in_reach=~np.isnan(calendar.chase_days),
            empty_wait=np.array([self._quickest(boat, part) for boat in boats]),
            lost_day=day_cost * shares[[grades.get(boat, 2) for boat in boats]],
            failing=row["failure_cost"] + day_cost[:, None] * shares * to_fix,
            fitting=row["fitting_cost"],
            worth=np.array([self.worth(boat, part) for boat in boats]),
            spare_worth=np.array([self.spare_worth(boat, part) for boat in boats]),
            end_leg=end,
            at_store=np.array([self._is_at_store(boat, port) for boat, port in self._calls()])[end],
            end_day=(calendar.departs + calendar.days)[end],
            fallback=self._dearest[part],
        )

    def _calls(self) -> list[tuple[str, str]]:
        """Return the boat and the port of each leg's end."""
        calendar = self._calendar
        return [
            (boat, calendar.to_port[leg])
            for boat in calendar.boats
            for leg in calendar.legs_of(boat)
        ]

    def _cut(self, part: str) -> tuple[Ints, Ints]:
        """Return for each leg the number of its stretch, and the leg that this ends with."""
        calendar = self._calendar
        stretch = np.zeros(len(calendar.days), dtype=np.int64)
        end = np.zeros_like(stretch)
        for boat in calendar.boats:
            number, begun = 0, calendar.first[boat]
            for leg in calendar.legs_of(boat):
                stretch[leg] = number
                if leg == calendar.last[boat] or self._can_restock(boat, part, leg):
                    end[begun : leg + 1] = leg
                    number, begun = number + 1, leg + 1
        return stretch, end

    def _can_restock(self, boat: str, part: str, leg: int) -> bool:
        """Return whether spares can be made up where a leg ends: in a shop, or from her store."""
        port = self._calendar.to_port[leg]
        at_store = self._is_at_store(boat, port)
        return port != "" and (at_store or port in self._shops or (port, part) in self._quoted)

    def _is_at_store(self, boat: str, port: str) -> bool:
        owner = self._boats[boat]
        return bool(owner["store"] != "" and port == owner["home_port"])

    def _piece(self, boat: str, part: str, port: str) -> float:
        """Return what a piece costs in a port; a store has it at the cheapest landed cost."""
        if self._is_at_store(boat, port) and self.at_home(boat, part):
            return min(offer.landed for offer in self.at_home(boat, part))
        there = self._offers.at_port.get((port, part))
        return math.nan if there is None else there.price

    def _quickest(self, boat: str, part: str) -> float:
        waits = [offer.late_days for offer in self.at_home(boat, part)]
        home = self._boats[boat]["home_port"]
        return min(waits, default=self._offers.wait_days.get(home, DEFAULT_WAIT_DAYS))
