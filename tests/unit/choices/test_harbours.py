"""Who shares before departure, what is used up with what, and where spares are made up."""

from datetime import date

import pytest
from builders import make_fleet
from choices_builders import make_demand, make_lives, make_need, make_stretches

from stockopt.choices.choices import BoatLimits
from stockopt.choices.harbours import join_harbours
from stockopt.choices.weigh import weigh_choices
from stockopt.sourcing import price_offers

HALF = [[[0.5, 0.3, 0.2]]] * 2


def harbours(notes=None, **boats):
    """Return the harbour of each boat, given as (home port, place)."""
    limits = {
        boat: BoatLimits(
            boat=boat, place=place, departs_on=date(2031, 5, 1), kg=None, litres=None, budget=None
        )
        for boat, (_, place) in boats.items()
    }
    notes = [] if notes is None else notes
    joined = join_harbours(limits, {boat: port for boat, (port, _) in boats.items()}, notes)
    return {boat: limit.harbour for boat, limit in joined.items()}


def test_boats_of_one_port_or_of_one_store_share():
    assert harbours(Alba=("Porto", "Alba"), Bora=("Porto", "Bora")) == {
        "Alba": "Porto",
        "Bora": "Porto",
    }
    assert harbours(Alba=("", "Shed"), Bora=("", "Shed")) == {"Alba": "Shed", "Bora": "Shed"}
    assert harbours(Alba=("", "Alba"), Bora=("", "Bora")) == {"Alba": "", "Bora": ""}
    assert harbours(Alba=("Porto", "Alba"), Bora=("Isla", "Bora")) == {"Alba": "", "Bora": ""}


def test_a_store_joins_two_ports():
    found = harbours(
        Alba=("Porto", "Alba"), Bora=("Porto", "Shed"), Cora=("Isla", "Shed"), Dora=("Cabo", "Dora")
    )
    assert found == {"Alba": "Isla", "Bora": "Isla", "Cora": "Isla", "Dora": ""}


def test_a_port_and_a_store_of_one_name_are_two_things():
    assert harbours(Alba=("Porto", "Alba"), Bora=("", "Porto")) == {"Alba": "", "Bora": ""}


def test_in_a_crowded_port_only_boats_of_one_store_share():
    alone = {f"Boat{number:02d}": ("Porto", f"Boat{number:02d}") for number in range(18)}
    two = {"Yara": ("Porto", "Shed"), "Zora": ("Porto", "Shed")}
    notes = []
    assert set(harbours(notes, **alone, **two).values()) == {"Porto"}
    assert notes == []
    found = harbours(notes, **alone, **two, Boat99=("Porto", "Boat99"))
    assert {boat: harbour for boat, harbour in found.items() if harbour} == {
        "Yara": "Shed",
        "Zora": "Shed",
    }
    assert "21 boats could let each other have spares in Porto" in notes[0].text
    crew = {f"Boat{number:02d}": ("Porto", "Shed") for number in range(30)}
    assert set(harbours(**crew).values()) == {"Porto"}


def weigh(*needs, **tables):
    fleet = make_fleet(
        **{
            "boats": [
                {"boat": "Alba", "home_port": "Porto", "day_cost": 500},
                {"boat": "Bora", "home_port": "Porto", "day_cost": 500},
            ],
            "parts": [{"part": "impeller", "price": 50}, {"part": "gasket", "price": 5}],
            "ports": [{"port": "Isla", "price_factor": 2, "wait_days": 4}],
            "legs": [{"boat": "Alba", "departs_on": "2031-05-01", "days": 10, "to_port": "Isla"}],
            **tables,
        }
    )
    choices = weigh_choices(
        make_demand(*needs), price_offers(fleet), make_lives("Alba", "Bora"), fleet
    )
    return {(part.boat, part.part): part for part in choices.parts}, choices


def test_only_what_is_in_hand_and_keeps_to_the_last_day_of_all_can_be_moved():
    late = make_stretches("Isla", departs_on=date(2031, 6, 1))  # ten days: to 11 June
    parts, _ = weigh(
        make_need(HALF, part="impeller"),
        make_need(HALF, part="impeller", boat="Bora", stretches=late),
        stock=[
            {"place": "Alba", "part": "impeller", "on_hand": 2, "expires_on": "2031-06-11"},
            {"place": "Alba", "part": "impeller", "on_hand": 4, "expires_on": "2031-06-10"},
            {"place": "Alba", "part": "impeller", "on_order": 8, "due_on": "2031-04-20"},
        ],
    )
    assert parts["Alba", "impeller"].on_hand == 14
    assert parts["Alba", "impeller"].movable == 2
    assert parts["Bora", "impeller"].movable == 0


def test_a_store_serves_the_boats_of_its_port_from_the_first_departure_on():
    boats = [
        {"boat": "Alba", "home_port": "Porto", "day_cost": 500},
        {"boat": "Bora", "home_port": "Porto", "store": "Shed", "day_cost": 500},
    ]
    late = make_stretches("Isla", departs_on=date(2031, 6, 1))
    _, choices = weigh(
        make_need(HALF, part="impeller"),
        make_need(HALF, part="impeller", boat="Bora", stretches=late),
        boats=boats,
        stock=[
            {"place": "Shed", "part": "impeller", "on_hand": 1},
            {"place": "Shed", "part": "impeller", "on_order": 2, "due_on": "2031-05-20"},
        ],
    )
    assert choices.stock == {("Shed", "impeller"): 1}


def test_what_a_change_uses_up_is_told_and_fewer_changes_stay_a_choice():
    used = [{"part": "gasket", "with_part": "impeller", "quantity": 2}]
    parts, _ = weigh(
        make_need(HALF, part="impeller"), make_need(HALF, part="gasket"), used_with=used
    )
    assert parts["Alba", "impeller"].uses == (("gasket", 2),)
    assert parts["Alba", "gasket"].uses == ()
    assert any(choice.replace_now == 0 for choice in parts["Alba", "impeller"].choices)


def test_where_spares_are_made_up_and_how_much_dearer():
    stretches = make_stretches("Isla", "Cabo", "Isla", "Porto")
    need = make_need([[[0.5, 0.3, 0.2]] * 4] * 2, part="impeller", stretches=stretches)
    parts, _ = weigh(
        need,
        ports=[{"port": "Isla", "price_factor": 2}, {"port": "Cabo", "price_factor": 3}],
        legs=[
            {"boat": "Alba", "departs_on": "2031-05-01", "days": 9, "to_port": "Isla"},
            {"boat": "Alba", "departs_on": "2031-05-11", "days": 9, "to_port": "Cabo"},
        ],
        sources=[{"source": "Shop", "kind": "local", "delivers_to": "Cabo"}],
        prices=[{"source": "Shop", "part": "impeller", "price": 60}],
    )
    stops = parts["Alba", "impeller"].restock_at
    assert [(stop.port, stop.quoted) for stop in stops] == [("Isla", False), ("Cabo", True)]
    # twice the cheapest quote, 60; what the shop asks; at home the usual price is 50
    assert [stop.price for stop in stops] == pytest.approx([120.0, 60.0])
    assert [stop.premium for stop in stops] == pytest.approx([1.4, 0.2])
