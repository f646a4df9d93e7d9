"""Prices and waits in the ports where legs end."""

from builders import make_fleet

from stockopt.sourcing import DEFAULT_WAIT_DAYS, PortPrice, price_offers


def price_at(port, *, parts=(), sources=(), prices=(), ports=(), home="Porto"):
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": home}],
        parts=parts or [{"part": "seal", "price": 25}],
        sources=sources,
        prices=prices,
        ports=ports,
        legs=[{"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": port}],
    )
    return price_offers(fleet)


def test_a_local_source_counts_at_its_landed_price_even_beside_a_factor():
    offers = price_at(
        "Isla",
        sources=[
            {"source": "Shop", "kind": "local", "delivers_to": "Isla", "tax": 0.1},
            {"source": "Cheap", "kind": "mail", "lead_days": 5, "delivers_to": "Isla"},
        ],
        prices=[
            {"source": "Shop", "part": "seal", "price": 50},
            {"source": "Cheap", "part": "seal", "price": 10},
        ],
        ports=[{"port": "Isla", "price_factor": 3}],
    )
    there = offers.at_port["Isla", "seal"]
    assert there.quoted
    assert abs(there.price - 55.0) < 1e-9


def test_the_factor_counts_from_the_cheapest_quote_and_not_the_usual_price():
    offers = price_at(
        "Isla",
        sources=[
            {"source": "Shop", "kind": "local", "delivers_to": "Porto", "tax": 0.5},
            {"source": "Far", "kind": "mail", "lead_days": 5, "delivers_to": "Porto"},
        ],
        prices=[
            {"source": "Shop", "part": "seal", "price": 30},
            {"source": "Far", "part": "seal", "price": 40, "pack": 2},
        ],
        ports=[{"port": "Isla", "price_factor": 2.5}],
    )
    assert offers.at_port["Isla", "seal"] == PortPrice(price=50.0, quoted=False)


def test_the_factor_counts_from_the_usual_price_of_a_part_nobody_quotes():
    offers = price_at("Isla", ports=[{"port": "Isla", "price_factor": 2}])
    assert offers.at_port["Isla", "seal"] == PortPrice(price=50.0, quoted=False)


def test_nothing_is_to_be_had_without_a_factor_or_without_any_price():
    blank = price_at("Isla", ports=[{"port": "Isla"}])
    unknown = price_at("Isla")
    priceless = price_at(
        "Isla", parts=[{"part": "seal"}], ports=[{"port": "Isla", "price_factor": 2}]
    )
    assert blank.at_port == unknown.at_port == priceless.at_port == {}


def test_at_home_a_part_nobody_quotes_costs_its_usual_price_on_the_spot():
    offers = price_at("Porto", ports=[{"port": "Porto", "price_factor": 2}])
    assert offers.at_port["Porto", "seal"] == PortPrice(price=25.0, quoted=False)


def test_a_mail_order_to_the_port_is_not_on_the_spot():
    offers = price_at(
        "Isla",
        sources=[{"source": "Far", "kind": "mail", "lead_days": 5, "delivers_to": "Isla"}],
        prices=[{"source": "Far", "part": "seal", "price": 20}],
    )
    assert ("Isla", "seal") not in offers.at_port


def test_waits_come_from_ports_then_from_the_quickest_source_then_from_the_default():
    sources = [
        {"source": "Far", "kind": "mail", "delivers_to": "Isla", "lead_days": 9, "late_days": 21},
        {"source": "Near", "kind": "mail", "delivers_to": "Isla", "lead_days": 12},
    ]
    told = price_at("Isla", sources=sources, ports=[{"port": "Isla", "wait_days": 4}])
    served = price_at("Isla", sources=sources)
    unknown = price_at("Isla")
    assert told.wait_days["Isla"] == 4.0
    assert served.wait_days["Isla"] == 12.0
    assert unknown.wait_days["Isla"] == DEFAULT_WAIT_DAYS == 14.0
    assert not any("Isla" in note.text for note in (*told.notes, *served.notes))
    (note,) = [note for note in unknown.notes if "Isla" in note.text]
    assert (note.table, note.column) == ("ports", "port")


def test_there_is_no_wait_at_home_when_only_usual_prices_are_known():
    offers = price_at("Porto")
    assert offers.wait_days["Porto"] == 0.0
    assert offers.notes == ()
