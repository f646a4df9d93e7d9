"""Which limits clash and the least that mends it, worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from program_builders import DEPARTS_ON, FREE, make_choice, make_choices, make_offer, make_part
from program_market import make_market

from stockopt.errors import NoPlanError, SolverError
from stockopt.program import clashes as clashes_room
from stockopt.program import least as least_room
from stockopt.program import solve as solve_room
from stockopt.program.clash_words import say
from stockopt.program.slack import OutOfTime
from stockopt.program.solve import solve_program
from stockopt.units import KG_PER_POUND, LITRES_PER_GALLON, Measures

OTHERS = Measures(mass="lb", volume="gallons")


def clashes_of(*parts, **more):
    choices = make_choices(*parts, **{"currency": "EUR", **more})
    with pytest.raises(NoPlanError) as raised:
        solve_program(choices, gap=0.0, seconds=30.0)
    return raised.value.clashes


def moves_of(clash):
    return [
        [(change.limit, change.boat, change.value, change.needed) for change in remedy]
        for remedy in clash.remedies
    ]


# --- pieces that cannot be had ------------------------------------------------------------------


def test_floor_that_nobody_quotes():
    (clash,) = clashes_of(make_part(make_choice(2), floor=2, on_hand=1, offers=()))
    assert clash.text == (
        "Alba needs 2 of seal (at least 2 must be carried), and only 1 can be aboard when she "
        f"departs on {DEPARTS_ON}: nobody quotes a price for it"
    )
    assert moves_of(clash) == [
        [("stock", "Alba", 1.0, 2.0)],
        [("carry_at_least", "Alba", 2.0, 1.0)],
    ]


def test_floor_that_comes_too_late():
    late = DEPARTS_ON.replace(day=9)
    (clash,) = clashes_of(make_part(make_choice(2), floor=2, offers=(), too_late=late))
    assert clash.text.endswith("the first offer that could bring more is in hand by 2031-05-09")
    assert clash.remedies[1][0].text == "let Alba depart 8 days later, on 2031-05-09"


def test_floor_above_what_is_available():
    offers = (make_offer(pack=2, most=1),)
    (clash,) = clashes_of(make_part(make_choice(4), floor=4, offers=offers))
    assert "only 2 can be aboard" in clash.text
    assert "chandler has 1 pack of 2, and no source delivers more in time" in clash.text


def test_number_asked_for_that_cannot_be_had():
    (clash,) = clashes_of(make_part(make_choice(3), pin=3, offers=()))
    assert "exactly 3 were asked to be carried" in clash.text


# --- one boat -----------------------------------------------------------------------------------


def test_floors_heavier_than_she_takes():
    part = make_part(make_choice(2), floor=2, kg=3.0, litres=1.0)
    (clash,) = clashes_of(part, limits={"Alba": {"kg": 4.5, "litres": 2.0}})
    assert clash.text == "the floors of Alba weigh 6 kg, 1.5 kg over the limit of 4.5 kg"
    assert moves_of(clash) == [
        [("kg", "Alba", 4.5, 6.0)],
        [("carry_at_least", "Alba", 2.0, 1.0)],
    ]


def test_kilos_and_litres_both_short_need_both():
    part = make_part(make_choice(2), floor=0, kg=3.0, litres=3.0)
    (clash,) = clashes_of(part, limits={"Alba": {"kg": 4.5, "litres": 5.0}})
    assert moves_of(clash) == [[("kg", "Alba", 4.5, 6.0), ("litres", "Alba", 5.0, 6.0)]]


def test_kilos_and_litres_give_before_a_floor_that_would_mend_both():
    part = make_part(make_choice(2), floor=2, kg=3.0, litres=3.0)
    (clash,) = clashes_of(part, limits={"Alba": {"kg": 4.5, "litres": 5.0}})
    assert moves_of(clash) == [
        [("kg", "Alba", 4.5, 6.0), ("litres", "Alba", 5.0, 6.0)],
        [("carry_at_least", "Alba", 2.0, 1.0)],
    ]
    assert clash.text == (
        "Alba cannot keep the floors, the limit of 4.5 kg of Alba and the limit of 5 litres of "
        "Alba together"
    )


def test_masses_and_room_are_told_in_the_units_of_the_fleet():
    # 6 kg are 13.2277 lb and 8 litres 2.11338 gallons: what is told is enough, to its last digit.
    part = make_part(make_choice(2), floor=2, kg=3.0, litres=4.0)
    for limits, text, enough in (
        (
            {"kg": 10.0 * KG_PER_POUND},
            "weigh 13.228 lb, 3.228 lb over the limit of 10 lb",
            13.228 * KG_PER_POUND,
        ),
        (
            {"litres": 2.0 * LITRES_PER_GALLON},
            "fill 2.114 gallons, 0.114 gallons over the limit of 2 gallons",
            2.114 * LITRES_PER_GALLON,
        ),
    ):
        (clash,) = clashes_of(part, limits={"Alba": limits}, measures=OTHERS)
        assert clash.text == f"the floors of Alba {text}"
        change = clash.remedies[0][0]
        assert change.unit in ("kg", "litres")
        assert change.needed == pytest.approx(enough)
        mended = {"Alba": {change.limit: change.needed}}
        choices = make_choices(part, limits=mended, measures=OTHERS)
        assert solve_program(choices, gap=0.0, seconds=30.0).picked


def test_floors_dearer_than_both_budgets():
    part = make_part(make_choice(2), floor=2, on_hand=1)
    ours, fleets = clashes_of(part, limits={"Alba": {"budget": 8.0}}, budget=7.5)
    assert ours.text == "the floors of Alba cost 10.00 EUR, 2.00 EUR over the budget of 8.00 EUR"
    assert fleets.text.startswith("the floors of the fleet cost 10.00 EUR, 2.50 EUR over")


def test_readiness_that_cannot_be_reached():
    part = make_part(make_choice(1, shortage_chance=0.1), stops=True)
    (clash,) = clashes_of(part, readiness=0.95)
    assert clash.text == (
        "Alba reaches a readiness of at most 90 %, 95 % is asked; seal is the greatest risk"
    )
    assert moves_of(clash) == [[("readiness", "", 0.95, 0.9)]]


def test_very_high_readiness_is_told_with_enough_digits():
    part = make_part(make_choice(1, shortage_chance=4.9e-7), stops=True)
    (clash,) = clashes_of(part, readiness=0.9999999)
    assert "at most 99.99995 %, 99.99999 % is asked" in clash.text


def test_readiness_against_kilos_can_be_mended_either_way():
    parts = [
        make_part(
            make_choice(0, shortage_chance=chance), make_choice(1), part=name, kg=kg, stops=True
        )
        for name, kg, chance in (("belt", 1.0, 0.2), ("seal", 2.0, 0.1))
    ]
    (clash,) = clashes_of(*parts, limits={"Alba": {"kg": 2.5}}, readiness=0.95)
    assert clash.text == (
        "to keep a readiness of 95 % with all else as it is, Alba must carry 3 kg, "
        "0.5 kg over the limit of 2.5 kg"
    )
    # The belt alone leaves 0.9, the seal alone 0.8.
    assert moves_of(clash) == [[("kg", "Alba", 2.5, 3.0)], [("readiness", "", 0.95, 0.9)]]


def test_limits_that_have_no_part_in_it_are_not_named():
    light, heavy = make_choice(0, shortage_chance=0.5), make_choice(1)
    part = make_part(light, heavy, stops=True, kg=2.0)
    order = {("chandler", "Alba"): replace(FREE, minimum_order=5.0)}
    limits = {"Alba": {"kg": 1.0, "litres": 5.0, "budget": 50.0}}
    (clash,) = clashes_of(part, limits=limits, readiness=0.9, budget=99.0, charges=order)
    assert clash.text == (
        "to keep a readiness of 90 % with all else as it is, Alba must carry 2 kg, "
        "1 kg over the limit of 1 kg"
    )


# --- boats together -----------------------------------------------------------------------------


def both(*, carry=2, **more):
    return [
        make_part(make_choice(carry), floor=carry, boat=boat, **more) for boat in ("Alba", "Bora")
    ]


AT_STORE = {boat: {"place": "store"} for boat in ("Alba", "Bora")}


def test_scarce_packs_wanted_at_two_places():
    (clash,) = clashes_of(*both(offers=(make_offer(most=3),)))
    assert [change.text for change in clash.remedies[0]] == [
        "have chandler sell 4 of seal, 1 more than it has"
    ]
    assert [remedy[0].limit for remedy in clash.remedies] == ["most", "carry_at_least"]


def test_stock_wanted_by_two_boats():
    stock = {("store", "seal"): 3}
    (clash,) = clashes_of(*both(offers=()), limits=AT_STORE, stock=stock)
    assert clash.remedies[0][0].text == "bring 1 more of seal to store (4 instead of 3)"


def test_fleet_budget_is_too_small_for_all_boats_only():
    (clash,) = clashes_of(*both(), budget=39.0)
    assert (
        clash.text
        == "the floors of the fleet cost 40.00 EUR, 1.00 EUR over the budget of 39.00 EUR"
    )


def test_least_order_above_the_budget():
    order = {("chandler", "store"): replace(FREE, minimum_order=60.0)}
    (clash,) = clashes_of(*both(), limits=AT_STORE, budget=45.0, charges=order)
    assert moves_of(clash) == [
        [("fleet budget", "", 45.0, 60.0)],
        [("minimum_order", "", 60.0, 40.0)],
        [("carry_at_least", "Alba", 2.0, 0.0), ("carry_at_least", "Bora", 2.0, 0.0)],
    ]
    assert "the floors and the least orders of the sources" in clash.text


def ask_place_by_place(monkeypatch):
    """Treat every fleet as one of too many choices to ease its limits in one program."""
    for room in (clashes_room, least_room):
        monkeypatch.setattr(room, "MANY", 0)
    monkeypatch.setattr(solve_room, "MANY", 0)


def test_large_fleet_adds_up_what_its_places_must_spend(monkeypatch):
    ask_place_by_place(monkeypatch)
    (clash,) = clashes_of(*both(), budget=39.0)
    assert moves_of(clash) == [[("fleet budget", "", 39.0, 40.0)]]


# --- no plan, or no time ------------------------------------------------------------------------


def test_out_of_time_about_the_clash_is_still_no_plan(monkeypatch):
    def give_up(*_, **__):
        raise OutOfTime

    monkeypatch.setattr("stockopt.program.slack.Eased.is_possible", give_up)
    part = make_part(make_choice(2), floor=2, kg=3.0)
    (clash,) = clashes_of(part, limits={"Alba": {"kg": 4.5}})
    assert "the time was up before it was known which clash" in clash.text
    assert "Alba: 4.5 kg, floors of 1 part" in clash.text
    assert clash.remedies == ()


@pytest.mark.parametrize("seconds", [1e-9, 1e-3, 30.0])
def test_out_of_time_is_never_called_no_plan(seconds):
    """Only what is proven is no plan (3); the solver that stopped before is another error (4)."""
    loose = make_market(2, 5, readiness=0.2)
    try:
        assert solve_program(loose, gap=0.01, seconds=seconds).picked
    except SolverError as error:
        told = str(error)
        assert f"no plan within {seconds:g} s" in told
    tight = replace(loose, budget=1.0, readiness=0.99)
    with pytest.raises((NoPlanError, SolverError)) as raised:
        solve_program(tight, gap=0.01, seconds=seconds)
    assert seconds < 1.0 or isinstance(raised.value, NoPlanError)


def test_a_budget_of_nothing_has_no_sign():
    assert say("fleet budget", -0.0, "EUR", Measures()) == "0.00 EUR"
