"""Sets sold under one number beside their parts bought one by one, worked by hand."""

import itertools
import random
from decimal import Decimal

import pytest
from landed_builders import NOTHING_NEEDED, compare, make_market_fleet, part_of, way_of

from stockopt.landed.compare import compare_sources
from stockopt.landed.quotes import list_market

HELD = {"belt": 1, "seal": 2}
KIT = [{"kit": "KIT", "part": part, "quantity": count} for part, count in HELD.items()]


def make_shop(*, kit=15, belt=10, seal=6, kits=KIT, post=None, **of_kit):
    """Return a quay that sells belts and seals, and a post that sells a set of both."""
    asked = {"belt": belt, "seal": seal}
    return make_market_fleet(
        parts=[{"part": part, "kg": kg} for part, kg in (("belt", 0.5), ("seal", 0.25))],
        sources=[
            {"source": "Quay", "kind": "local"},
            {"source": "Post", "kind": "mail", "lead_days": 9, **(post or {})},
        ],
        prices=[
            *({"source": "Quay", "part": p, "price": one} for p, one in asked.items() if one),
            {"source": "Post", "part": "KIT", "price": kit, **of_kit},
        ],
        kits=kits,
    )


def told(way):
    return way.packs, way.money.landed, way.one_by_one, dict(way.useful), dict(way.left)


def test_a_set_all_of_which_is_wanted_is_cheaper_than_its_parts():
    port = compare(make_shop(), {"belt": 2, "seal": 4})
    (one,) = port.sets
    # One set at 15 against a belt at 10 and two seals at 6 each.
    assert told(one.one) == (1, 15, 22, HELD, {})
    assert one.one.saves == 7
    assert told(dict(one.ways)["belt"]) == (2, 30, 44, {"belt": 2, "seal": 4}, {})
    split = way_of(port, "cheapest split")
    assert (split.total, one.in_split) == (30, 2)
    assert [line.parts for order in split.orders for line in order.lines] == [6]


def test_what_is_left_over_counts_for_nothing():
    port = compare(make_shop(), {"belt": 3, "seal": 1})
    (one,) = port.sets
    # A belt and the one seal wanted cost 16 singly.
    assert told(one.one) == (1, 15, 16, {"belt": 1, "seal": 1}, {"seal": 1})
    belts = dict(one.ways)["belt"]
    assert told(belts) == (3, 45, 36, {"belt": 3, "seal": 1}, {"seal": 5})
    assert belts.saves == -9
    # One set and two belts make 35, three belts and a seal 36.
    assert (way_of(port, "cheapest split").total, one.in_split) == (35, 1)


def test_the_charges_of_an_order_decide_in_the_split_only():
    port = compare(make_shop(post={"handling": 15}), {"belt": 2, "seal": 4})
    (one,) = port.sets
    assert one.one.saves == 7
    assert (way_of(port, "cheapest split").total, one.in_split) == (44, 0)


def test_duty_tax_and_freight_by_the_mass_of_what_it_holds_are_in_the_set():
    post = {"per_kg": 2, "duty": 0.1, "tax": 0.2}
    (one,) = compare(make_shop(post=post), {"belt": 1, "seal": 2}).sets
    # 1 kg: 15 + 2 of freight, 1.70 of duty, 3.74 of tax.
    assert one.one.money.landed == Decimal("22.44")
    assert one.one.saves == Decimal("-0.44")


def test_a_part_that_comes_in_a_set_only_can_be_had():
    port = compare(make_shop(seal=None), {"belt": 1, "seal": 3})
    (one,) = port.sets
    assert port.no_offer == ()
    assert part_of(port, "seal").sources == ()
    assert dict(one.ways)["seal"].one_by_one is None
    assert told(dict(one.ways)["seal"])[:2] == (2, 30)
    assert way_of(port, "cheapest split").total == 30
    assert way_of(port, "local").elsewhere == ("seal",)


def test_no_more_sets_than_there_are():
    port = compare(make_shop(most=1), {"belt": 2, "seal": 4})
    (one,) = port.sets
    assert told(dict(one.ways)["belt"])[0] == 1
    assert (way_of(port, "cheapest split").total, one.in_split) == (37, 1)


def test_packs_of_sets_and_sets_within_sets():
    inner = [{"kit": "IN", "part": "seal", "quantity": 2}]
    outer = [
        {"kit": "KIT", "part": "IN", "quantity": 1},
        {"kit": "KIT", "part": "belt", "quantity": 1},
    ]
    fleet = make_shop(kits=[*inner, *outer], kit=28, pack=2, post={"per_kg": 1})
    (one,) = compare(fleet, {"belt": 1, "seal": 4}).sets
    assert one.quote.contents == (("belt", 1), ("seal", 2))
    # Two sets of 1 kg for 28 and 2 of freight; a belt and four seals cost 34.
    assert told(one.one) == (1, 30, 34, {"belt": 1, "seal": 4}, {"belt": 1})


def test_sets_of_a_source_that_is_gone_are_not_told():
    fleet = make_shop()
    basket = {"Porto": {"belt": 2, "seal": 4}}
    from_all = compare_sources(NOTHING_NEEDED, fleet, ["Porto"], basket)
    without = compare_sources(NOTHING_NEEDED, fleet, ["Porto"], basket, gone=("Post",))
    assert len(from_all.ports[0].sets) == 1
    assert without.ports[0].sets == ()


def make_case(seed):
    draw = random.Random(seed)
    post = {"per_order": draw.choice([0, 5]), "handling": draw.choice([0, 4])}
    prices = {"belt": draw.randint(6, 14), "seal": draw.randint(2, 8)}
    kit = draw.randint(8, 24)
    fleet = make_shop(kit=kit, **prices, post=post)
    return fleet, {"belt": draw.randint(1, 3), "seal": draw.randint(1, 4)}


@pytest.mark.parametrize("seed", range(12))
def test_no_combination_of_sets_and_pieces_costs_less_than_the_split(seed):
    fleet, pieces = make_case(seed)
    market = list_market(fleet, "Porto")
    quotes = [quote for number in sorted(market.quotes) for quote in market.quotes[number]]
    best = None
    for packs in itertools.product(range(5), repeat=len(quotes)):
        got, total, goods = dict.fromkeys(HELD, 0), Decimal(0), {}
        for quote, count in zip(quotes, packs, strict=True):
            for part, held in HELD.items() if quote.part == "KIT" else [(quote.part, 1)]:
                got[part] += held * count
            if count:
                total += quote.line(count).landed
                goods[quote.source] = goods.get(quote.source, Decimal(0)) + quote.line(count).goods
        if all(got[part] >= wanted for part, wanted in pieces.items()):
            total += sum(market.terms[source].charges(worth) for source, worth in goods.items())
            best = total if best is None else min(best, total)
    assert way_of(compare(fleet, pieces), "cheapest split").total == best
