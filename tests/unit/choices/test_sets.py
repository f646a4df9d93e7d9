"""Sets as offers for the parts they hold."""

import pytest
from builders import make_fleet
from choices_builders import make_demand, make_lives, make_need
from program_builders import plan_of

from stockopt.choices.sets import list_sets
from stockopt.choices.weigh import weigh_choices
from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program
from stockopt.sourcing import price_offers

FAR = {
    "source": "Far",
    "kind": "mail",
    "delivers_to": "Porto",
    "lead_days": 5,
    "per_kg": 10,
    "tax": 0.2,
}
HALF = [[[0.5, 0.3, 0.2]]] * 2


def fleet_with_sets(*, parts=(), prices=(), pack=2, **tables):
    return make_fleet(
        **{
            "boats": [{"boat": "Alba", "home_port": "Porto", "day_cost": 500}],
            "parts": [
                {"part": "impeller", "price": 40, "kg": 0.2},
                {"part": "gasket", "price": 5, "kg": 0.05},
                *parts,
            ],
            "kits": [
                {"kit": "K-1", "part": "impeller", "quantity": 1},
                {"kit": "K-1", "part": "gasket", "quantity": 2},
            ],
            "sources": [FAR],
            "prices": [
                {"source": "Far", "part": "K-1", "price": 36 * pack, "pack": pack, "most": 3},
                *prices,
            ],
            **tables,
        }
    )


def test_a_set_weighs_what_it_holds_and_is_shared_out_by_usual_prices():
    fleet = fleet_with_sets()
    sets = list_sets(fleet, price_offers(fleet).price)
    assert set(sets) == {("Porto", "impeller"), ("Porto", "gasket")}
    (offer,) = sets["Porto", "gasket"]
    # 36 a set, 0.3 kg of freight at 10, and tax; its pieces are worth 40 and twice 5
    assert offer.price == pytest.approx(36.0)
    assert offer.landed == pytest.approx((36.0 + 3.0) * 1.2)
    assert offer.find_landed("impeller") == pytest.approx(46.8 * 40 / 50)
    assert offer.find_landed("gasket") == pytest.approx(46.8 * 5 / 50)
    assert offer.parts == {"gasket": 2, "impeller": 1}
    assert (offer.pack, offer.most) == (2, 3)


def test_a_set_that_is_a_part_is_none():
    fleet = fleet_with_sets(parts=[{"part": "K-1", "price": 50}])
    assert list_sets(fleet, price_offers(fleet).price) == {}


def test_a_source_that_sells_nothing_sells_no_sets():
    fleet = fleet_with_sets()
    assert list_sets(fleet, price_offers(fleet).price, ("Far",)) == {}


def test_without_usual_prices_pieces_cost_the_same():
    fleet = fleet_with_sets()
    (offer,) = list_sets(fleet, {})["Porto", "impeller"]
    assert offer.find_landed("impeller") == pytest.approx(46.8 / 3)


def test_sets_are_weighed_beside_single_parts_and_cap_what_a_spare_stays_worth():
    fleet = fleet_with_sets(
        prices=[
            {"source": "Far", "part": "impeller", "price": 40},
            {"source": "Far", "part": "gasket", "price": 2},
        ],
        legs=[{"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": "Isla"}],
    )
    demand = make_demand(make_need(HALF, part="impeller"), make_need(HALF, part="gasket"))
    choices = weigh_choices(demand, price_offers(fleet), make_lives("Alba"), fleet)
    gasket, impeller = choices.parts
    assert [offer.part for offer in impeller.offers] == ["K-1", "impeller"]
    assert [offer.part for offer in gasket.offers] == ["gasket", "K-1"]
    carry_over = fleet.settings.carry_over
    assert impeller.leftover == pytest.approx(carry_over * 46.8 * 40 / 50)
    assert gasket.leftover == pytest.approx(carry_over * (2 + 0.5) * 1.2)


def test_the_plan_buys_a_set_where_it_is_cheaper_than_its_pieces():
    fleet = fleet_with_sets(
        pack=1,
        prices=[
            {"source": "Far", "part": "impeller", "price": 40},
            {"source": "Far", "part": "gasket", "price": 5},
        ],
        legs=[{"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": "Isla"}],
    )
    needs = [make_need([[[0.1, 0.9]]] * 2, part=part) for part in ("impeller", "gasket")]
    choices = weigh_choices(make_demand(*needs), price_offers(fleet), make_lives("Alba"), fleet)
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    plan = plan_of(solution, choices)
    check_plan(plan, solution, choices)
    (line,) = plan.orders
    assert (line.part, line.name, line.packs, line.pieces) == (
        "K-1",
        "Set of 2 x gasket, 1 x impeller",
        1,
        1,
    )
    assert [(line.part, line.buy) for line in plan.carry] == [("gasket", 1), ("impeller", 1)]
