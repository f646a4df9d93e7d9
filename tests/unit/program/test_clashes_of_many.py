"""What clashes in fleets too large to ease every limit in one program, against small ones."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part
from program_fleets import make_fleet_market
from program_market import make_market

from stockopt.errors import NoPlanError
from stockopt.program import clashes as clashes_room
from stockopt.program import least as least_room
from stockopt.program import solve as solve_room
from stockopt.program.boat_alone import may_clash, take_boat
from stockopt.program.clash_words import list_limits, tell_many
from stockopt.program.clashes import find_clashes
from stockopt.program.least import Spending, find_safest
from stockopt.program.loosen import mend
from stockopt.program.slack import Ease, Eased, OutOfTime
from stockopt.program.solve import solve_program
from stockopt.report.explain import explain


@pytest.fixture
def _place_by_place(monkeypatch):
    """Treat every fleet as one of too many choices to ease its limits in one program."""
    for room in (clashes_room, least_room):
        monkeypatch.setattr(room, "MANY", 0)
    monkeypatch.setattr(solve_room, "MANY", 0)
    monkeypatch.setattr(solve_room, "MANY_SHARED", 0)


def clashes_of(choices, seconds=30.0):
    with pytest.raises(NoPlanError) as raised:
        solve_program(choices, gap=1e-4, seconds=seconds)
    return raised.value.clashes


def mend_all(choices, clashes):
    for clash in clashes:
        choices = mend(choices, clash.remedies[0])
    return choices


@pytest.mark.usefixtures("_place_by_place")
def test_boats_that_share_scarce_packs_and_cannot_all_be_ready():
    """Two seals for three boats: one boat sails without, and reaches 0.4 of the 0.9 asked."""
    ways = (make_choice(0, shortage_chance=0.6), make_choice(1))
    parts = [
        make_part(*ways, boat=boat, stops=True, offers=(make_offer(most=2),))
        for boat in ("Alba", "Bora", "Cora")
    ]
    choices = make_choices(*parts, readiness=0.9, budget=100.0)
    (clash,) = clashes_of(choices)
    (remedy,) = clash.remedies
    assert [(change.limit, change.needed, change.proven) for change in remedy] == [
        ("readiness", 0.4, False)
    ]
    assert "reach a readiness of 40 % in the safest plan known, 90 % is asked" in clash.text
    assert "budget" not in clash.text
    assert solve_program(mend(choices, remedy), gap=0.0, seconds=30.0).picked


@pytest.mark.usefixtures("_place_by_place")
def test_scarce_packs_go_to_the_boat_that_is_the_least_ready_without():
    """Alba has another risk of 0.5: with the only seal she reaches 0.5, and Bora 0.6 without."""
    offers = (make_offer(most=1),)
    parts = [
        make_part(make_choice(0, shortage_chance=0.5), part="belt", stops=True),
        *(
            make_part(
                make_choice(0, shortage_chance=chance),
                make_choice(1),
                boat=boat,
                stops=True,
                offers=offers,
            )
            for boat, chance in (("Alba", 0.3), ("Bora", 0.4))
        ),
    ]
    limits = {boat: {"place": "store"} for boat in ("Alba", "Bora")}
    safest = find_safest(
        make_choices(*parts, limits=limits, readiness=0.55), until=time.perf_counter() + 20.0
    )
    assert (safest.boat, safest.readiness) == ("Alba", pytest.approx(0.5))


@pytest.mark.usefixtures("_place_by_place")
def test_floors_above_what_there_is_for_all_boats_together():
    offers = (make_offer(pack=2, most=2),)
    parts = [
        make_part(make_choice(2), floor=2, boat=boat, offers=offers)
        for boat in ("Alba", "Bora", "Cora")
    ]
    choices = make_choices(*parts)
    (clash,) = clashes_of(choices)
    assert clash.text == (
        "the boats of Alba, Bora and Cora need 6 of seal beside what is aboard, and only 4 can be "
        "had"
    )
    assert clash.remedies[0][0].text == (
        "have chandler sell 3 packs of 2 of seal, 1 more than it has"
    )
    assert solve_program(mend_all(choices, [clash]), gap=0.0, seconds=30.0).picked


@pytest.mark.usefixtures("_place_by_place")
def test_budget_of_many_places_is_the_least_they_spend_and_a_cent_less_does_not_do():
    choices = replace(make_fleet_market(4, 8, budget=0.9), budget=10.0)
    clashes = clashes_of(choices)
    change = clashes[-1].remedies[0][0]
    assert (change.limit, change.proven) == ("fleet budget", True)
    mended = mend_all(choices, clashes)
    assert Eased(mended).is_possible((), seconds=30.0)
    less = replace(mended, budget=change.needed - 0.05)
    assert not Eased(less).is_possible((), seconds=30.0)


def tight(seed):
    """Return three boats by themselves, one of them with too little room for all that is asked."""
    choices = make_market(3, 8, seed=seed, shared=False, load=0.35, readiness=0.6, budget=0.7)
    limits = {boat: replace(each, litres=None) for boat, each in choices.boats.items()}
    return replace(choices, boats=limits)


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_other_remedies_told_of_a_large_fleet_mend_it(seed, monkeypatch):
    """What is told place by place is checked against one program of the whole fleet."""
    choices = tight(seed)
    with monkeypatch.context() as patched:
        for room in (clashes_room, least_room):
            patched.setattr(room, "MANY", 0)
        clashes = clashes_of(choices)
    firsts = [clash.remedies[0] for clash in clashes if clash.remedies]
    for number, clash in enumerate(clashes):
        for remedy in clash.remedies:
            mended = choices
            for other, first in enumerate(firsts):
                mended = mended if other == number else mend(mended, first)
            assert all(change.checked for change in remedy)
            assert Eased(mend(mended, remedy)).is_possible((), seconds=30.0), remedy


def test_remedies_say_that_they_were_not_checked_where_there_was_no_time(monkeypatch):
    def give_up(*_, **__):
        raise OutOfTime

    monkeypatch.setattr(Spending, "is_possible", give_up)
    part = make_part(make_choice(2), floor=2, kg=3.0, litres=1.0)
    (clash,) = clashes_of(make_choices(part, limits={"Alba": {"kg": 4.5}}))
    assert [change.checked for (change,) in clash.remedies] == [True, False]


@pytest.mark.parametrize("seed", range(12))
def test_boat_that_is_said_to_keep_her_limits_keeps_them(seed):
    choices = make_market(4, 10, seed=seed, load=0.3, readiness=0.4)
    told = {boat: may_clash(take_boat(choices, boat)) for boat in choices.boats}
    possible = {
        boat: Eased(take_boat(choices, boat)).is_possible((), seconds=30.0) for boat in told
    }
    assert all(told[boat] or possible[boat] for boat in told)


def test_quick_look_tells_apart_boats_that_can_from_boats_that_cannot():
    met = {
        (may_clash(alone), Eased(alone).is_possible((), seconds=30.0))
        for seed in range(4)
        for choices in (make_market(3, 10, seed=seed, load=0.1, readiness=0.7),)
        for alone in (take_boat(choices, boat) for boat in choices.boats)
    }
    assert {(False, True), (True, False)} <= met


def test_time_to_tell_what_clashes_is_kept(monkeypatch):
    monkeypatch.setattr(solve_room, "LEAST_SECONDS", 1.0)
    choices = make_market(25, 25, shared=False, load=0.2, readiness=0.9, budget=0.1)
    started = time.perf_counter()
    clashes = clashes_of(choices, seconds=1.0)
    # 1 s to solve and 1 s to tell, and what steps take that cannot be stopped, on a busy machine.
    assert time.perf_counter() - started < 15.0
    assert all(clash.remedies for clash in clashes) or "more may clash" in clashes[-1].text


def test_more_clashes_than_are_told_are_not_said_to_be_all():
    parts = [
        make_part(make_choice(2), floor=2, boat=f"B{number:02d}", kg=3.0) for number in range(25)
    ]
    clashes = clashes_of(make_choices(*parts, limits={p.boat: {"kg": 4.0} for p in parts}))
    assert len(clashes) == 21
    assert clashes[-1].text == "more may clash: these are the first 20 found"
    told = explain(NoPlanError(clashes))
    assert told.startswith("No plan keeps all the limits. What clashes, as far as it is known, and")


def test_limits_of_many_boats_are_named_together():
    boats = [f"B{number:02d}" for number in range(9)]
    choices = make_choices(
        *(make_part(make_choice(1), boat=boat) for boat in boats),
        limits={boat: {"kg": 4.0, "budget": 5.0} for boat in boats},
        readiness=0.9,
    )
    eases = [Ease("readiness"), *(Ease("kg", boat) for boat in boats), Ease("boat budget", "B03")]
    assert tell_many("the fleet", eases, replace(choices, currency="EUR")) == (
        "the fleet cannot keep a readiness of 90 %, the limits in kg of B00, B01, B02 and 6 more "
        "and the budget of 5.00 EUR of B03 together"
    )
    told = list_limits(choices)
    assert "B02: 4.0 kg, a budget of 5.00; 6 more boats with limits of their own" in told
    assert len(told) < 400


@pytest.mark.usefixtures("_place_by_place")
def test_with_little_time_left_the_safest_plan_known_is_told_at_once():
    ways = (make_choice(0, shortage_chance=0.6), make_choice(1))
    boats = ("Alba", "Bora", "Cora")
    offers = (make_offer(most=2),)
    parts = [make_part(*ways, boat=boat, stops=True, offers=offers) for boat in boats]
    choices = make_choices(*parts, readiness=0.9)
    clash, rest = find_clashes(choices, seconds=20.0, whole=15.0)
    assert clash.remedies[0][0].needed == 0.4
    assert "more may clash" in rest.text
    (unknown,) = find_clashes(choices, seconds=20.0, whole=60.0)
    assert "the time was up before it was known which clash" in unknown.text
