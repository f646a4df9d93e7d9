"""What each part costs in your hand, from whom, and whether it can arrive in time."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet, none_if_blank

#: The implicit source of a part nobody quotes: the usual price of the parts table, in any port
#: the boat is fitted out in, at once.
USUAL_PRICE = "usual price"

#: Days to wait for a part in a port that neither `ports` nor any source speaks of (common
#: practice, no source: a courier parcel to a place off the main routes takes about two weeks).
DEFAULT_WAIT_DAYS = 14.0


@dataclass(frozen=True, slots=True, kw_only=True)
class KitPiece:
    """One part in a set sold under one number: pieces in one set, and the landed cost of each.

    The landed cost of the set is shared out over its pieces by their usual prices, so that the
    shares add up to it.
    """

    part: str
    quantity: int
    landed: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One part, or one set of parts, from one source, delivered to one port; plan's currency.

    Parameters
    ----------
    source, kind, port, part
        Which; of a set `part` is its own number, and one piece is one set.
    price
        Of one piece (pack price / pack), before freight, duty and tax.
    landed
        Of one piece in hand, before the order's own fixed charges.
    pack
        Pieces in a pack.
    most
        Packs to be had; None for any number.
    lead_days, late_days
        Usual days from order to hand, and the days that 1 order in 10 exceeds.
    contents
        What one set holds; empty for a single part.
    """

    source: str
    kind: str
    port: str
    part: str
    price: float
    landed: float
    pack: int
    most: int | None
    lead_days: float
    late_days: float
    contents: tuple[KitPiece, ...] = ()

    @property
    def parts(self) -> dict[str, int]:
        """Return the pieces of each part that one piece of the offer brings."""
        if not self.contents:
            return {self.part: 1}
        return {piece.part: piece.quantity for piece in self.contents}

    def find_landed(self, part: str) -> float:
        """Return the landed cost of one piece of `part`, its share where it comes in a set."""
        return next((piece.landed for piece in self.contents if piece.part == part), self.landed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Charges:
    """What one order costs whatever is in it. Money in the plan's currency.

    Parameters
    ----------
    per_order
        Freight once per order, dropped from `free_freight_from` on.
    handling
        Agent or broker, once per order, never dropped.
    free_freight_from, minimum_order
        Goods value (price x pieces) from which freight is free, and the least value accepted;
        None for neither.
    """

    per_order: float
    handling: float
    free_freight_from: float | None
    minimum_order: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PortPrice:
    """What one piece costs in a port on the way, bought on the spot.

    Parameters
    ----------
    price
        Of one piece, in the plan's currency.
    quoted
        True where a local source quotes it there; False where the port's price_factor was used,
        or the usual price where boats are fitted out and no source quotes it.
    """

    price: float
    quoted: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """All offers.

    Parameters
    ----------
    offers
        By (port, part): every offer delivered there, cheapest landed first; the blank port
        stands for boats without a home port.
    charges
        By (source, port).
    at_port
        By (port, part): what it costs on the spot; absent where it is not to be had.
    wait_days
        By port: days to wait there for a part.
    price
        By part: the usual price (parts table), else the cheapest quoted price of one piece; 0
        with a note where neither is known. What an unused spare's worth is counted from.
    notes
        What had to be assumed.
    """

    offers: Mapping[tuple[str, str], tuple[Offer, ...]]
    charges: Mapping[tuple[str, str], Charges]
    at_port: Mapping[tuple[str, str], PortPrice]
    wait_days: Mapping[str, float]
    price: Mapping[str, float]
    notes: tuple[Note, ...]


def price_offers(fleet: Fleet) -> Offers:
    """Work out every offer's landed cost, and what each part costs on the way.

    Parameters
    ----------
    fleet
        Its `sources`, `prices`, `parts`, `boats`, `ports` and `legs` are read. Every currency of
        a source must be the plan's own or have a rate in the settings.

    Returns
    -------
    Offers
        In the plan's currency.
    """
    notes: list[Note] = []
    routes = list_routes(fleet, notes)
    quotes = list_quotes(fleet, routes, fleet.parts)
    cheapest = _find_cheapest_quotes(quotes)
    offers = _sort_offers(quotes + _list_usual_offers(fleet, quotes))
    return Offers(
        offers=offers,
        charges=_list_charges(routes, offers),
        at_port=_price_on_the_way(fleet, offers, cheapest),
        wait_days=_find_waits(fleet, routes, notes),
        price=_find_usual_prices(fleet, cheapest, notes),
        notes=tuple(notes),
    )


def find_landed_cost(
    *, price: float, freight: float, duty: float, tax: float, duty_on: str
) -> float:
    """Return what one piece costs in your hand, before the order's fixed charges.

    Parameters
    ----------
    price
        Of one piece.
    freight
        By mass, for one piece, in the same money.
    duty, tax
        As shares.
    duty_on
        ``landed``: duty is on price and freight; ``price``: on the price alone.

    Notes
    -----
    (price + freight) x (1 + duty) x (1 + tax), or (price x (1 + duty) + freight) x (1 + tax):
    import tax is taken on the value with duty and freight. Common practice, no source.

    Examples
    --------
    >>> round(find_landed_cost(price=100, freight=10, duty=0.1, tax=0.2, duty_on="landed"), 6)
    145.2
    >>> round(find_landed_cost(price=100, freight=10, duty=0.1, tax=0.2, duty_on="price"), 6)
    144.0
    """
    if duty_on == "price":
        return (price * (1.0 + duty) + freight) * (1.0 + tax)
    return (price + freight) * (1.0 + duty) * (1.0 + tax)


def list_routes(fleet: Fleet, notes: list[Note]) -> pd.DataFrame:
    """List what each source asks to deliver to each port, in the plan's currency.

    A boat without a home port is served by every source as long as they all deliver to one port;
    her offers then stand under the blank port.
    """
    routes = fleet.sources.copy()
    rates = {"": 1.0, **fleet.settings.rates, fleet.settings.currency: 1.0}
    rate = routes["currency"].map(rates)
    routes["rate"] = rate
    for column in ("per_order", "per_kg", "handling", "free_freight_from", "minimum_order"):
        routes[column] = routes[column] * rate
    routes["late_days"] = routes["late_days"].fillna(routes["lead_days"])

    # Where there is no source at all, it does not matter which port she has.
    homeless = fleet.boats[(fleet.boats["home_port"] == "") & bool(len(routes))]
    one_port = routes["delivers_to"].nunique() == 1
    served = (
        "every source serves her, as all deliver to one port"
        if one_port
        else "she can only be fitted out at the usual prices of the parts table"
    )
    notes += [
        Note(table="boats", row=row, column="home_port", text=f"{boat} has none: {served}")
        for row, boat in zip(homeless.index.tolist(), homeless["boat"], strict=True)
    ]
    if one_port and len(homeless):
        return pd.concat([routes, routes.assign(delivers_to="")])
    return routes


def list_quotes(fleet: Fleet, routes: pd.DataFrame, masses: pd.DataFrame) -> list[Offer]:
    """List every price of every source at every port it delivers to.

    `masses` has the numbers asked for and what one piece weighs: columns `part`, `kg`.
    """
    rows = fleet.prices.merge(routes, on="source", validate="many_to_many").merge(
        masses[["part", "kg"]], on="part", validate="many_to_one"
    )
    quotes = []
    for row in rows.to_dict("records"):
        price = row["price"] * row["rate"] / row["pack"]
        landed = find_landed_cost(
            price=price,
            freight=row["per_kg"] * row["kg"],
            duty=row["duty"],
            tax=row["tax"],
            duty_on=row["duty_on"],
        )
        quotes.append(
            Offer(
                source=row["source"],
                kind=row["kind"],
                port=row["delivers_to"],
                part=row["part"],
                price=price,
                landed=landed,
                pack=row["pack"],
                most=None if math.isnan(row["most"]) else int(row["most"]),
                lead_days=row["lead_days"],
                late_days=row["late_days"],
            )
        )
    return quotes


def _list_usual_offers(fleet: Fleet, quotes: list[Offer]) -> list[Offer]:
    """List the usual price as an offer at once, at home ports to which no source quotes a part."""
    quoted = {(offer.port, offer.part) for offer in quotes}
    priced = fleet.parts[fleet.parts["price"].notna() & (fleet.parts["replaced_by"] == "")]
    return [
        Offer(
            source=USUAL_PRICE,
            kind="local",
            port=port,
            part=part,
            price=price,
            landed=price,
            pack=1,
            most=None,
            lead_days=0.0,
            late_days=0.0,
        )
        for port in sorted(set(fleet.boats["home_port"]))
        for part, price in zip(priced["part"], priced["price"], strict=True)
        if (port, part) not in quoted
    ]


def _sort_offers(offers: list[Offer]) -> dict[tuple[str, str], tuple[Offer, ...]]:
    """Gather the offers by port and part, cheapest landed first, the same way every time."""
    gathered: dict[tuple[str, str], list[Offer]] = {}
    for offer in sorted(offers, key=lambda o: (o.landed, o.late_days, o.source, o.pack)):
        gathered.setdefault((offer.port, offer.part), []).append(offer)
    return {key: tuple(gathered[key]) for key in sorted(gathered)}


def _list_charges(
    routes: pd.DataFrame, offers: Mapping[tuple[str, str], tuple[Offer, ...]]
) -> dict[tuple[str, str], Charges]:
    """List what one order costs, by source and port; buying at the usual price costs nothing."""
    usual = Charges(per_order=0.0, handling=0.0, free_freight_from=None, minimum_order=None)
    charges = {
        (USUAL_PRICE, port): usual
        for (port, _), there in offers.items()
        if any(offer.source == USUAL_PRICE for offer in there)
    }
    for row in routes.to_dict("records"):
        charges[row["source"], row["delivers_to"]] = Charges(
            per_order=row["per_order"],
            handling=row["handling"],
            free_freight_from=none_if_blank(row["free_freight_from"]),
            minimum_order=none_if_blank(row["minimum_order"]),
        )
    return charges


def _find_cheapest_quotes(quotes: list[Offer]) -> dict[str, float]:
    """Return, by part, the cheapest price of one piece that any source asks, before freight."""
    cheapest: dict[str, float] = {}
    for offer in quotes:
        cheapest[offer.part] = min(offer.price, cheapest.get(offer.part, math.inf))
    return cheapest


def _find_usual_prices(
    fleet: Fleet, cheapest: Mapping[str, float], notes: list[Note]
) -> dict[str, float]:
    """Return, by part, the usual price, else the cheapest quote, else 0 with a note."""
    prices: dict[str, float] = {}
    for row in fleet.parts.reset_index(names="row").to_dict("records"):
        part = row["part"]
        usual = cheapest.get(part) if math.isnan(row["price"]) else row["price"]
        prices[part] = usual or 0.0
        if usual is None and row["replaced_by"] == "":
            text = f"{part} has no price and no source quotes it: its spares count as worth 0"
            notes.append(Note(table="parts", row=row["row"], column="price", text=text))
    return prices


def _price_on_the_way(
    fleet: Fleet,
    offers: Mapping[tuple[str, str], tuple[Offer, ...]],
    cheapest: Mapping[str, float],
) -> dict[tuple[str, str], PortPrice]:
    """Price each part in each port that a leg ends in; left out where it is not to be had."""
    factors = dict(zip(fleet.ports["port"], fleet.ports["price_factor"], strict=True))
    usual = dict(zip(fleet.parts["part"], fleet.parts["price"], strict=True))
    prices: dict[tuple[str, str], PortPrice] = {}
    for port in sorted(set(fleet.legs["to_port"])):
        for part, at_home in usual.items():
            local = next((o for o in offers.get((port, part), ()) if o.kind == "local"), None)
            elsewhere = factors.get(port, math.nan) * cheapest.get(part, at_home)
            if local is not None:
                prices[port, part] = PortPrice(
                    price=local.landed, quoted=local.source != USUAL_PRICE
                )
            elif not math.isnan(elsewhere):
                prices[port, part] = PortPrice(price=elsewhere, quoted=False)
    return prices


def _find_waits(fleet: Fleet, routes: pd.DataFrame, notes: list[Note]) -> dict[str, float]:
    """Return, by port, the days to wait there for a part.

    As told in `ports`, else the late days of the quickest source that delivers there, else none
    where boats are fitted out at usual prices, else a default with a note.
    """
    waits: dict[str, float] = dict.fromkeys(fleet.boats["home_port"], 0.0)
    quickest = routes.groupby("delivers_to")["late_days"].min()
    waits.update(zip(quickest.index, quickest, strict=True))
    waits.update(zip(fleet.ports["port"], fleet.ports["wait_days"], strict=True))
    for port in sorted(set(fleet.legs["to_port"]) - set(waits)):
        waits[port] = DEFAULT_WAIT_DAYS
        text = (
            f"{port} is not in ports and no source delivers there: "
            f"{DEFAULT_WAIT_DAYS:g} days to wait for a part are assumed"
        )
        notes.append(Note(table="ports", column="port", text=text))
    return waits
