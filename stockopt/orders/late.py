"""What happens if an order comes late: which boats leave without what, and what that costs."""

from __future__ import annotations

import math
from collections import defaultdict
from datetime import date, timedelta

from stockopt.choices.choices import BoatPart, Choice, Choices, name_ahead
from stockopt.demand.demand import Demand, Leg, Stretch
from stockopt.fleet.fleet import Fleet
from stockopt.landed.quotes import Quote
from stockopt.orders.orders import LateBoat
from stockopt.plan import OrderLine
from stockopt.program.pick import list_bought_for
from stockopt.program.solution import Picked, Solution
from stockopt.sourcing import Offers

#: Pieces wanted from an order, by part, with the pick and the part they are for.
_Waiting = list[tuple[Picked, BoatPart, int]]


class Lateness:
    """Who waits for which order.

    Parameters
    ----------
    solution, choices
        The plan, and what it was picked from.
    demand, offers, fleet
        For the boats' legs, what is sold at once in port, home ports and day costs.

    Notes
    -----
    An order placed on its order-by date is late 1 time in 10. It is then taken to be late by its
    late days less its usual days once more, and by a day at least: boats that need it within those
    days do not get their pieces, later ones do. What is sold in the shop is in hand at once and is
    never late. A boat does what costs least, part by part: she leaves without and makes the best
    of what else she has, among the choices weighed for her; or the pieces are bought in the port at
    once, and those that come late are left over. The late pieces keep their worth; what leaving
    without costs is counted in proportion to her days until she is next in her home port, as there
    they catch up with her, and in full where an order misses her on her way. (The shelf of a store,
    which sails nowhere, is without them for the days that they are late.) Where she can do neither,
    as `carry_at_least` forbids it, she waits at her day cost. Common practice, no source.
    """

    def __init__(
        self,
        solution: Solution,
        choices: Choices,
        demand: Demand,
        offers: Offers,
        fleet: Fleet,
    ) -> None:
        self._offers = offers
        boats = fleet.boats
        self._homes: dict[str, str] = dict(zip(boats["boat"], boats["home_port"], strict=True))
        self._day_cost: dict[str, float] = dict(zip(boats["boat"], boats["day_cost"], strict=True))
        self._place = {boat: limits.place for boat, limits in choices.boats.items()}
        self._departs = {boat: limits.departs_on for boat, limits in choices.boats.items()}
        self._legs = {boat: _legs(need.stretches) for (boat, _), need in demand.parts.items()}
        self._season = max(sum(leg.days for leg in legs) for legs in self._legs.values())
        self._waiting: dict[tuple[str, str], dict[str, _Waiting]] = {}
        parts = {(part.boat, part.part): part for part in choices.parts}
        for pick in solution.picked:
            part = parts[pick.boat, pick.part]
            wanted: dict[tuple[str, str], int] = defaultdict(int)
            for place, offer, pieces in list_bought_for(pick, part, choices):
                wanted[offer.source, place] += pieces
            for key, pieces in wanted.items():
                boats_waiting = self._waiting.setdefault(key, {})
                boats_waiting.setdefault(pick.boat, []).append((pick, part, pieces))

    @staticmethod
    def days_late(quote: Quote) -> int:
        """Return by how many days a late order of a source is taken to be late."""
        return max(1, math.ceil(quote.late_days - quote.lead_days))

    def list_boats(self, line: OrderLine, port: str, days: int) -> tuple[LateBoat, ...]:
        """Return the boats that leave without something where an order to a port is late."""
        at_once = line.kind == "local" and line.order_by == line.arrives_by
        if at_once:
            return ()
        waiting = self._waiting.get((line.source, line.place), {})
        late = []
        for boat, pieces in sorted(waiting.items()):
            needs_on = self._needs_on(boat, line.place, pieces)
            if needs_on < line.arrives_by + timedelta(days=days):
                at = self._homes.get(boat, port) if line.place == self._place[boat] else port
                late.append(self._leave_without(boat, needs_on, pieces, at, days))
        return tuple(late)

    def _needs_on(self, boat: str, place: str, waiting: _Waiting) -> date:
        """Return when a boat needs an order: when she leaves, or is where it meets her."""
        for _, part, _ in waiting:
            for ahead in part.ahead:
                if place == name_ahead(boat, ahead.port):
                    return ahead.arrives_on
        return self._departs[boat]

    def _leave_without(
        self, boat: str, needs_on: date, waiting: _Waiting, port: str, days: int
    ) -> LateBoat:
        share = self._share_without(boat, needs_on, days)
        cost = 0.0
        without, bought_here, waits_for = [], [], []
        for pick, part, pieces in waiting:
            extra = find_extra_cost(part, part.choices[pick.choice], pieces)
            without_it = math.inf if extra is None else share * extra
            price = self._price_at_once(part.part, port)
            buying = max(pieces * (price - part.leftover), 0.0)
            cost += min(without_it, buying) if math.isfinite(min(without_it, buying)) else 0.0
            if buying < without_it:
                bought_here.append((part.part, pieces))
            elif extra is None:
                waits_for.append((part.part, pieces))
            else:
                without.append((part.part, pieces))
        if waits_for:
            cost += days * self._day_cost.get(boat, 0.0)
        return LateBoat(
            boat=boat,
            needs_on=needs_on,
            without=tuple(sorted(without)),
            bought_here=tuple(sorted(bought_here)),
            waits_for=tuple(sorted(waits_for)),
            cost=cost,
        )

    def _price_at_once(self, part: str, port: str) -> float:
        """Return what one piece costs in a port's shops, in hand at once; infinite if not there."""
        there = self._offers.at_port.get((port, part))
        prices = [
            offer.landed
            for offer in self._offers.offers.get((port, part), ())
            if offer.kind == "local" and offer.late_days == 0.0
        ]
        return min([*prices, *([] if there is None else [there.price])], default=math.inf)

    def _share_without(self, boat: str, needs_on: date, days: int) -> float:
        """Return the share of her plan for which she is without what comes late.

        Until she is next in her home port; all of it where the order misses her on her way; of a
        shelf the days by which it is late.
        """
        if boat not in self._legs:
            return days / self._season
        if needs_on > self._departs[boat]:
            return 1.0
        legs = self._legs[boat]
        passed = 0.0
        for leg in legs:
            passed += leg.days
            if leg.to_port == self._homes[boat]:
                break
        return passed / sum(leg.days for leg in legs)


def find_extra_cost(part: BoatPart, chosen: Choice, missing: int) -> float | None:
    """Return by how much more a boat is expected to cost that lacks some pieces when she leaves.

    Parameters
    ----------
    part
        Her choices.
    chosen
        The one taken.
    missing
        Pieces that do not come; those that come later keep their worth.

    Returns
    -------
    float or None
        At least 0, over her whole plan; None where none of her choices does with so little.
    """
    met = min(missing, chosen.ahead)
    home = missing - met
    able = [
        choice
        for choice in part.weighed or part.choices
        if part.count_wanted(choice) <= max(part.count_wanted(chosen) - home, 0)
        and choice.ahead <= chosen.ahead - met
        and (choice.ahead == 0 or choice.ahead_at == chosen.ahead_at)
    ]
    if not able:
        return None
    best = min(choice.later_cost for choice in able)
    return max(best - chosen.later_cost - missing * part.leftover, 0.0)


def _legs(stretches: tuple[Stretch, ...]) -> tuple[Leg, ...]:
    return tuple(leg for stretch in stretches for leg in stretch.legs)
