"""Purchase orders of the sample fleet and of small plans, to the cent."""

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pandas as pd
import pytest
from builders import make_fleet
from report_builders import make_plan

from stockopt.orders.bought import count_bought
from stockopt.orders.purchase import make_purchase_orders
from stockopt.plan import OrderCharge, OrderLine


class NobodyLate:
    """Stands in for what happens if an order is late."""

    @staticmethod
    def days_late(quote):
        return 3

    def list_boats(self, line, port, days):
        return ()


def make_line(part, *, packs, pack, price, landed, **more):
    values = {
        "source": "Post",
        "kind": "mail",
        "place": "Shed",
        "name": part,
        "order_by": date(2031, 4, 16),
        "arrives_by": date(2031, 5, 1),
    }
    return OrderLine(
        **{**values, **more},
        part=part,
        packs=packs,
        pieces=packs * pack,
        price=price,
        landed=landed,
    )


@pytest.fixture
def fleet():
    return make_fleet(
        settings={"rates": {"USD": 0.9}},
        boats=[
            {"boat": "Alba", "home_port": "Porto", "store": "Shed"},
            {"boat": "Brisa", "home_port": "Porto", "store": "Shed"},
        ],
        parts=[{"part": "belt", "kg": 0.25}, {"part": "seal", "kg": 0.1}],
        kits=[{"kit": "SET", "part": "belt"}, {"kit": "SET", "part": "seal", "quantity": 3}],
        sources=[
            {"source": "Post", "kind": "mail", "delivers_to": "Porto", "lead_days": 8}
            | {"late_days": 15, "per_order": 24, "per_kg": 7.77, "duty": "4%", "tax": "12%"}
            | {"handling": 55, "currency": "USD"}
        ],
        prices=[
            {"source": "Post", "part": "belt", "price": 23.35, "pack": 1},
            {"source": "Post", "part": "belt", "price": 99.95, "pack": 5},
            {"source": "Post", "part": "SET", "price": 31.15},
        ],
        legs=[
            {"boat": boat, "departs_on": "2031-05-01", "days": 7, "to_port": "Porto"}
            for boat in ("Alba", "Brisa")
        ],
    )


def half_up(amount):
    return Fraction(math.floor(amount * 100 + Fraction(1, 2)), 100)


def by_hand(price, pieces_kg):
    """Return goods, freight, duty and tax of a line, asked in USD at 0.9."""
    goods = half_up(Fraction(str(price)) * Fraction("0.9"))
    freight = half_up(Fraction(str(pieces_kg)) * Fraction("7.77") * Fraction("0.9"))
    duty = half_up((goods + freight) * Fraction("0.04"))
    return goods, freight, duty, half_up((goods + freight + duty) * Fraction("0.12"))


def landed_of(price, kg):
    """Return the unrounded landed cost of one piece in EUR, as the plan counts it."""
    return (price + 7.77 * kg) * 0.9 * 1.04 * 1.12


def make_orders(fleet):
    lines = (
        make_line("belt", packs=3, pack=1, price=21.015, landed=landed_of(23.35, 0.25)),
        make_line("belt", packs=2, pack=5, price=17.991, landed=landed_of(19.99, 0.25)),
        make_line("SET", packs=2, pack=1, price=28.035, landed=landed_of(31.15, 0.55)),
    )
    charge = OrderCharge(source="Post", place="Shed", freight=21.6, handling=49.5)
    plan = make_plan(orders=lines, charges=(charge,))
    return plan, make_purchase_orders(plan, fleet, NobodyLate())


def test_every_line_and_sum_comes_out_by_hand(fleet):
    _, (order,) = make_orders(fleet)
    expected = {
        ("belt", 1): by_hand(3 * Fraction("23.35"), 3 * Fraction("0.25")),
        ("belt", 5): by_hand(2 * Fraction("99.95"), 10 * Fraction("0.25")),
        ("SET", 1): by_hand(2 * Fraction("31.15"), 2 * Fraction("0.55")),
    }
    total = Fraction("21.60") + Fraction("49.50")
    for line in order.lines:
        money = (line.money.goods, line.money.freight, line.money.duty, line.money.tax)
        assert tuple(map(Fraction, money)) == expected[line.part, line.pack]
        total += sum(expected[line.part, line.pack])
    assert Fraction(order.total) == total
    assert sum(line.landed for line in order.lines) == order.total
    assert sum(line.charges for line in order.lines) == Decimal("71.10")
    assert order.kg == Decimal("0.75") + Decimal("2.5") + Decimal("1.1")
    assert (order.port, order.lead_days, order.late_days) == ("Porto", 8, 15)


def test_lines_tell_the_price_in_the_money_of_the_source(fleet):
    _, (order,) = make_orders(fleet)
    asked = {(line.part, line.pack): (line.asked, line.currency) for line in order.lines}
    assert asked["belt", 5] == (Decimal("99.95"), "USD")


def test_an_order_that_is_not_what_the_plan_counts_is_a_bug(fleet):
    line = make_line("belt", packs=3, pack=1, price=21.015, landed=1.0 + landed_of(23.35, 0.25))
    charge = OrderCharge(source="Post", place="Shed", freight=21.6, handling=49.5)
    plan = make_plan(orders=(line,), charges=(charge,))
    with pytest.raises(AssertionError, match="Post"):
        make_purchase_orders(plan, fleet, NobodyLate())


def test_what_a_plan_buys_is_counted_by_port_with_sets_taken_apart(fleet):
    plan, _ = make_orders(fleet)
    assert count_bought(plan, fleet) == {"Porto": {"belt": 3 + 10 + 2, "seal": 6}}


def test_sets_within_sets_are_priced_and_counted_to_the_last_piece(fleet):
    outer = [{"kit": "BOX", "part": "SET", "quantity": 2}, {"kit": "BOX", "part": "belt"}]
    rows = [*fleet.kits.to_dict("records"), *outer]
    nested = replace(fleet, kits=pd.DataFrame(rows).fillna({"quantity": 1}))
    prices = fleet.prices.assign(part=fleet.prices["part"].replace("SET", "BOX"))
    nested = replace(nested, prices=prices)
    kg = 3 * 0.25 + 6 * 0.1  # three belts and six seals
    line = make_line("BOX", packs=2, pack=1, price=28.035, landed=landed_of(31.15, kg))
    charge = OrderCharge(source="Post", place="Shed", freight=21.6, handling=49.5)
    plan = make_plan(orders=(line,), charges=(charge,))
    assert count_bought(plan, nested) == {"Porto": {"belt": 6, "seal": 12}}
    (order,) = make_purchase_orders(plan, nested, NobodyLate())
    assert order.kg == Decimal("2.7")
