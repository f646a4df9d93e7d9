"""The cheapest split against every combination tried."""

import itertools
import random
from decimal import Decimal

import pytest
from landed_builders import compare, make_market_fleet, way_of

from stockopt.landed.quotes import list_market

PARTS = ("belt", "seal")


def make_case(seed):
    """Return a fleet of round money, so that no line needs rounding, and a basket."""
    draw = random.Random(seed)
    sources = [{"source": "Quay", "kind": "local"}]
    for name in ("Far", "Post"):
        more = {"minimum_order": draw.choice([20, 60])} if draw.random() < 0.4 else {}
        if draw.random() < 0.5:
            more["free_freight_from"] = draw.choice([30, 70])
        charges = {"per_order": draw.choice([0, 10, 25]), "handling": draw.choice([0, 15])}
        dues = {"duty": draw.choice([0, 0.1]), "tax": draw.choice([0, 0.2])}
        sources.append({"source": name, "kind": "mail", "lead_days": 9, **charges, **dues, **more})
    prices = []
    for source, part in itertools.product(("Quay", "Far", "Post"), PARTS):
        if source != "Quay" and draw.random() < 0.2:
            continue
        pack = 1 if source == "Quay" else draw.choice([1, 1, 2])
        price = draw.randint(8, 20) * (3 if source == "Quay" else 1) * pack
        most = draw.choice([None, None, 1]) if source != "Quay" else None
        prices.append({"source": source, "part": part, "price": price, "pack": pack, "most": most})
    fleet = make_market_fleet(
        parts=[{"part": part} for part in PARTS], sources=sources, prices=prices
    )
    return fleet, {part: draw.randint(1, 3) for part in PARTS}


def try_everything(fleet, pieces):
    """Return the least total of any packs of any quotes, extra pieces for thresholds included."""
    market = list_market(fleet, "Porto")
    quotes = [quote for part in PARTS for quote in market.quotes[part]]
    best = None
    for packs in itertools.product(
        *(range(1 + (7 if quote.most is None else quote.most)) for quote in quotes)
    ):
        got = dict.fromkeys(PARTS, 0)
        goods, total = {}, Decimal(0)
        for quote, count in zip(quotes, packs, strict=True):
            if count:
                line = quote.line(count)
                got[quote.part] += count * quote.pack
                goods[quote.source] = goods.get(quote.source, Decimal(0)) + line.goods
                total += line.landed
        if any(got[part] < pieces[part] for part in PARTS):
            continue
        terms = {source: market.terms[source] for source in goods}
        if all(terms[source].accepts(worth) for source, worth in goods.items()):
            total += sum(terms[source].charges(worth) for source, worth in goods.items())
            best = total if best is None else min(best, total)
    return best


@pytest.mark.parametrize("seed", [0, 1, 3, 5])
def test_no_combination_of_packs_costs_less(seed):
    fleet, pieces = make_case(seed)
    way = way_of(compare(fleet, pieces), "cheapest split")
    assert way.proven
    assert way.total == try_everything(fleet, pieces)


def test_an_order_is_made_larger_where_that_makes_its_freight_free():
    # One at 30 and 25 of freight is 55; two, from 60 on, come freight-free at 60; the shop asks 70.
    fleet = make_market_fleet(
        parts=[{"part": "belt"}],
        sources=[
            {"source": "Quay", "kind": "local"},
            {
                "source": "Post",
                "kind": "mail",
                "lead_days": 9,
                "per_order": 35,
                "free_freight_from": 60,
            },
        ],
        prices=[
            {"source": "Quay", "part": "belt", "price": 70},
            {"source": "Post", "part": "belt", "price": 30},
        ],
    )
    (order,) = way_of(compare(fleet, {"belt": 1}), "cheapest split").orders
    assert (order.source, order.freight, order.total) == ("Post", 0, 60)
    assert sum(line.pieces for line in order.lines) == 2


def test_what_a_kind_of_source_does_not_sell_is_taken_from_elsewhere_and_said():
    fleet = make_market_fleet(
        parts=[{"part": "belt"}, {"part": "seal"}],
        sources=[
            {"source": "Quay", "kind": "local"},
            {"source": "Post", "kind": "mail", "lead_days": 9},
        ],
        prices=[
            {"source": "Quay", "part": "belt", "price": 70},
            {"source": "Post", "part": "belt", "price": 30},
            {"source": "Post", "part": "seal", "price": 5},
        ],
    )
    port = compare(fleet, {"belt": 1, "seal": 2})
    assert way_of(port, "local").elsewhere == ("seal",)
    assert way_of(port, "local").total == 80
    assert way_of(port, "mail order").elsewhere == ()
    assert way_of(port, "mail order").total == 40


def test_a_part_that_nobody_sells_enough_of_leaves_no_way():
    fleet = make_market_fleet(
        parts=[{"part": "belt"}],
        sources=[{"source": "Quay", "kind": "local"}],
        prices=[{"source": "Quay", "part": "belt", "price": 70, "most": 1}],
    )
    port = compare(fleet, {"belt": 2})
    assert port.ways == ()
    assert port.parts[0].sources == ()
