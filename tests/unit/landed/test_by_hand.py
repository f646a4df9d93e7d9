"""Every line worked out again with fractions from the text of the tables: the same cents."""

import csv
import math
import tomllib
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from landed_builders import NOTHING_NEEDED, compare, make_market_fleet, source_of

from stockopt.fleet.read import read_fleet
from stockopt.landed.compare import compare_sources
from stockopt.landed.money import share_out

SAMPLE = Path(__file__).parents[3] / "sample_fleet" / "charter_base"
PIECES = 13


def read(name):
    with (SAMPLE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def half_up(amount):
    """Round a fraction of money half up; return whole cents."""
    return math.floor(amount * 100 + Fraction(1, 2))


def in_cents(amount):
    cents = Fraction(amount) * 100
    assert cents.denominator == 1
    return int(cents)


@pytest.fixture(scope="module")
def port():
    """Return the sample's market with an order of 13 pieces of everything anybody quotes."""
    fleet = read_fleet(SAMPLE, overrides={})
    pieces = dict.fromkeys(fleet.prices["part"], PIECES)
    known = {part: count for part, count in pieces.items() if part in set(fleet.parts["part"])}
    (port,) = compare_sources(NOTHING_NEEDED, fleet, ["Tulvanny"], {"Tulvanny": known}).ports
    return port


def test_every_line_of_the_sample_comes_out_by_hand_from_its_csv_files(port):
    sources = {row["source"]: row for row in read("sources")}
    kg = {row["part"]: Fraction(row["kg"]) for row in read("parts")}
    prices = {(r["source"], r["part"], int(r["pack"] or 1)): r["price"] for r in read("prices")}
    settings = tomllib.loads((SAMPLE / "settings.toml").read_text(encoding="utf-8"))
    rates = {"EUR": Fraction(1), **{k: Fraction(str(v)) for k, v in settings["rates"].items()}}
    checked = 0
    for one in port.parts:
        for source in one.sources:
            if source.assumed:
                continue
            row = sources[source.source]
            rate = rates[row["currency"]]
            for line in source.bought:
                pack = line.quote.pack
                price = Fraction(prices[source.source, one.part, pack])
                goods = half_up(line.packs * price * rate)
                mass = line.packs * pack * kg[one.part]
                freight = half_up(mass * Fraction(row["per_kg"]) * rate)
                dutiable = goods if row["duty_on"] == "price" else goods + freight
                duty = half_up(Fraction(dutiable, 100) * Fraction(row["duty"]))
                tax = half_up(Fraction(goods + freight + duty, 100) * Fraction(row["tax"]))
                money = line.money
                found = (money.goods, money.freight, money.duty, money.tax)
                assert tuple(map(in_cents, found)) == (goods, freight, duty, tax)
                assert in_cents(money.landed) == goods + freight + duty + tax
                checked += 1
    assert checked > 100


def test_shares_of_the_charges_add_up_to_them_to_the_cent(port):
    shares = {}
    goods = {}
    for one in port.parts:
        for source in one.sources:
            shares[source.source] = shares.get(source.source, 0) + in_cents(source.charges)
            goods[source.source] = goods.get(source.source, 0) + in_cents(source.money.goods)
    # 13 of everything is far above both thresholds of free freight: only the broker is left.
    assert goods["Brunskarry Parts Post"] > 1500 * 92
    assert shares["Brunskarry Parts Post"] == half_up(Fraction(55) * Fraction("0.92"))
    assert shares["Marlanby Mail Order"] == 0


def test_sums_are_sums_of_printed_figures(port):
    for way in port.ways:
        for order in way.orders:
            lines = sum(in_cents(line.landed) for line in order.lines)
            money = order.money
            columns = (money.goods, money.freight, money.duty, money.tax)
            charges = in_cents(order.freight) + in_cents(order.handling)
            assert in_cents(order.total) == lines == sum(map(in_cents, columns)) + charges
        assert in_cents(way.total) == sum(in_cents(order.total) for order in way.orders)


def test_half_a_cent_is_rounded_up_at_each_step():
    # 3 x 1.005 = 3.015 -> 3.02; 5 % of 3.02 = 0.151 -> 0.15; 10 % of 3.17 = 0.317 -> 0.32
    fleet = make_market_fleet(
        parts=[{"part": "seal"}],
        sources=[{"source": "Far", "kind": "mail", "lead_days": 5, "duty": "5%", "tax": "10%"}],
        prices=[{"source": "Far", "part": "seal", "price": 1.005}],
    )
    one = source_of(compare(fleet, {"seal": 3}), "seal", "Far")
    money = one.money
    found = [str(amount) for amount in (money.goods, money.freight, money.duty, money.tax)]
    assert found == ["3.02", "0.00", "0.15", "0.32"]
    assert str(one.landed) == "3.49"


def test_a_share_given_in_per_cent_is_the_share_written():
    # 8.1 % of 100.00 is 8.10 whatever 8.1 / 100 is in binary
    fleet = make_market_fleet(
        parts=[{"part": "seal"}],
        sources=[{"source": "Far", "kind": "mail", "lead_days": 5, "duty": "8.1%"}],
        prices=[{"source": "Far", "part": "seal", "price": 100}],
    )
    assert str(source_of(compare(fleet, {"seal": 1}), "seal", "Far").money.duty) == "8.10"


def test_what_rounding_leaves_goes_to_the_largest_share():
    # thirds of 0.05 are 0.0125, 0.0125 and 0.025: 0.01 + 0.01 + 0.03
    shares = share_out(Decimal("0.05"), [Decimal(1), Decimal(1), Decimal(2)])
    assert [str(share) for share in shares] == ["0.01", "0.01", "0.03"]
