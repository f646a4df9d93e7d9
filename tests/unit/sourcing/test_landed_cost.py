"""Landed costs worked by hand."""

import pytest
from builders import make_fleet

from stockopt.sourcing import Charges, price_offers

RATES = {"USD": 0.9, "GBP": 1.2}


def price_one(*, source, price, part=None, settings=None):
    """Return the one offer of a fleet with one part, one source and one quote."""
    fleet = make_fleet(
        settings={"rates": RATES, **(settings or {})},
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[dict(part="seal", **(part or {}))],
        sources=[
            dict(source="Shop", delivers_to="Porto", **{"kind": "mail", "lead_days": 5, **source})
        ],
        prices=[dict(source="Shop", part="seal", **price)],
    )
    offers = price_offers(fleet)
    (offer,) = offers.offers["Porto", "seal"]
    return offer, offers.charges["Shop", "Porto"]


def test_local_price_is_what_it_says():
    offer, charges = price_one(source={"kind": "local"}, price={"price": 25})
    assert (offer.price, offer.landed, offer.pack, offer.most) == (25.0, 25.0, 1, None)
    assert charges == Charges(
        per_order=0.0, handling=0.0, free_freight_from=None, minimum_order=None
    )


def test_duty_and_tax_on_price_and_freight():
    # (80 + 4 a kg x 0.5 kg) x 1.05 x 1.20 = 82 x 1.26
    offer, _ = price_one(
        source={"per_kg": 4, "duty": 0.05, "tax": 0.20}, price={"price": 80}, part={"kg": 0.5}
    )
    assert offer.price == 80.0
    assert offer.landed == pytest.approx(103.32, abs=1e-9)


def test_duty_on_the_price_alone():
    # (80 x 1.05 + 2) x 1.20
    offer, _ = price_one(
        source={"per_kg": 4, "duty": 0.05, "tax": 0.20, "duty_on": "price"},
        price={"price": 80},
        part={"kg": 0.5},
    )
    assert offer.landed == pytest.approx(103.2, abs=1e-9)


def test_pack_price_is_shared_by_its_pieces():
    # a pack of 6 at 30: 5 a piece, and freight for one piece's own mass: (5 + 10 x 0.1) x 1.1
    offer, _ = price_one(
        source={"per_kg": 10, "tax": 0.10},
        price={"price": 30, "pack": 6, "most": 4},
        part={"kg": 0.1},
    )
    assert (offer.price, offer.pack, offer.most) == (5.0, 6, 4)
    assert offer.landed == pytest.approx(6.6, abs=1e-9)


def test_price_freight_and_charges_are_in_the_currency_of_the_source():
    # USD at 0.9: (100 + 20) x 0.9 = 108
    offer, charges = price_one(
        source={
            "currency": "USD",
            "per_kg": 10,
            "per_order": 30,
            "handling": 50,
            "free_freight_from": 500,
            "minimum_order": 100,
        },
        price={"price": 100},
        part={"kg": 2},
    )
    assert offer.price == pytest.approx(90.0)
    assert offer.landed == pytest.approx(108.0)
    assert charges.per_order == pytest.approx(27.0)
    assert charges.handling == pytest.approx(45.0)
    assert charges.free_freight_from == pytest.approx(450.0)
    assert charges.minimum_order == pytest.approx(90.0)


def test_the_plans_own_currency_needs_no_rate():
    offer, _ = price_one(
        source={"currency": "GBP"}, price={"price": 7}, settings={"currency": "GBP", "rates": {}}
    )
    assert offer.landed == 7.0


def test_late_days_blank_are_the_lead_days():
    usual, _ = price_one(source={"lead_days": 12}, price={"price": 7})
    late, _ = price_one(source={"lead_days": 12, "late_days": 30}, price={"price": 7})
    assert (usual.lead_days, usual.late_days) == (12.0, 12.0)
    assert (late.lead_days, late.late_days) == (12.0, 30.0)


def test_offers_of_a_port_stand_cheapest_landed_first():
    # 100 in the shop; by mail 60 + 20 of freight, then 25 % tax: 100 as well, but it takes longer
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[{"part": "seal", "kg": 1}],
        sources=[
            {
                "source": "Far",
                "kind": "mail",
                "delivers_to": "Porto",
                "lead_days": 9,
                "per_kg": 20,
                "tax": 0.25,
            },
            {"source": "Near", "kind": "local", "delivers_to": "Porto"},
        ],
        prices=[
            {"source": "Far", "part": "seal", "price": 60},
            {"source": "Near", "part": "seal", "price": 100},
            {"source": "Near", "part": "seal", "price": 900, "pack": 10},
        ],
    )
    offers = price_offers(fleet).offers["Porto", "seal"]
    assert [(offer.source, offer.pack) for offer in offers] == [
        ("Near", 10),
        ("Near", 1),
        ("Far", 1),
    ]


def test_one_source_may_ask_different_freight_for_each_port():
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto"}, {"boat": "Brisa", "home_port": "Isla"}],
        parts=[{"part": "seal", "kg": 2}],
        sources=[
            {"source": "Far", "kind": "mail", "lead_days": 5, "delivers_to": "Porto", "per_kg": 5},
            {
                "source": "Far",
                "kind": "mail",
                "lead_days": 5,
                "delivers_to": "Isla",
                "per_kg": 15,
                "duty": 0.1,
            },
        ],
        prices=[{"source": "Far", "part": "seal", "price": 50}],
    )
    offers = price_offers(fleet).offers
    assert offers["Porto", "seal"][0].landed == pytest.approx(60.0)
    assert offers["Isla", "seal"][0].landed == pytest.approx(88.0)
