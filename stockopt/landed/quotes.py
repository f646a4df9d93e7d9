"""What each source asks at one port, as written in the tables: no rounding, no binary dust."""

from __future__ import annotations

import math
from collections.abc import Collection, Hashable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from stockopt.fleet.fleet import Fleet
from stockopt.fleet.kits import Contents, list_contents
from stockopt.landed.money import NOTHING, LineMoney, cents, exact, exact_or_none, price_line
from stockopt.sourcing import USUAL_PRICE

Row = Mapping[Hashable, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """One price of one source for one part, or one set of parts, at one port.

    Money in the plan's currency, unrounded.

    Parameters
    ----------
    source, kind, part
        Which; kind is local or mail. Of a set `part` is its own number, and one piece is one set.
    pack, most
        Pieces in a pack, and packs to be had (None for any number).
    price, freight
        Of one pack: what is asked for it, and its freight by mass.
    duty, tax
        As shares.
    duty_on_price
        True where duty is on the price alone.
    lead_days, late_days
        Usual days from order to hand, and those that 1 order in 10 exceeds.
    kg
        Of one pack.
    asked, currency
        The price of one pack as the source asks it, and in which money.
    assumed
        True for a price nobody quotes: the port's price_factor times the cheapest quote.
    contents
        What one set holds: (part, pieces), by part; empty for a single part.
    """

    source: str
    kind: str
    part: str
    pack: int
    most: int | None
    price: Decimal
    freight: Decimal
    duty: Decimal
    tax: Decimal
    duty_on_price: bool
    lead_days: float
    late_days: float
    kg: Decimal
    asked: Decimal
    currency: str
    assumed: bool = False
    contents: tuple[tuple[str, int], ...] = ()

    @property
    def brings(self) -> dict[str, int]:
        """Pieces of each part in one pack."""
        held = self.contents or ((self.part, 1),)
        return {part: pieces * self.pack for part, pieces in held}

    def line(self, packs: int) -> LineMoney:
        """Return what so many packs cost."""
        return price_line(
            goods=self.price * packs,
            freight=self.freight * packs,
            duty=self.duty,
            tax=self.tax,
            duty_on_price=self.duty_on_price,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderTerms:
    """What one order costs whatever is in it, in the plan's currency and whole cents.

    Fields as in :class:`stockopt.sourcing.Charges`.
    """

    per_order: Decimal = NOTHING
    handling: Decimal = NOTHING
    free_freight_from: Decimal | None = None
    minimum_order: Decimal | None = None

    def freight(self, goods: Decimal) -> Decimal:
        """Return the freight of an order of goods worth so much."""
        free = self.free_freight_from is not None and goods >= self.free_freight_from
        return NOTHING if free else self.per_order

    def charges(self, goods: Decimal) -> Decimal:
        """Return freight and handling of an order of goods worth so much."""
        return self.freight(goods) + self.handling

    def accepts(self, goods: Decimal) -> bool:
        """Return whether an order of goods worth so much is accepted."""
        return self.minimum_order is None or goods >= self.minimum_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Market:
    """All that is offered at one port.

    Parameters
    ----------
    port
        Which.
    quotes
        By part, and by the number of each set: sorted by source and pack.
    sets
        By part: the quotes of sets that hold it, sorted by number, source and pack.
    terms
        By source.
    """

    port: str
    quotes: Mapping[str, tuple[Quote, ...]]
    sets: Mapping[str, tuple[Quote, ...]]
    terms: Mapping[str, OrderTerms]

    def selling(self, part: str) -> tuple[Quote, ...]:
        """Return every quote that brings a part: its own, then those of sets."""
        return (*self.quotes.get(part, ()), *self.sets.get(part, ()))


def any_shop(port: str) -> str:
    """Return what the unnamed shops of a port are called."""
    return f"any shop in {port}"


def list_market(fleet: Fleet, port: str, gone: Collection[str] = ()) -> Market:
    """List what is offered at one port.

    Parameters
    ----------
    fleet
        Its `sources`, `prices`, `parts`, `ports` and settings are read.
    port
        A port that sources deliver to, or in which boats are fitted out.
    gone
        Sources that sell nothing.

    Returns
    -------
    Market
        Quotes of sources, sets sold under one number among them; the usual price, as
        :mod:`stockopt.sourcing` has it, for what nobody quotes there; and what no local source
        sells, at the port's price_factor times the cheapest quote of one piece anywhere, where the
        port has one.
    """
    parts = {row["part"]: row for row in fleet.parts.to_dict("records")}
    contents = list_contents(fleet.kits, set(fleet.parts["part"]))
    masses, settings = _list_masses(fleet, contents), fleet.settings
    rates = _list_rates(fleet)
    here = {row["source"]: row for row in _rows(fleet, port)}
    quotes: dict[str, list[Quote]] = {}
    cheapest: dict[str, Decimal] = {}
    delivering = {source: rates[row["currency"]] for source, row in _any_port(fleet).items()}
    for price in fleet.prices.to_dict("records"):
        part, source = price["part"], price["source"]
        if part not in masses or source not in delivering:
            continue
        each = exact(price["price"]) * delivering[source] / int(price["pack"])
        if source in here:
            quote = _quote(price, here[source], rates, masses[part], settings.currency)
            quote = replace(quote, contents=tuple(sorted(contents.get(part, {}).items())))
            quotes.setdefault(part, []).extend([] if source in gone else [quote])
        if source not in gone:
            cheapest[part] = min(each, cheapest.get(part, each))
    for part, quote in _unquoted(fleet, port, parts, quotes, cheapest):
        quotes.setdefault(part, []).append(quote)
    by_number = {
        part: tuple(sorted(found, key=lambda quote: (quote.source, quote.pack)))
        for part, found in sorted(quotes.items())
        if found
    }
    return Market(
        port=port,
        quotes=by_number,
        sets=_list_sets(by_number),
        terms={
            USUAL_PRICE: OrderTerms(),
            any_shop(port): OrderTerms(),
            **{source: _terms(row, rates[row["currency"]]) for source, row in here.items()},
        },
    )


def _list_sets(quotes: Mapping[str, tuple[Quote, ...]]) -> dict[str, tuple[Quote, ...]]:
    """List by part the quotes of sets that hold it."""
    sets: dict[str, tuple[Quote, ...]] = {}
    for quote in (one for number in sorted(quotes) for one in quotes[number]):
        for part, _ in quote.contents:
            sets[part] = (*sets.get(part, ()), quote)
    return sets


def _rows(fleet: Fleet, port: str) -> list[Row]:
    return list(fleet.sources[fleet.sources["delivers_to"] == port].to_dict("records"))


def _any_port(fleet: Fleet) -> dict[str, Row]:
    return {row["source"]: row for row in fleet.sources.to_dict("records")}


def _list_masses(fleet: Fleet, contents: Contents) -> dict[str, Decimal]:
    """Return the mass of one piece of each part, and of one set."""
    parts = fleet.parts
    masses = {part: exact(kg) for part, kg in zip(parts["part"], parts["kg"], strict=True)}
    sets = {
        kit: sum((masses[part] * pieces for part, pieces in held.items()), Decimal(0))
        for kit, held in contents.items()
    }
    return {**sets, **masses}


def _list_rates(fleet: Fleet) -> dict[str, Decimal]:
    """Return the worth of one unit of each currency; that none is missing was checked."""
    settings = fleet.settings
    rates = {currency: exact(rate) for currency, rate in settings.rates.items()}
    return {**rates, "": Decimal(1), settings.currency: Decimal(1)}


def _quote(
    price: Row, source: Row, rates: Mapping[str, Decimal], kg: Decimal, currency: str
) -> Quote:
    rate, pack = rates[source["currency"]], int(price["pack"])
    late_days = source["late_days"]
    return Quote(
        source=source["source"],
        kind=source["kind"],
        part=price["part"],
        pack=pack,
        most=None if math.isnan(price["most"]) else int(price["most"]),
        price=exact(price["price"]) * rate,
        freight=kg * pack * exact(source["per_kg"]) * rate,
        duty=exact(source["duty"]),
        tax=exact(source["tax"]),
        duty_on_price=source["duty_on"] == "price",
        lead_days=source["lead_days"],
        late_days=source["lead_days"] if math.isnan(late_days) else late_days,
        kg=kg * pack,
        asked=exact(price["price"]),
        currency=source["currency"] or currency,
    )


def _unquoted(
    fleet: Fleet,
    port: str,
    parts: Mapping[str, Row],
    quotes: Mapping[str, list[Quote]],
    cheapest: Mapping[str, Decimal],
) -> list[tuple[str, Quote]]:
    """List what the tables say of parts that no source, or no local one, quotes at the port."""
    factors = dict(zip(fleet.ports["port"], fleet.ports["price_factor"], strict=True))
    factor = exact_or_none(factors.get(port, math.nan))
    one_port = fleet.sources["delivers_to"].nunique() == 1
    homes = set(fleet.boats["home_port"])
    currency = fleet.settings.currency
    fitted_out = port in homes or (one_port and "" in homes)
    found = []
    for part, row in parts.items():
        if row["replaced_by"] != "":
            continue
        usual, kg = exact_or_none(row["price"]), exact(row["kg"])
        if part not in quotes and fitted_out and usual is not None:
            found.append((part, _shop(USUAL_PRICE, part, usual, kg, currency, assumed=False)))
        elif factor is not None and not any(q.kind == "local" for q in quotes.get(part, ())):
            at_home = cheapest.get(part, usual)
            if at_home is not None:
                quote = _shop(any_shop(port), part, at_home * factor, kg, currency, assumed=True)
                found.append((part, quote))
    return found


def _shop(
    source: str, part: str, price: Decimal, kg: Decimal, currency: str, *, assumed: bool
) -> Quote:
    """Return the quote of a shop in the port: one piece at once, nothing on top."""
    return Quote(
        source=source,
        kind="local",
        part=part,
        pack=1,
        most=None,
        price=price,
        freight=NOTHING,
        duty=NOTHING,
        tax=NOTHING,
        duty_on_price=False,
        lead_days=0.0,
        late_days=0.0,
        kg=kg,
        asked=price,
        currency=currency,
        assumed=assumed,
    )


def _terms(source: Row, rate: Decimal) -> OrderTerms:
    free, least = source["free_freight_from"], source["minimum_order"]
    return OrderTerms(
        per_order=cents(exact(source["per_order"]) * rate),
        handling=cents(exact(source["handling"]) * rate),
        free_freight_from=None if math.isnan(free) else cents(exact(free) * rate),
        minimum_order=None if math.isnan(least) else cents(exact(least) * rate),
    )
