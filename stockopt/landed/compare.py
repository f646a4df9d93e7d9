"""Local against mail order, port by port and part by part."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from stockopt.demand.demand import Demand
from stockopt.fleet.fleet import Fleet
from stockopt.landed.break_even import find_break_even, find_pays_from, order_alone
from stockopt.landed.landed import (
    SPLIT,
    Bought,
    FromSource,
    Landed,
    PartCompared,
    PortCompared,
    Wanted,
    Way,
)
from stockopt.landed.money import NOTHING, cents, exact
from stockopt.landed.packs import fill
from stockopt.landed.ports import BUY, NEED, boats_of, fill_basket
from stockopt.landed.quotes import Market, Quote, list_market
from stockopt.landed.sets import compare_sets
from stockopt.landed.split import find_way, make_orders


def compare_sources(
    demand: Demand,
    fleet: Fleet,
    ports: Iterable[str],
    pieces: Mapping[str, Mapping[str, int]] | None = None,
    gone: Collection[str] = (),
) -> Landed:
    """Compare local shops with mail order, for a basket at each port.

    Parameters
    ----------
    demand
        What the boats will need.
    fleet
        Its `sources`, `prices`, `parts`, `ports`, `boats`, `legs` and settings are read.
    ports
        Where to compare.
    pieces
        By port and part: what the baskets hold; None for what the season is expected to need.
    gone
        Sources that sell nothing; where only they sell a part to a port, nobody does there.

    Returns
    -------
    Landed
        In the plan's currency, every figure in whole cents.
    """
    names = dict(zip(fleet.parts["part"], fleet.parts["name"], strict=True))
    compared = []
    for port in ports:
        basket = fill_basket(demand, fleet, port, None if pieces is None else pieces.get(port, {}))
        compared.append(_compare_port(fleet, list_market(fleet, port, gone), basket, names))
    return Landed(ports=tuple(compared), basket=NEED if pieces is None else BUY)


def _compare_port(
    fleet: Fleet, market: Market, basket: Mapping[str, Wanted], names: Mapping[str, str]
) -> PortCompared:
    offered = {part: wanted for part, wanted in basket.items() if market.selling(part)}
    by_source = _whole_orders(market, offered)
    parts = tuple(
        _compare_part(market, part, names[part], wanted, by_source)
        for part, wanted in sorted(offered.items())
    )
    selling = [quote for part in offered for quote in market.selling(part)]
    mail = sorted({quote.source for quote in selling if quote.kind == "mail"})
    sources = fleet.sources[fleet.sources["delivers_to"] == market.port]
    free = set(sources.loc[sources["duty"] == 0.0, "source"])
    found = (find_break_even(source, market, parts) for source in mail)
    ways = _list_ways(market, {part: wanted.pieces for part, wanted in offered.items()})
    return PortCompared(
        port=market.port,
        boats=boats_of(fleet, market.port),
        parts=parts,
        no_offer=tuple(sorted(set(basket) - set(offered))),
        ways=ways,
        break_even=tuple(one for one in found if one is not None),
        duty_free=tuple(source for source in mail if source in free),
        sets=compare_sets(market, parts, next((w for w in ways if w.name == SPLIT), None)),
    )


def _list_ways(market: Market, pieces: Mapping[str, int]) -> tuple[Way, ...]:
    kinds = {quote.kind for part in pieces for quote in market.selling(part)}
    ways = [
        find_way("local", market, pieces, lambda quote: quote.kind == "local")
        if "local" in kinds
        else None,
        find_way("mail order", market, pieces, lambda quote: quote.kind == "mail")
        if "mail" in kinds
        else None,
        find_way(SPLIT, market, pieces, lambda _: True),
    ]
    return tuple(way for way in ways if way is not None)


def _whole_orders(
    market: Market, basket: Mapping[str, Wanted]
) -> dict[tuple[str, str], tuple[Bought, ...]]:
    """Return, by source and part, the lines of one order of everything wanted that it sells."""
    bought: list[tuple[Quote, int]] = []
    for part, wanted in basket.items():
        for quotes in _by_source(market.quotes.get(part, ())).values():
            bought += fill(quotes, wanted.pieces) or []
    lines: dict[tuple[str, str], tuple[Bought, ...]] = {}
    for order in make_orders(market, bought):
        for line in order.lines:
            key = (order.source, line.quote.part)
            lines[key] = (*lines.get(key, ()), line)
    return lines


def _compare_part(
    market: Market,
    part: str,
    name: str,
    wanted: Wanted,
    by_source: Mapping[tuple[str, str], tuple[Bought, ...]],
) -> PartCompared:
    offered = _by_source(market.quotes.get(part, ()))
    quickest = min(quote.lead_days for quote in market.selling(part))
    sources = [
        _from_source(market, offered[source], by_source[source, part], wanted, quickest)
        for source in offered
        if (source, part) in by_source
    ]
    return PartCompared(
        part=part,
        name=name,
        wanted=wanted,
        sources=tuple(sorted(sources, key=lambda one: (one.landed, one.lead_days, one.source))),
        pays_from=find_pays_from(market, part),
    )


def _from_source(
    market: Market,
    quotes: list[Quote],
    bought: tuple[Bought, ...],
    wanted: Wanted,
    quickest: float,
) -> FromSource:
    first = quotes[0]
    extra = first.lead_days - quickest
    landed = sum((line.landed for line in bought), NOTHING)
    return FromSource(
        source=first.source,
        kind=first.kind,
        assumed=first.assumed,
        bought=bought,
        each=cents(landed / sum(line.pieces for line in bought)),
        alone=order_alone(market.terms[first.source], fill(quotes, 1)),
        lead_days=first.lead_days,
        late_days=first.late_days,
        extra_days=extra,
        waiting=cents(exact(extra) * wanted.lost_day),
    )


def _by_source(quotes: tuple[Quote, ...]) -> dict[str, list[Quote]]:
    by_source: dict[str, list[Quote]] = {}
    for quote in quotes:
        by_source.setdefault(quote.source, []).append(quote)
    return by_source
