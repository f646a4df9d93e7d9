"""Laws of the comparison of local shops with mail order, on random markets."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st
from landed_builders import compare, make_market_fleet

from stockopt.landed.quotes import list_market


def random_market(seed):
    draw = random.Random(seed)
    parts = [{"part": f"P{n}", "kg": draw.choice([0, 0.1, 3])} for n in range(draw.randint(1, 4))]
    sources = []
    for number in range(draw.randint(1, 4)):
        more = {"free_freight_from": draw.choice([0, 30, 200])} if draw.random() < 0.4 else {}
        if draw.random() < 0.4:
            more["minimum_order"] = draw.choice([0, 30, 500])
        sources.append(
            {
                "source": f"S{number}",
                "kind": draw.choice(["local", "mail"]),
                "lead_days": 5,
                "per_order": draw.choice([0, 20]),
                "handling": draw.choice([0, 15.55]),
                "per_kg": draw.choice([0, 4.4]),
                "duty": draw.choice([0, 0.085]),
                "tax": draw.choice([0, 0.2]),
                "duty_on": draw.choice(["landed", "price"]),
                **more,
            }
        )
    prices = [
        {"source": source["source"], "part": part["part"], "pack": pack}
        | {"price": draw.choice([0.01, 3.335, 40]), "most": draw.choice([None, None, 0, 3])}
        for source in sources
        for part in parts
        for pack in draw.choice([(1,), (1, 4), (6,)])
        if draw.random() < 0.8
    ]
    fleet = make_market_fleet(parts=parts, sources=sources, prices=prices)
    return fleet, {part["part"]: draw.randint(1, 7) for part in parts}


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.integers(0, 10**6))
def test_every_way_covers_the_basket_in_orders_that_are_accepted(seed):
    fleet, pieces = random_market(seed)
    port = compare(fleet, pieces)
    terms = list_market(fleet, "Porto").terms
    totals = {way.name: way.total for way in port.ways}
    for way in port.ways:
        got = {}
        for order in way.orders:
            assert terms[order.source].accepts(order.money.goods)
            assert order.freight == terms[order.source].freight(order.money.goods)
            assert sum(line.landed for line in order.lines) == order.total
            for line in order.lines:
                got[line.quote.part] = got.get(line.quote.part, 0) + line.pieces
                assert line.quote.most is None or line.packs <= line.quote.most
        assert all(got[one.part] >= one.wanted.pieces for one in port.parts)
    if "cheapest split" in totals:
        # It weighs unrounded money: each line may be off by half a cent a column.
        assert float(totals["cheapest split"]) <= float(min(totals.values())) + 0.1
    for one in port.parts:
        landed = [source.landed for source in one.sources]
        assert landed == sorted(landed)
        assert all(source.pieces >= one.wanted.pieces for source in one.sources)
