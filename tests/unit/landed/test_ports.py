"""Which ports are compared, what their baskets hold, what nobody quotes, and currencies."""

import pytest
from builders import make_fleet
from choices_builders import make_demand, make_need, make_stretches
from landed_builders import LEG, compare, make_market_fleet, part_of, source_of

from stockopt.errors import InputError
from stockopt.landed.compare import compare_sources
from stockopt.landed.ports import NEED, find_port, home_ports

SHOP = {"source": "Quay", "kind": "local"}
POST = {"source": "Post", "kind": "mail", "lead_days": 10, "late_days": 15}
BELT = [
    {"source": "Quay", "part": "belt", "price": 40},
    {"source": "Post", "part": "belt", "price": 10},
]


def need_of(boat, mean, consequence="stops"):
    whole = int(mean)
    share = mean - whole
    chances = [0.0] * whole + [1.0 - share, share]
    return make_need(
        [[chances]], boat=boat, part="belt", consequence=consequence, stretches=make_stretches("P")
    )


def two_boats(**more):
    return make_fleet(
        boats=[
            {"boat": "Alba", "home_port": "Porto", "day_cost": 600},
            {"boat": "Brisa", "home_port": "Porto", "day_cost": 300},
        ],
        parts=[{"part": "belt"}],
        sources=[{"delivers_to": "Porto", **source} for source in (SHOP, POST)],
        prices=BELT,
        legs=[LEG, {**LEG, "boat": "Brisa"}],
        **more,
    )


def test_basket_is_what_all_boats_of_the_port_need_rounded_up_once():
    demand = make_demand(need_of("Alba", 1.2), need_of("Brisa", 0.6))
    landed = compare_sources(demand, two_boats(), ["Porto"])
    one = part_of(landed.ports[0], "belt")
    assert (one.wanted.pieces, one.wanted.expected) == (2, pytest.approx(1.8))
    assert landed.basket == NEED
    assert landed.ports[0].boats == ("Alba", "Brisa")


def test_waiting_is_extra_days_times_the_day_the_boats_lose_by_need():
    # 600 x 1 for 1.2 pieces and 300 x 0.3 for 0.6: (720 + 54) / 1.8 = 430 a day; 10 extra days
    demand = make_demand(need_of("Alba", 1.2), need_of("Brisa", 0.6, "limits"))
    (port,) = compare_sources(demand, two_boats(), ["Porto"]).ports
    assert part_of(port, "belt").wanted.lost_day == 430
    post, quay = source_of(port, "belt", "Post"), source_of(port, "belt", "Quay")
    assert (post.extra_days, post.waiting, post.awaited) == (10, 4300, 4310)
    assert (quay.extra_days, quay.waiting, quay.awaited) == (0, 0, 40)
    assert part_of(port, "belt").best_awaited.source == "Quay"
    assert part_of(port, "belt").sources[0].source == "Post"


def test_home_ports_with_a_source_are_compared_or_the_one_asked_for():
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto"}, {"boat": "Brisa", "home_port": "Cala"}],
        parts=[{"part": "belt"}],
        sources=[{"delivers_to": "Porto", **POST}, {"delivers_to": "Isla", **SHOP}],
        prices=BELT,
        legs=[LEG, {**LEG, "boat": "Brisa", "to_port": "Isla"}],
    )
    assert home_ports(fleet) == ("Porto",)
    assert find_port(fleet, " isla ") == "Isla"
    assert compare_sources(make_demand(), fleet, ["Isla"]).ports[0].boats == ("Brisa",)
    with pytest.raises(InputError, match=r"'Nowhere' no source delivers there.*Cala, Isla, Porto"):
        find_port(fleet, "Nowhere")


def test_a_boat_without_a_home_port_buys_where_all_sources_deliver():
    fleet = make_fleet(
        boats=[{"boat": "Alba"}],
        parts=[{"part": "belt"}],
        sources=[{"delivers_to": "Porto", **POST}],
        prices=BELT[1:],
        legs=[{**LEG, "to_port": "Isla"}],
    )
    assert home_ports(fleet) == ("Porto",)
    (port,) = compare_sources(make_demand(need_of("Alba", 1.0)), fleet, ["Porto"]).ports
    assert port.boats == ("Alba",)
    assert [one.part for one in port.parts] == ["belt"]


def test_what_nobody_quotes_locally_is_assumed_from_the_ports_factor_and_marked():
    fleet = make_market_fleet(
        parts=[{"part": "belt"}],
        sources=[POST],
        prices=[{"source": "Post", "part": "belt", "price": 30, "pack": 4}],
        ports=[{"port": "Porto", "price_factor": 2.5}],
    )
    shop = source_of(compare(fleet, {"belt": 3}), "belt", "any shop in Porto")
    assert shop.assumed
    assert shop.landed == 56.25  # 3 x 2.5 x 7.50
    assert not source_of(compare(fleet, {"belt": 3}), "belt", "Post").assumed


def test_what_no_source_quotes_is_at_its_usual_price_or_not_to_be_had():
    fleet = make_market_fleet(
        parts=[{"part": "belt", "price": 12}, {"part": "rope"}],
        sources=[POST],
        prices=[],
    )
    port = compare(fleet, {"belt": 2, "rope": 1})
    assert source_of(port, "belt", "usual price").landed == 24
    assert port.no_offer == ("rope",)


def test_prices_freight_and_charges_are_changed_at_the_rate_of_the_settings():
    fleet = make_market_fleet(
        settings={"rates": {"USD": 0.92}},
        parts=[{"part": "belt", "kg": 0.5}],
        sources=[{**POST, "currency": "USD", "per_kg": 6.5, "handling": 55}],
        prices=[{"source": "Post", "part": "belt", "price": 23.35}],
    )
    one = source_of(compare(fleet, {"belt": 3}), "belt", "Post")
    # 3 x 23.35 x 0.92 = 64.446; 3 x 0.5 x 6.5 x 0.92 = 8.97; 55 x 0.92 = 50.60
    assert [str(m) for m in (one.money.goods, one.money.freight, one.charges)] == [
        "64.45",
        "8.97",
        "50.60",
    ]


def test_a_currency_without_a_rate_is_an_error_that_names_the_source():
    with pytest.raises(InputError, match="'CHF' has no rate, and Post asks it: add CHF"):
        make_market_fleet(
            settings={"rates": {"USD": 0.92}},
            parts=[{"part": "belt"}],
            sources=[{**POST, "currency": "CHF"}],
            prices=[{"source": "Post", "part": "belt", "price": 23.35}],
        )


def test_mail_order_free_of_duty_is_named():
    free = make_market_fleet(
        parts=[{"part": "belt"}],
        sources=[SHOP, POST, {**POST, "source": "Far", "duty": 0.05}],
        prices=[*BELT, {"source": "Far", "part": "belt", "price": 9}],
    )
    assert compare(free, {"belt": 1}).duty_free == ("Post",)


def test_a_source_done_without_sells_nothing_and_nobody_takes_its_place():
    fleet = two_boats()
    demand = make_demand(need_of("Alba", 1.0))
    (port,) = compare_sources(demand, fleet, ["Porto"], gone=["Quay"]).ports
    assert [source.source for source in part_of(port, "belt").sources] == ["Post"]
    (port,) = compare_sources(demand, fleet, ["Porto"], gone=["Quay", "Post"]).ports
    assert port.no_offer == ("belt",)
