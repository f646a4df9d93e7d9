"""Purchase orders that go with a plan made by hand."""

import math
from datetime import date
from decimal import Decimal
from itertools import groupby

from stockopt.landed.money import LineMoney, share_out
from stockopt.orders.orders import LateBoat, Orders, PurchaseLine, PurchaseOrder, Reorder


def make_reorder(**changes):
    values = {
        "place": "Base store",
        "part": "IMP-1",
        "name": "Impeller, raw-water pump",
        "in_hand": 3,
        "reorder_at": 0,
        "quantity": 0,
        "chance": 0.62,
        "early": date(2031, 6, 1),
        "middle": date(2031, 8, 1),
        "late": None,
        "source": "Far Parts",
        "late_days": 19.0,
        "order_by": date(2031, 5, 13),
    }
    return Reorder(**{**values, **changes})


def orders_of_plan(plan, reorders=()):
    """Return the orders of a plan: what is landed above the price is freight by mass."""
    charges = {(one.source, one.place): one for one in plan.charges}
    orders = []
    lines = [line for line in plan.orders if math.isfinite(line.price)]
    lines.sort(key=lambda line: (line.source, line.place))
    for key, group in groupby(lines, key=lambda line: (line.source, line.place)):
        some = list(group)
        charge = charges.get(key)
        freight = Decimal(str(charge.freight if charge else 0))
        handling = Decimal(str(charge.handling if charge else 0))
        money = [
            LineMoney(
                goods=Decimal(str(line.price)) * line.pieces,
                freight=Decimal(str(line.landed)) * line.pieces
                - Decimal(str(line.price)) * line.pieces,
                duty=Decimal("0.00"),
                tax=Decimal("0.00"),
            )
            for line in some
        ]
        shares = share_out(freight + handling, [one.goods for one in money])
        first = some[0]
        orders.append(
            PurchaseOrder(
                source=first.source,
                kind=first.kind,
                place=first.place,
                port="Porto",
                lines=tuple(
                    PurchaseLine(
                        part=line.part,
                        name=line.name,
                        packs=line.packs,
                        pack=line.pieces // line.packs,
                        money=one,
                        charges=share,
                        kg=Decimal("0.5") * line.pieces,
                        asked=Decimal(str(line.price)) * (line.pieces // line.packs),
                        currency=plan.currency,
                    )
                    for line, one, share in zip(some, money, shares, strict=True)
                ),
                freight=freight,
                handling=handling,
                order_by=first.order_by,
                arrives_by=first.arrives_by,
                lead_days=10.0,
                late_days=19.0,
                late_by=9,
                late=()
                if first.kind == "local"
                else (
                    LateBoat(
                        boat="Heron",
                        needs_on=first.arrives_by,
                        without=((first.part, 2),),
                        bought_here=((first.part, 1),),
                        waits_for=(),
                        cost=120.0,
                    ),
                ),
            )
        )
    orders.sort(key=lambda order: (order.order_by, order.source))
    return Orders(orders=tuple(orders), reorders=tuple(reorders))
