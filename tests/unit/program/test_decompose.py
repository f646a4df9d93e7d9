"""Many places taken apart and put together, against one model of the whole."""

from collections import Counter
from dataclasses import replace

import pytest
from program_builders import (
    make_choice,
    make_choices,
    make_offer,
    make_part,
    plan_of,
    random_choices,
)
from program_fleets import join_choices, make_fleet_market
from program_plain import solve_plain

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError, SolverError
from stockopt.plan_check import check_plan
from stockopt.program import decompose, place_solve, solve
from stockopt.program.decompose import solve_by_places
from stockopt.program.pick import find_costs, find_free_freight
from stockopt.program.places import split_by_place
from stockopt.program.solve import solve_program
from stockopt.program.whole import Found

GAP = 1e-6


def total_of(found: Found, choices: Choices) -> float:
    free_freight = find_free_freight(choices, found.bought)
    return sum(find_costs(choices, found.picked, found.bought, free_freight))


def plain_least(choices: Choices) -> float:
    return total_of(solve_plain(choices, gap=0.0, seconds=30.0), choices)


def random_fleet(seed: int) -> Choices:
    """Return two to four random fleets of one or two boats, most with a budget for all.

    In every second, no price is like another fleet's, so that no source's packs join the fleets;
    in the others a source has two cheap pieces for all of them together.
    """
    fleets = [random_choices(7 * seed + k) for k in range(2 + seed % 3)]
    budgets = [fleet.budget for fleet in fleets if fleet.budget is not None]
    joined = join_choices(fleets, budget=0.8 * sum(budgets) if budgets else None)
    most: dict[tuple[str, str, int, float], int | None] = {}
    for part in joined.parts:
        for offer in part.offers:
            key = (offer.source, offer.part, offer.pack, offer.price)
            most[key] = offer.most if most.get(key) is None else most[key]
    scarce = [make_offer("seal", 6.0, most=2)] * (1 - seed % 2)
    parts = []
    for part in joined.parts:
        more = 1.0 + (seed % 2) * int(part.boat[:3]) / 64.0
        offers = [
            replace(
                offer,
                price=offer.price * more,
                landed=offer.landed * more,
                most=most[offer.source, offer.part, offer.pack, offer.price],
            )
            for offer in part.offers
        ]
        offers += scarce if part.part == "seal" else []
        parts.append(replace(part, offers=tuple(offers)))
    return replace(joined, parts=tuple(parts))


@pytest.mark.parametrize("seed", range(120))
def test_places_taken_apart_cost_what_one_model_says(seed):
    choices = random_fleet(seed)
    try:
        least = plain_least(choices)
    except NoPlanError:
        with pytest.raises((NoPlanError, SolverError)):
            solve_by_places(choices, gap=GAP, seconds=20.0)
        return
    found = solve_by_places(choices, gap=GAP, seconds=20.0)
    assert found.bound <= least + 1e-6 * max(1.0, abs(least))
    assert total_of(found, choices) >= least - 1e-6


@pytest.mark.parametrize("seed", range(120))
def test_large_fleets_are_solved_to_the_gap_or_as_one(seed, monkeypatch):
    monkeypatch.setattr(solve, "MANY", 0)
    choices = random_fleet(seed)
    try:
        least = plain_least(choices)
    except NoPlanError:
        with pytest.raises(NoPlanError):
            solve_program(choices, gap=GAP, seconds=20.0)
        return
    solution = solve_program(choices, gap=GAP, seconds=20.0)
    assert solution.status in ("optimal", "within gap")
    assert solution.objective == pytest.approx(least, rel=2 * GAP, abs=2 * GAP)
    assert solution.bound <= least + 1e-6
    check_plan(plan_of(solution, choices), solution, choices)


def test_random_fleets_hold_every_coupling():
    met: Counter[str] = Counter()
    for seed in range(120):
        choices = random_fleet(seed)
        places = split_by_place(choices)
        met["taken apart"] += len(places) > 1
        met["kept together by scarce packs"] += len(places) < 2 + seed % 3
        met["boats alone"] += any(len(place.boats) == 1 for place in places)
        met["boats of one store"] += any(len(place.boats) > 1 for place in places)
        met["stock"] += bool(choices.stock)
        met["budget"] += choices.budget is not None
        met["free freight"] += any(c.free_freight_from for c in choices.charges.values())
        met["minimum order"] += any(c.minimum_order for c in choices.charges.values())
        met["packs"] += any(o.pack > 1 for part in choices.parts for o in part.offers)
        met["most"] += any(o.most for part in choices.parts for o in part.offers)
    assert min(met.values()) >= 20, met


def test_fleet_is_split_into_all_its_parts_and_limits():
    choices = make_fleet_market(7, 5, a_place=3)
    places = split_by_place(choices)
    assert [len(place.boats) for place in places] == [3, 3, 1]
    assert sorted((part.boat, part.part) for place in places for part in place.parts) == sorted(
        (part.boat, part.part) for part in choices.parts
    )
    assert all(place.budget is None and place.readiness == choices.readiness for place in places)


def test_places_that_share_scarce_packs_stay_together():
    scarce = make_offer(most=1)
    boats = [
        make_part(make_choice(0, 90.0), make_choice(1, 10.0), boat=boat, offers=(scarce,))
        for boat in ("Alba", "Bora")
    ]
    other = make_part(make_choice(1, 5.0), boat="Cora")
    choices = make_choices(*boats, other)
    assert [sorted(place.boats) for place in split_by_place(choices)] == [
        ["Alba", "Bora"],
        ["Cora"],
    ]
    found = solve_by_places(choices, gap=0.0, seconds=10.0)
    assert total_of(found, choices) == pytest.approx(10.0 + 10.0 + 90.0 + 10.0 + 5.0)


def test_medium_fleet_is_within_the_gap_and_the_same_every_time():
    choices = make_fleet_market(10, 15, budget=0.8)
    found = solve_by_places(choices, gap=5e-4, seconds=30.0)
    total = total_of(found, choices)
    assert total - found.bound <= 5e-4 * total
    turned = replace(choices, parts=tuple(reversed(choices.parts)))
    again = solve_by_places(turned, gap=5e-4, seconds=30.0)
    assert again.picked == found.picked
    assert again.bought == found.bought


def test_budget_that_not_even_broken_pieces_keep_is_no_plan(monkeypatch):
    monkeypatch.setattr(solve, "MANY", 0)
    parts = [make_part(make_choice(2, 0.0), boat=boat) for boat in ("Alba", "Bora")]
    with pytest.raises(NoPlanError, match=r"10\.00 over the budget of 30\.00"):
        solve_program(make_choices(*parts, budget=30.0), gap=0.0, seconds=5.0)


def make_two_boats(budget: float) -> Choices:
    """Return boats that each need one piece at 10.00; half a piece would keep their readiness."""
    ways = (make_choice(0, 3.0, shortage_chance=1.0), make_choice(1, 0.0))
    parts = [make_part(*ways, boat=boat, stops=True) for boat in ("Alba", "Bora")]
    return make_choices(*parts, budget=budget, readiness=0.9)


def test_budget_that_whole_pieces_exceed_is_no_plan_although_broken_ones_keep_it(monkeypatch):
    monkeypatch.setattr(solve, "MANY", 0)
    monkeypatch.setattr(solve, "TOO_MANY", 0)
    with pytest.raises(NoPlanError):
        solve_program(make_two_boats(15.0), gap=1e-4, seconds=20.0)
    assert solve_program(make_two_boats(20.0), gap=1e-4, seconds=20.0).objective == 20.0


def test_plan_that_spends_least_is_found_where_no_price_leads_to_one(monkeypatch):
    monkeypatch.setattr(decompose, "_MOST_ROUNDS", 0)
    monkeypatch.setattr(decompose, "find_multiplier", lambda spend, budget: 0.0)
    ways = (make_choice(0, 50.0), make_choice(1, 10.0), make_choice(2, 0.0, replace_now=0))
    parts = [make_part(*ways, boat=boat) for boat in ("Alba", "Bora", "Cora")]
    choices = make_choices(*parts, budget=25.0)
    found = solve_by_places(choices, gap=1e-4, seconds=20.0)
    assert total_of(found, choices) >= plain_least(choices) - 1e-6
    assert found.bound <= plain_least(choices) + 1e-6


def test_time_that_is_up_leaves_the_best_plan_with_its_gap(monkeypatch):
    monkeypatch.setattr(solve, "MANY", 0)
    monkeypatch.setattr(solve, "TOO_MANY", 0)
    choices = make_fleet_market(12, 20, budget=2.0)
    solution = solve_program(choices, gap=0.0, seconds=0.01)
    assert solution.gap == pytest.approx((solution.objective - solution.bound) / solution.objective)
    assert solution.bound <= solution.objective
    check_plan(plan_of(solution, choices), solution, choices)


def test_no_whole_numbers_are_searched_for_where_no_limit_binds(monkeypatch):
    def search(*_, **__):
        raise AssertionError("searched")

    monkeypatch.setattr(place_solve, "_solve_some", search)
    ways = (make_choice(0, 50.0), make_choice(1, 10.0), make_choice(2, 3.0))
    parts = [
        make_part(*ways, boat=boat, part=part, kg=1.0, offers=(make_offer(part, 30.0),))
        for boat in ("Alba", "Bora")
        for part in ("belt", "seal")
    ]
    found = solve_by_places(make_choices(*parts, budget=500.0), gap=0.0, seconds=10.0)
    assert found.bound == pytest.approx(160.0)
    assert [pick.choice for pick in found.picked] == [1, 1, 1, 1]
    tight = make_choices(*parts, limits={"Alba": {"kg": 1.5}})
    with pytest.raises(AssertionError, match="searched"):
        solve_by_places(tight, gap=0.0, seconds=10.0)
