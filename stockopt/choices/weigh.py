"""Every boat and part with its choices, its stock, its offers and its limits."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np

from stockopt.choices.aboard import Terms
from stockopt.choices.choices import BoatLimits, BoatPart, Choices
from stockopt.choices.dead_line import DeadStock
from stockopt.choices.dead_stock import list_dead_stock
from stockopt.choices.excess import Floats
from stockopt.choices.harbours import join_harbours
from stockopt.choices.keeping import find_shelf, note_short_lived
from stockopt.choices.lasting_choices import list_lasting_choices
from stockopt.choices.meetings import find_meetings, list_met_charges
from stockopt.choices.on_the_way import list_stops
from stockopt.choices.sets import Sets, list_sets
from stockopt.choices.settled import Settled
from stockopt.choices.shelves import add_shelves
from stockopt.choices.shortage import (
    FIRST_FILL_RATE,
    Base,
    find_days_lost,
    find_restock_prices,
    find_short_prices,
    find_shortage_costs,
    find_store_price,
)
from stockopt.choices.stock import count_all_stock, count_movable, list_expiring
from stockopt.choices.used_up import find_used_up_costs
from stockopt.choices.weigh_stores import StoreDesk, weigh_stores
from stockopt.choices.withdrawn import withdraw_sources
from stockopt.choices.worth import find_credit, find_dearest_prices, find_worth, list_met
from stockopt.demand.demand import Demand, PartDemand
from stockopt.demand.plans import list_uses
from stockopt.demand.used_with import count_replaced
from stockopt.errors import CommandError, Note
from stockopt.fleet.fleet import Fleet, none_if_blank
from stockopt.fleet.what_if import WhatIf
from stockopt.lives.lives import Lives
from stockopt.settings import Settings
from stockopt.sourcing import Charges, Offer, Offers
from stockopt.units import CONSEQUENCES

Row = Mapping[Hashable, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Desk:
    """What is looked up for each boat and part.

    `offers` are those there are; `worth` is what one piece bought anew costs by home port and
    part, before any source was taken away.
    """

    settings: Settings
    offers: Offers
    worth: Mapping[tuple[str, str], float]
    sets: Sets
    pins: Mapping[tuple[str, str], int]
    boats: Mapping[str, Row]
    parts: Mapping[str, Row]
    limits: Mapping[str, BoatLimits]
    stock: Mapping[tuple[str, str], int]
    dearest: Mapping[str, float]
    movable: Mapping[tuple[str, str], int]
    expiring: Mapping[tuple[str, str], tuple[date, ...]]
    ends: Mapping[str, date]
    uses: Mapping[str, tuple[tuple[str, int], ...]]
    dead_stock: tuple[DeadStock, ...]
    settled: Settled


def weigh_choices(
    demand: Demand,
    offers: Offers,
    lives: Lives,
    fleet: Fleet,
    what_if: WhatIf = WhatIf(),  # noqa: B008 - frozen
    settled: Settled | None = None,
) -> Choices:
    """Weigh every choice of every boat with legs to come, and of every store that serves one.

    Parameters
    ----------
    demand
        Pieces needed.
    offers
        What they cost, where.
    lives
        What is fitted; a boat without legs to come is left out with a note.
    fleet
        Its `boats`, `parts`, `stock` and settings are read.
    what_if
        Sources that sell nothing, and numbers to carry that are not to be chosen.
    settled
        What a plan before told; else stores have 9 of 10 pieces asked for.

    Returns
    -------
    Choices
        Pieces of the stock table count where they are in date on the boat's first departure;
        pieces on order where they are due by then. For a store, due by the first departure of
        any boat of its harbour, and in date to the end of every plan there. Spares of boats of
        one harbour can go to others of it where they are in hand, and in date as long.

    Raises
    ------
    CommandError
        A number to carry is given for a part that the boat does not need.
    """
    boats = {row["boat"]: row for row in fleet.boats.to_dict("records")}
    notes = _note_left_out(demand, lives)
    limits = _list_limits(demand, boats, notes)
    ends = _find_ends(demand)
    desk = _Desk(
        settings=fleet.settings,
        offers=withdraw_sources(offers, fleet, what_if.without),
        sets=list_sets(fleet, offers.price, what_if.without),
        worth=find_worth(offers, list_sets(fleet, offers.price), list_met(demand, boats)),
        pins=_check_pins(what_if, demand),
        boats=boats,
        parts={row["part"]: row for row in fleet.parts.to_dict("records")},
        limits=limits,
        stock=count_all_stock(fleet.stock, limits, ends, notes),
        dearest=find_dearest_prices(offers),
        movable=count_movable(fleet.stock, limits, ends),
        expiring=list_expiring(fleet.stock, limits, ends),
        ends=ends,
        uses=list_uses(fleet),
        dead_stock=list_dead_stock(demand, fleet, limits, offers.price),
        settled=settled or Settled(),
    )
    return _weigh_all(demand, desk, notes)


def _weigh_all(demand: Demand, desk: _Desk, notes: list[Note]) -> Choices:
    """Weigh every part of every boat, then what the stores keep."""
    limits, settings = desk.limits, desk.settings
    replaced = {key: taken.replace_now for key, taken in desk.settled.taken.items()}
    bare, demand = demand, count_replaced(demand, replaced)
    parts = tuple(
        _weigh_once(need, desk, _find_used_up_costs(bare, need, replaced, desk))
        for _, need in sorted(demand.parts.items())
    )
    notes += [note for part in parts if (note := _note_bare_floor(part, desk)) is not None]
    shelf_days = {name: float(part["shelf_life_days"]) for name, part in desk.parts.items()}
    last = max(desk.ends.values(), default=date.min)
    notes += note_short_lived(shelf_days, settings.planned_on, last)
    charges = _list_charges(limits, desk.boats, desk.offers, notes)
    in_stores = {key: pieces for key, pieces in desk.stock.items() if key[0] not in limits}
    choices = Choices(
        boats=limits,
        parts=parts,
        charges={**charges, **list_met_charges(parts, desk.offers)},
        stock=in_stores,
        budget=settings.budget,
        readiness=settings.readiness,
        notes=tuple(notes),
        currency=settings.currency,
        measures=settings.measures,
        dead_stock=desk.dead_stock,
    )
    stores = StoreDesk(
        demand=demand,
        offers=desk.offers,
        settings=settings,
        boats=desk.boats,
        limits=limits,
        parts=parts,
        charges=charges,
        stock=in_stores,
        dearest=desk.dearest,
        settled=desk.settled,
    )
    return add_shelves(choices, weigh_stores(stores))


def _check_pins(what_if: WhatIf, demand: Demand) -> Mapping[tuple[str, str], int]:
    """Return the numbers to carry that are given, all of parts that the boats need."""
    planned = {boat for boat, _ in demand.parts}
    wrong = [
        f"--pin: {boat} has no legs to come"
        if boat not in planned
        else f"--pin: {part} is neither fitted to {boat} nor used up with a part that is"
        for boat, part in sorted(what_if.pins.keys() - demand.parts.keys())
    ]
    if wrong:
        raise CommandError(wrong)
    return what_if.pins


def _list_limits(
    demand: Demand, boats: Mapping[str, Row], notes: list[Note]
) -> dict[str, BoatLimits]:
    departures = {
        boat: need.stretches[0].legs[0].departs_on for (boat, _), need in demand.parts.items()
    }
    limits = {
        boat: BoatLimits(
            boat=boat,
            place=boats[boat]["store"] or boat,
            departs_on=departures[boat],
            kg=none_if_blank(boats[boat]["spares_kg"]),
            litres=none_if_blank(boats[boat]["spares_litres"]),
            budget=none_if_blank(boats[boat]["budget"]),
        )
        for boat in sorted(departures)
    }
    home_ports = {boat: str(boats[boat]["home_port"]) for boat in limits}
    return join_harbours(limits, home_ports, notes)


def _find_ends(demand: Demand) -> dict[str, date]:
    """Return the last day of each boat's plan."""
    last = {boat: need.stretches[-1].legs[-1] for (boat, _), need in demand.parts.items()}
    return {
        boat: leg.departs_on + timedelta(days=math.ceil(leg.days)) for boat, leg in last.items()
    }


def _find_used_up_costs(
    demand: Demand, need: PartDemand, replaced: Mapping[tuple[str, str], int], desk: _Desk
) -> Floats | None:
    """Return what replacing a part now changes for parts used up with it; None where none are."""
    uses = desk.uses.get(need.part)
    if uses is None:
        return None
    carried = {key: taken.carry for key, taken in desk.settled.taken.items()}
    return find_used_up_costs(
        demand, need, uses, replaced, carried, lambda other: _weigh_once(other, desk)
    )


def _weigh_once(need: PartDemand, desk: _Desk, used_up_costs: Floats | None = None) -> BoatPart:
    """Weigh one part on one boat, unless it was with the same need and word of its store."""
    settled, at_store = desk.settled, (desk.limits[need.boat].place, need.part)
    told = (settled.prices.get(at_store), settled.fill_rates.get(at_store))
    others = None if used_up_costs is None else tuple(used_up_costs.tolist())
    key = (need.boat, need.part, need.after, *told, others)
    if key not in settled.weighed:
        settled.weighed[key] = _weigh_part(need, desk, used_up_costs)
    return settled.weighed[key]


def _weigh_part(need: PartDemand, desk: _Desk, used_up_costs: Floats | None) -> BoatPart:
    """Gather the terms of one part on one boat and list its choices."""
    part, boat = desk.parts[need.part], desk.boats[need.boat]
    base = Base(port=boat["home_port"], has_store=boat["store"] != "")
    days_left = (desk.limits[need.boat].departs_on - desk.settings.planned_on).days
    at_base = desk.offers.offers.get((base.port, need.part), ())
    sets = desk.sets.get((base.port, need.part), ())
    to_buy = sorted((*at_base, *sets), key=lambda offer: offer.find_landed(need.part))
    credit = find_credit(
        desk.offers.price[need.part], desk.worth.get((base.port, need.part)), desk.settings
    )
    store_price = desk.settled.prices.get((desk.limits[need.boat].place, need.part))
    quoted = find_restock_prices(need.stretches, need.part, base, desk.offers)
    restock_prices = find_restock_prices(need.stretches, need.part, base, desk.offers, store_price)
    short_prices = find_short_prices(
        need.stretches,
        quoted,
        dearest=desk.dearest[need.part],
        store_price=find_store_price(need.part, base, desk.offers, store_price),
    )
    terms = _make_terms(need, desk, credit, restock_prices, short_prices)
    terms = replace(terms, used_up_costs=used_up_costs)
    reaching = tuple(offer for offer in to_buy if offer.late_days <= days_left)
    shelf = find_shelf(
        desk.expiring.get((need.boat, need.part), ()),
        part["shelf_life_days"],
        planned_on=desk.settings.planned_on,
        ends_on=desk.ends[need.boat],
    )
    meetings = find_meetings(need, desk.offers, reaching, desk.settings.planned_on)
    choices = list_lasting_choices(need, terms, shelf, meetings)
    return BoatPart(
        boat=need.boat,
        part=need.part,
        name=part["name"],
        on_hand=terms.on_hand,
        floor=terms.floor,
        pin=terms.pin,
        kg=part["kg"],
        litres=part["litres"],
        stops=terms.stops,
        leftover=0.0 if shelf is not None and shelf.fresh is not None else credit,
        choices=choices,
        offers=reaching,
        too_late=_find_too_late(to_buy, days_left, desk.settings.planned_on),
        movable=min(terms.on_hand, desk.movable.get((need.boat, need.part), 0)),
        expiring=0 if shelf is None else len(shelf.own),
        ahead=tuple(m for m in meetings if any(c.ahead_at == m.port for c in choices)),
        uses=desk.uses.get(need.part, ()),
        restock_at=list_stops(need.stretches, need.part, quoted, base.port, desk.offers),
    )


def _make_terms(
    need: PartDemand, desk: _Desk, credit: float, restock_prices: Floats, short_prices: Floats
) -> Terms:
    """Gather what the choices of one part on one boat are weighed with."""
    part, boat = desk.parts[need.part], desk.boats[need.boat]
    base = Base(port=boat["home_port"], has_store=boat["store"] != "")
    place = desk.limits[need.boat].place
    fill_rate = desk.settled.fill_rates.get((place, need.part), FIRST_FILL_RATE)
    shares = np.array([desk.settings.share(consequence) for consequence in CONSEQUENCES])
    days_to_fix = part["days_to_fix"]
    if math.isnan(days_to_fix):
        days_to_fix = desk.settings.days_to_fix
    return Terms(
        floor=int(part["carry_at_least"]),
        pin=desk.pins.get((need.boat, need.part)),
        on_hand=desk.stock.get((need.boat, need.part), 0),
        credit=credit,
        failing_cost=part["failure_cost"]
        + boat["day_cost"] * float(shares @ need.failure_shares) * days_to_fix,
        fitting_cost=part["fitting_cost"],
        shortage_costs=find_shortage_costs(
            short_prices,
            find_days_lost(need.stretches, need.part, base, desk.offers, fill_rate),
            lost_day=boat["day_cost"] * desk.settings.share(need.consequence),
        ),
        restock_prices=restock_prices,
        stops=need.consequence == "stops",
        bulky=part["kg"] > 0.0 or part["litres"] > 0.0,
    )


def _find_too_late(at_base: Sequence[Offer], days_left: int, planned_on: date) -> date | None:
    """Return when the quickest of the offers that come too late is in hand."""
    days = [math.ceil(o.late_days) for o in at_base if o.late_days > days_left and o.most != 0]
    return planned_on + timedelta(days=min(days)) if days else None


def _list_charges(
    limits: Mapping[str, BoatLimits],
    boats: Mapping[str, Row],
    offers: Offers,
    notes: list[Note],
) -> dict[tuple[str, str], Charges]:
    """Return what an order costs by source and place; a place orders to its boats' home port."""
    ports: dict[str, set[str]] = {}
    for boat in limits.values():
        ports.setdefault(boat.place, set()).add(boats[boat.boat]["home_port"])
    for place, several in ports.items():
        if len(several) > 1:
            text = (
                f"{place} serves boats of several home ports: "
                f"its orders are charged as to {min(several)}"
            )
            notes.append(Note(table="boats", column="home_port", text=text))
    return {
        (source, place): charges
        for place, several in ports.items()
        for (source, port), charges in offers.charges.items()
        if port == min(several)
    }


def _note_left_out(demand: Demand, lives: Lives) -> list[Note]:
    planned = {boat for boat, _ in demand.parts}
    return [
        Note(table="legs", column="boat", text=f"{boat} has no legs to come: not planned")
        for boat in sorted(set(lives.positions["boat"]) - planned)
    ]


def _note_bare_floor(part: BoatPart, desk: _Desk) -> Note | None:
    """Note a floor that neither stock nor any offer in time can cover: no plan can keep it."""
    place = desk.limits[part.boat].place
    in_hand = part.on_hand + (desk.stock.get((place, part.part), 0) if place != part.boat else 0)
    to_be_had = sum(
        math.inf if offer.most is None else offer.most * offer.pack * offer.parts[part.part]
        for offer in part.offers
    )
    if in_hand + to_be_had >= part.floor:
        return None
    text = (
        f"{part.boat} must carry {part.floor} x {part.part}, but {in_hand} are in hand "
        "and no more can arrive before she departs"
    )
    return Note(table="parts", column="carry_at_least", text=text)
