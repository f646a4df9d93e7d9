"""Reorders to be expected: when each place comes down to its reorder point."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from stockopt.ageing.ageing import Ageing
from stockopt.choices.choices import Choices
from stockopt.demand.demand import Demand, PartDemand
from stockopt.demand.stretches import Voyage, write_out_legs
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives
from stockopt.orders.left import count_left
from stockopt.orders.orders import Level, Levels, Reorder
from stockopt.orders.places import find_ports
from stockopt.orders.use import FittedPiece, Use, find_use
from stockopt.plan import Plan
from stockopt.sourcing import Offer, Offers

#: Ends of the 80 % interval and its middle; what is less likely than the first is not listed.
EARLY, MIDDLE, LATE = 0.1, 0.5, 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the forecast of reorders rests on: demand, ageing, lives, offers and the tables."""

    demand: Demand
    ageing: Ageing
    lives: Lives
    offers: Offers
    fleet: Fleet


def forecast_reorders(
    plan: Plan, choices: Choices, known: Known, levels: Levels
) -> tuple[Reorder, ...]:
    """Return when each place is expected to reorder each part, by order-by date.

    Parameters
    ----------
    plan, choices
        What is in hand once the plan is carried out.
    known
        What will be needed, what is not known of it, and from whom it can be had.
    levels
        Of stores; a place without one reorders before its last piece is gone.

    Returns
    -------
    tuple of Reorder
        Those that come to it before the last leg ends with a chance of 1 in 10 or more.
    """
    left = count_left(plan, choices, known.fleet)
    day = known.fleet.settings.planned_on
    names = dict(zip(known.fleet.parts["part"], known.fleet.parts["name"], strict=True))
    restocked, ports = _find_restocked(choices, known), find_ports(known.fleet)
    reorders = []
    for (place, part), use in list_uses(plan, choices, known):
        level = levels.get((place, part))
        in_hand = left.get((place, part), 0) if level is None else level.on_shelf
        reorder_at = 0 if level is None else level.reorder_at
        use = use if level is None else use.drawn(level.asked)
        kept_up = level is not None and level.source != ""
        quantity = 0 if level is None else level.quantity
        # A shelf that begins at its reorder point is reordered for on the first day.
        pieces = in_hand - reorder_at if kept_up else max(in_hand, 1)
        days = find_days(use, pieces)
        if days is None:
            continue
        source, late_days = _find_source(known.offers.offers.get((ports[place], part), ()), level)
        early, middle, late = (None if n is None else day + timedelta(days=n) for n in days)
        ordered = kept_up or (level is None and in_hand > 0 and place in restocked)
        if level is not None and level.last_order_on is not None:
            ordered = early is not None and early <= level.last_order_on
        before = 0 if kept_up else math.ceil(late_days)
        reorders.append(
            Reorder(
                place=place,
                part=part,
                name=names[part],
                in_hand=in_hand,
                reorder_at=reorder_at,
                quantity=quantity,
                chance=float(use.chance(pieces)[-1]),
                early=early or day,
                middle=middle,
                late=late,
                source=source,
                late_days=late_days,
                order_by=max(day, (early or day) - timedelta(days=before)) if ordered else None,
            )
        )
    return tuple(sorted(reorders, key=_by_date))


def _by_date(one: Reorder) -> tuple[date, date, str, str]:
    return one.order_by or date.max, one.early, one.place, one.part


def _find_restocked(choices: Choices, known: Known) -> set[str]:
    """Return the places that can be restocked: stores, and boats that come home in between."""
    boats = known.fleet.boats
    homes = dict(zip(boats["boat"], boats["home_port"], strict=True))
    places = {limits.place for boat, limits in choices.boats.items() if limits.place != boat}
    for (boat, _), need in known.demand.parts.items():
        legs = [leg for stretch in need.stretches for leg in stretch.legs]
        if any(leg.to_port == homes[boat] for leg in legs[:-1]):
            places.add(choices.boats[boat].place)
    return places


def find_days(use: Use, pieces: int) -> tuple[int, int | None, int | None] | None:
    """Return the days by which so many pieces are needed 1, 5 and 9 times in 10.

    Returns
    -------
    tuple or None
        Days from the day of the plan, None for after the season; None in all where that many are
        needed less than 1 time in 10.
    """
    chance = use.chance(pieces)

    def reach(wanted: float) -> int | None:
        if chance[-1] < wanted:
            return None
        # Between two days of the table the chance is taken to rise evenly.
        return math.floor(float(np.interp(wanted, chance, use.days)))

    early = reach(EARLY)
    return None if early is None else (early, reach(MIDDLE), reach(LATE))


def list_uses(plan: Plan, choices: Choices, known: Known) -> Iterator[tuple[tuple[str, str], Use]]:
    """Yield by (place, part) how fast it is used up, where any is needed."""
    place_of = {boat: limits.place for boat, limits in choices.boats.items()}
    replaced = {(line.boat, line.part): line.replace_now for line in plan.carry}
    by_place: dict[tuple[str, str], list[PartDemand]] = defaultdict(list)
    for (boat, part), need in sorted(known.demand.parts.items()):
        by_place[place_of[boat], part].append(need)
    parts = known.fleet.parts
    every = dict(zip(parts["part"], parts["replace_every"], strict=True))
    voyages = write_out_legs(known.fleet)
    fitted = list_fitted(known.lives, voyages, replaced)
    for (place, part), needs in sorted(by_place.items()):
        use = find_use(
            [(need, replaced.get((need.boat, part), 0)) for need in needs],
            [piece for need in needs for piece in fitted.get((need.boat, part), ())],
            known.ageing,
            voyages,
            math.inf if math.isnan(every[part]) else float(every[part]),
            known.fleet.settings.planned_on,
        )
        if use is not None:
            yield (place, part), use


def list_fitted(
    lives: Lives, voyages: Mapping[str, Voyage], replaced: Mapping[tuple[str, str], int]
) -> dict[tuple[str, str], Sequence[FittedPiece]]:
    """Return by (boat, part) the pieces fitted as they are when she leaves.

    The oldest are new where they are replaced before; an unknown age is at least what was seen of
    it, and counts as the oldest. What ages by the calendar ages until then.
    """
    table = lives.positions.sort_values(["age"], ascending=False, na_position="first")
    fitted: dict[tuple[str, str], list[FittedPiece]] = defaultdict(list)
    done: Counter[tuple[str, str]] = Counter()
    columns = ("boat", "part", "machine", "clock", "age", "age_at_least")
    for boat, part, machine, clock, age, at_least in zip(
        *(table[name] for name in columns), strict=True
    ):
        if boat not in voyages:
            continue
        done[boat, part] += 1
        if done[boat, part] <= replaced.get((boat, part), 0):
            now = 0.0
        else:
            now = float(at_least) if math.isnan(age) else float(age)
            now += voyages[boat].days_before if clock == "days" else 0.0
        fitted[boat, part].append(FittedPiece(boat=boat, machine=machine, clock=clock, age=now))
    return dict(fitted)


def _find_source(offers: Sequence[Offer], level: Level | None) -> tuple[str, float]:
    """Return who is reordered from and its late days: the level's, else the cheapest landed."""
    chosen = [offer for offer in offers if level is not None and offer.source == level.source]
    chosen = chosen or list(offers)
    return (chosen[0].source, chosen[0].late_days) if chosen else ("", 0.0)
