"""Purchase orders priced to the cent from the tables."""

from __future__ import annotations

from decimal import Decimal
from itertools import groupby

from stockopt.fleet.fleet import Fleet
from stockopt.landed.money import NOTHING, cents, exact, share_out
from stockopt.landed.quotes import Market, Quote, list_market
from stockopt.orders.late import Lateness
from stockopt.orders.orders import PurchaseLine, PurchaseOrder
from stockopt.orders.places import find_ports, market_port
from stockopt.plan import OrderCharge, OrderLine, Plan

#: By how much, in cents a column, an order may differ from the plan's unrounded money.
_ROUNDING = Decimal("0.02")


def make_purchase_orders(plan: Plan, fleet: Fleet, lateness: Lateness) -> tuple[PurchaseOrder, ...]:
    """Return one order for each source and place, the earliest order-by date first."""
    ports = find_ports(fleet)
    charges = {(charge.source, charge.place): charge for charge in plan.charges}
    markets: dict[str, Market] = {}
    orders = []
    lines = sorted(plan.orders, key=lambda line: (line.source, line.place, line.part, line.packs))
    for key, group in groupby(lines, key=lambda line: (line.source, line.place)):
        port = market_port(fleet, ports[key[1]])
        if port not in markets:
            markets[port] = list_market(fleet, port)
        orders.append(_make_order(list(group), charges[key], markets[port], lateness))
    return tuple(sorted(orders, key=lambda order: (order.order_by, order.source, order.place)))


def _make_order(
    lines: list[OrderLine], charge: OrderCharge, market: Market, lateness: Lateness
) -> PurchaseOrder:
    first = lines[0]
    quotes = [_find_quote(line, market) for line in lines]
    money = [quote.line(line.packs) for quote, line in zip(quotes, lines, strict=True)]
    freight, handling = cents(exact(charge.freight)), cents(exact(charge.handling))
    shares = share_out(freight + handling, [one.goods for one in money])
    order = PurchaseOrder(
        source=first.source,
        kind=first.kind,
        place=first.place,
        port=market.port,
        lines=tuple(
            PurchaseLine(
                part=line.part,
                name=line.name,
                packs=line.packs,
                pack=quote.pack,
                money=one,
                charges=share,
                kg=quote.kg * line.packs,
                asked=quote.asked,
                currency=quote.currency,
            )
            for line, quote, one, share in zip(lines, quotes, money, shares, strict=True)
        ),
        freight=freight,
        handling=handling,
        order_by=first.order_by,
        arrives_by=first.arrives_by,
        lead_days=quotes[0].lead_days,
        late_days=quotes[0].late_days,
        late_by=lateness.days_late(quotes[0]),
        late=lateness.list_boats(first, market.port, lateness.days_late(quotes[0])),
    )
    _check_against_plan(order, lines, charge)
    return order


def _find_quote(line: OrderLine, market: Market) -> Quote:
    """Return the quote of the tables that a line of the plan rests on."""
    pack = line.pieces // line.packs
    return next(
        quote
        for quote in market.quotes[line.part]
        if quote.source == line.source and quote.pack == pack
    )


def _check_against_plan(order: PurchaseOrder, lines: list[OrderLine], charge: OrderCharge) -> None:
    """Raise AssertionError where an order is not, but for rounding, what the plan counts for it."""
    counted = sum((exact(line.landed * line.pieces) for line in lines), NOTHING)
    counted += exact(charge.freight + charge.handling)
    if abs(order.total - counted) > _ROUNDING * (2 * len(lines) + 1):
        raise AssertionError(f"{order.source}: {order.total} ordered, {counted} planned")
