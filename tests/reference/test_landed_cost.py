"""Landed costs as customs services and an export agency work them out in public examples.

The numbers are listed, with their sources, in README.md beside this file.
"""

from decimal import Decimal

import pytest
from landed_builders import compare, make_market_fleet, source_of

#: US International Trade Administration, export.gov, Duty and Tax Calculation Methods: invoice
#: 932, insurance 16 and freight 52; duty 7 % on all of it (CIF), tax 18 % on that and the duty.
CIF = {"price": 932, "freight": 68, "duty": 0.07, "tax": 0.18, "duty_on": "landed"}
#: The same page, without insurance and freight (FOB).
FOB = {"price": 932, "freight": 0, "duty": 0.07, "tax": 0.18, "duty_on": "price"}
#: Australian Customs, its example of importing goods: customs value 1,200, transport and insurance
#: 150; duty 5 % on the customs value, goods and services tax 10 % on value, duty and transport.
AUSTRALIA = {"price": 1200, "freight": 150, "duty": 0.05, "tax": 0.10, "duty_on": "price"}


@pytest.mark.parametrize(
    ("case", "duty", "tax", "landed"),
    [
        (CIF, "70.00", "192.60", "1262.60"),
        (FOB, "65.24", "179.50", "1176.74"),
        (AUSTRALIA, "60.00", "141.00", "1551.00"),
    ],
)
def test_printed_examples(case, duty, tax, landed):
    fleet = make_market_fleet(
        parts=[{"part": "goods", "kg": 1}],
        sources=[
            {"source": "Abroad", "kind": "mail", "lead_days": 9, "per_kg": case["freight"]}
            | {name: case[name] for name in ("duty", "tax", "duty_on")}
        ],
        prices=[{"source": "Abroad", "part": "goods", "price": case["price"]}],
    )
    one = source_of(compare(fleet, {"goods": 1}), "goods", "Abroad")
    money = one.money
    assert (str(money.duty), str(money.tax), str(one.landed)) == (duty, tax, landed)


def test_printed_example_in_another_currency():
    # Australian Customs, electric sound amplifier: USD 1,274 and USD 118.30 of postage at
    # A$1 = USD 0.91 are A$1,400.00 and A$130.00; duty 5 % A$70.00, tax 10 % of 1,600 A$160.00.
    fleet = make_market_fleet(
        settings={"currency": "AUD", "rates": {"USD": float(1 / Decimal("0.91"))}},
        parts=[{"part": "amplifier", "kg": 1}],
        sources=[
            {"source": "Abroad", "kind": "mail", "lead_days": 9, "per_kg": 118.30, "duty": 0.05}
            | {"tax": 0.10, "duty_on": "price", "currency": "USD"}
        ],
        prices=[{"source": "Abroad", "part": "amplifier", "price": 1274}],
    )
    money = source_of(compare(fleet, {"amplifier": 1}), "amplifier", "Abroad").money
    assert [str(m) for m in (money.goods, money.freight, money.duty, money.tax)] == [
        "1400.00",
        "130.00",
        "70.00",
        "160.00",
    ]


def test_charges_are_shared_by_value_as_in_the_textbook_question():
    # An accounting question with its worked answer: 20 pieces at 20 and 20 at 5; 230 of charges
    # for 2,300 in all are shared 400 : 100, so 184 and 46.
    fleet = make_market_fleet(
        parts=[{"part": "X"}, {"part": "Y"}],
        sources=[{"source": "Abroad", "kind": "mail", "lead_days": 9, "handling": 230}],
        prices=[
            {"source": "Abroad", "part": "X", "price": 20},
            {"source": "Abroad", "part": "Y", "price": 5},
        ],
    )
    port = compare(fleet, {"X": 20, "Y": 20})
    assert [str(source_of(port, part, "Abroad").charges) for part in ("X", "Y")] == [
        "184.00",
        "46.00",
    ]
