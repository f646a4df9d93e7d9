"""From how much on mail order pays: the trade's check, and every number tried."""

from decimal import Decimal

import pytest
from landed_builders import compare, make_market_fleet, part_of, source_of, way_of

SHOP = {"source": "Quay", "kind": "local"}
POST = {"source": "Post", "kind": "mail", "lead_days": 10, "late_days": 15}


@pytest.mark.parametrize("premium", ["3.5", "3.75", "4"])
def test_trade_check_one_cheap_piece_is_cheaper_locally_but_not_a_seasons_worth(premium):
    # Common practice, no source: the shop asks 3.5 to 4 times the price by mail.
    dear = Decimal(12) * Decimal(premium)
    fleet = make_market_fleet(
        parts=[{"part": "impeller", "kg": 0.1}],
        sources=[SHOP, {**POST, "per_order": 24, "handling": 55, "per_kg": 5, "tax": 0.1}],
        prices=[
            {"source": "Quay", "part": "impeller", "price": dear},
            {"source": "Post", "part": "impeller", "price": 12},
        ],
    )
    one = compare(fleet, {"impeller": 1})
    assert [order.source for order in way_of(one, "cheapest split").orders] == ["Quay"]
    season = compare(fleet, {"impeller": 20})
    assert [order.source for order in way_of(season, "cheapest split").orders] == ["Post"]
    turns = part_of(season, "impeller").pays_from
    # By hand: each piece by mail is (12 + 0.50) x 1.1 = 13.75, the charges are 79.
    by_mail = {n: n * Decimal("13.75") + 79 for n in range(1, 21)}
    assert turns == min(n for n, cost in by_mail.items() if cost < n * dear)
    assert 1 < turns < 20
    for pieces in (turns - 1, turns):
        way = way_of(compare(fleet, {"impeller": pieces}), "cheapest split")
        assert way.orders[0].source == ("Post" if pieces == turns else "Quay")
        assert way.total == min(by_mail[pieces], pieces * dear)


def two_parts(**post):
    """Return a fleet in which every piece costs 40 in the shop and 10 by mail."""
    return make_market_fleet(
        parts=[{"part": "belt"}, {"part": "seal"}],
        sources=[SHOP, {**POST, **post}],
        prices=[
            {"source": source, "part": part, "price": price}
            for source, price in (("Quay", 40), ("Post", 10))
            for part in ("belt", "seal")
        ],
    )


@pytest.mark.parametrize(
    ("post", "pays_from"),
    [
        ({"per_order": 100, "handling": 50}, 6),  # 5 pieces save just the 150
        ({"per_order": 100, "handling": 50, "free_freight_from": 40}, 4),
        ({"per_order": 100, "handling": 50, "free_freight_from": 500}, 6),
        ({"handling": 50, "minimum_order": 120}, 12),
        ({}, 1),
    ],
)
def test_break_even_basket_is_where_the_cheapest_way_turns(post, pays_from):
    fleet = two_parts(**post)
    (one,) = compare(fleet, {"belt": 7, "seal": 3}).break_even
    assert (one.pieces, one.local, one.mail) == (10, 400, 100)
    assert one.pays_from == pays_from
    assert one.pays_from_goods == 10 * pays_from
    for pieces in range(1, 15):
        charges = Decimal(post.get("per_order", 0))
        if 10 * pieces >= post.get("free_freight_from", 10**6):
            charges = Decimal(0)
        charges += post.get("handling", 0)
        big_enough = 10 * pieces >= post.get("minimum_order", 0)
        pays = big_enough and 10 * pieces + charges < 40 * pieces
        assert pays == (pieces >= pays_from)


def test_curve_crosses_where_the_order_pays():
    (one,) = compare(two_parts(per_order=100, handling=50), {"belt": 7, "seal": 3}).break_even
    for point in one.curve:
        assert (point.mail < point.local) == (point.pieces >= one.pays_from)
        assert point.goods == 10 * point.pieces
    assert one.curve[0].pieces == 1
    assert one.curve[-1].pieces >= 2 * one.pays_from


def test_packs_count_whole_so_that_mail_order_may_pay_later_than_it_first_seems():
    # A pack of 6 at 60 and 30 an order: 90 for 1 to 6, 150 for 7 to 12, against 20 each.
    fleet = make_market_fleet(
        parts=[{"part": "filter"}],
        sources=[SHOP, {**POST, "per_order": 30}],
        prices=[
            {"source": "Quay", "part": "filter", "price": 20},
            {"source": "Post", "part": "filter", "price": 60, "pack": 6},
        ],
    )
    # 5 and 6 pieces are cheaper by mail (90 < 100), 7 are not (150 > 140), from 8 on all are
    assert part_of(compare(fleet, {"filter": 6}), "filter").pays_from == 8


def test_mail_order_that_is_dearer_never_pays():
    fleet = make_market_fleet(
        parts=[{"part": "belt"}],
        sources=[SHOP, POST],
        prices=[
            {"source": "Quay", "part": "belt", "price": 10},
            {"source": "Post", "part": "belt", "price": 10},
        ],
    )
    port = compare(fleet, {"belt": 5})
    assert part_of(port, "belt").pays_from is None
    assert port.break_even == ()


def test_one_piece_alone_pays_all_charges_and_may_be_too_small_an_order():
    fleet = two_parts(per_order=100, handling=50)
    port = compare(fleet, {"belt": 7, "seal": 3})
    assert source_of(port, "belt", "Post").alone == 160
    small = compare(two_parts(minimum_order=15), {"belt": 7, "seal": 3})
    assert source_of(small, "belt", "Post").alone is None
    assert source_of(small, "belt", "Post").awaited is None
    assert part_of(small, "belt").best_awaited.source == "Quay"
