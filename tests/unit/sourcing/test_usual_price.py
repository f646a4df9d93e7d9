"""Parts that nobody quotes, and boats without a home port."""

from builders import make_fleet

from stockopt.sourcing import USUAL_PRICE, Charges, Offer, price_offers

NOTHING = Charges(per_order=0.0, handling=0.0, free_freight_from=None, minimum_order=None)


def test_a_part_nobody_quotes_is_had_at_its_usual_price_at_home():
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[{"part": "seal", "price": 25}, {"part": "belt", "price": 18}, {"part": "odd"}],
        sources=[{"source": "Shop", "kind": "local", "delivers_to": "Porto"}],
        prices=[{"source": "Shop", "part": "belt", "price": 30}],
    )
    offers = price_offers(fleet)
    assert offers.offers["Porto", "seal"] == (
        Offer(
            source=USUAL_PRICE,
            kind="local",
            port="Porto",
            part="seal",
            price=25.0,
            landed=25.0,
            pack=1,
            most=None,
            lead_days=0.0,
            late_days=0.0,
        ),
    )
    assert [offer.source for offer in offers.offers["Porto", "belt"]] == ["Shop"]
    assert ("Porto", "odd") not in offers.offers
    assert offers.charges[USUAL_PRICE, "Porto"] == NOTHING


def test_a_quote_in_another_port_leaves_the_usual_price_at_home():
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[{"part": "seal", "price": 25}],
        sources=[{"source": "Shop", "kind": "local", "delivers_to": "Isla"}],
        prices=[{"source": "Shop", "part": "seal", "price": 60}],
    )
    offers = price_offers(fleet).offers
    assert [offer.source for offer in offers["Porto", "seal"]] == [USUAL_PRICE]
    assert [offer.source for offer in offers["Isla", "seal"]] == ["Shop"]


def test_usual_price_else_cheapest_quote_is_the_price_of_a_part():
    fleet = make_fleet(
        settings={"rates": {"USD": 0.5}},
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[{"part": "seal", "price": 25}, {"part": "belt"}, {"part": "odd"}],
        sources=[
            {"source": "Shop", "kind": "local", "delivers_to": "Porto", "tax": 0.2},
            {
                "source": "Far",
                "kind": "mail",
                "lead_days": 5,
                "delivers_to": "Porto",
                "currency": "USD",
                "per_kg": 9,
            },
        ],
        prices=[
            {"source": "Shop", "part": "seal", "price": 20},
            {"source": "Shop", "part": "belt", "price": 18},
            {"source": "Far", "part": "belt", "price": 64, "pack": 2},
        ],
    )
    offers = price_offers(fleet)
    assert offers.price == {"seal": 25.0, "belt": 16.0, "odd": 0.0}
    (note,) = offers.notes
    assert (note.table, note.row, note.column) == ("parts", 4, "price")
    assert "odd has no price" in note.text


def test_a_boat_without_home_port_is_served_by_all_when_they_deliver_to_one_port():
    fleet = make_fleet(
        boats=[{"boat": "Alba"}],
        parts=[{"part": "seal", "price": 25}, {"part": "belt", "price": 18}],
        sources=[
            {"source": "Shop", "kind": "local", "delivers_to": "Porto", "per_order": 3},
            {"source": "Far", "kind": "mail", "delivers_to": "Porto", "lead_days": 8},
        ],
        prices=[
            {"source": "Shop", "part": "seal", "price": 30},
            {"source": "Far", "part": "seal", "price": 20},
        ],
    )
    offers = price_offers(fleet)
    assert [offer.source for offer in offers.offers["", "seal"]] == ["Far", "Shop"]
    assert [offer.source for offer in offers.offers["", "belt"]] == [USUAL_PRICE]
    assert offers.charges["Shop", ""].per_order == 3.0
    (note,) = offers.notes
    assert (note.table, note.row, note.column) == ("boats", 2, "home_port")
    assert "every source serves her" in note.text


def test_a_boat_without_home_port_buys_at_usual_prices_when_sources_serve_several():
    fleet = make_fleet(
        boats=[{"boat": "Alba"}],
        parts=[{"part": "seal", "price": 25}],
        sources=[
            {"source": "Shop", "kind": "local", "delivers_to": "Porto"},
            {"source": "Far", "kind": "mail", "lead_days": 5, "delivers_to": "Isla"},
        ],
        prices=[
            {"source": "Shop", "part": "seal", "price": 10},
            {"source": "Far", "part": "seal", "price": 20},
        ],
    )
    offers = price_offers(fleet)
    assert [offer.source for offer in offers.offers["", "seal"]] == [USUAL_PRICE]
    assert "usual prices" in offers.notes[0].text


def test_without_any_source_no_boat_misses_a_home_port():
    fleet = make_fleet(boats=[{"boat": "Alba"}], parts=[{"part": "seal", "price": 25}])
    offers = price_offers(fleet)
    assert [offer.source for offer in offers.offers["", "seal"]] == [USUAL_PRICE]
    assert offers.notes == ()


def test_a_superseded_number_is_not_offered():
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto"}],
        parts=[{"part": "old", "price": 25, "replaced_by": "new"}, {"part": "new", "price": 30}],
    )
    offers = price_offers(fleet)
    assert list(offers.offers) == [("Porto", "new")]
    assert offers.notes == ()
