"""The program on instances worked by hand."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from highspy import SolutionStatus
from program_builders import make_choice, make_choices, make_offer, make_part, plan_of
from program_market import make_market

from stockopt.errors import SolverError
from stockopt.plan_check import check_plan
from stockopt.program.solve import solve_program
from stockopt.program.ties import SCALE
from stockopt.sourcing import Charges


def solve(choices, gap=0.0):
    solution = solve_program(choices, gap=gap, seconds=30.0)
    check_plan(plan_of(solution, choices), solution, choices)
    return solution


def orders_of(solution):
    return [
        (line.place, line.offer.source, line.offer.part, line.packs) for line in solution.bought
    ]


def charges(per_order=0.0, handling=0.0, free_freight_from=None, minimum_order=None):
    return Charges(
        per_order=per_order,
        handling=handling,
        free_freight_from=free_freight_from,
        minimum_order=minimum_order,
    )


# --- nothing much to decide ---------------------------------------------------------------------


def test_no_boats_is_an_empty_plan():
    solution = solve(make_choices())
    assert (solution.status, solution.objective, solution.picked) == ("optimal", 0.0, ())


def test_boat_without_parts_is_an_empty_plan():
    assert solve(make_choices(limits={"Alba": {"kg": 5.0}})).picked == ()


def test_single_choice_is_taken():
    solution = solve(make_choices(make_part(make_choice(2, 5.0))))
    assert solution.objective == pytest.approx(25.0)
    assert orders_of(solution) == [("Alba", "chandler", "seal", 2)]


def test_part_without_offers_keeps_what_is_aboard():
    part = make_part(make_choice(0, 50.0), make_choice(1, 20.0), make_choice(2, 0.0), on_hand=1)
    (pick,) = solve(make_choices(replace(part, offers=()))).picked
    assert (pick.choice, pick.own, pick.moved, pick.bought) == (1, 1, 0, ())


def test_costs_that_only_differ_in_sign_are_fine():
    choices = make_choices(make_part(make_choice(0, -5.0), make_choice(1, -14.0)))
    assert solve(choices).objective == pytest.approx(-5.0)


# --- where pieces come from ---------------------------------------------------------------------


def test_own_pieces_go_first_then_the_store_then_the_source():
    part = make_part(make_choice(4, 0.0), on_hand=1, leftover=3.0)
    choices = make_choices(part, limits={"Alba": {"place": "store"}}, stock={("store", "seal"): 2})
    (pick,) = solve(choices).picked
    assert (pick.own, pick.moved, sum(n for _, n in pick.bought)) == (1, 2, 1)


def test_boats_share_what_the_store_has():
    parts = [make_part(make_choice(2, 0.0), boat=boat) for boat in ("Alba", "Bora")]
    limits = {boat: {"place": "store"} for boat in ("Alba", "Bora")}
    solution = solve(make_choices(*parts, limits=limits, stock={("store", "seal"): 3}))
    assert sum(pick.moved for pick in solution.picked) == 3
    assert orders_of(solution) == [("store", "chandler", "seal", 1)]


def test_boats_of_a_store_share_a_pack():
    offer = make_offer(landed=10.0, pack=6)
    parts = [
        make_part(make_choice(3, 0.0), boat=boat, offers=(offer,)) for boat in ("Alba", "Bora")
    ]
    shared = {boat: {"place": "store"} for boat in ("Alba", "Bora")}
    assert orders_of(solve(make_choices(*parts, limits=shared))) == [
        ("store", "chandler", "seal", 1)
    ]
    assert len(orders_of(solve(make_choices(*parts)))) == 2


def test_a_source_has_no_more_for_two_places_than_for_one():
    scarce = make_offer(landed=10.0, source="scarce", most=3)
    plenty = make_offer(landed=30.0, source="plenty")
    parts = [
        make_part(make_choice(2, 0.0), boat=boat, offers=(scarce, plenty))
        for boat in ("Alba", "Bora")
    ]
    solution = solve(make_choices(*parts))
    assert solution.objective == pytest.approx(3 * 10.0 + 30.0)


def test_what_is_sold_out_is_not_bought():
    sold_out = make_offer(landed=1.0, source="sold out", most=0)
    part = make_part(make_choice(1, 0.0), offers=(sold_out, make_offer(landed=9.0)))
    assert solve(make_choices(part)).objective == pytest.approx(9.0)


def test_surplus_pieces_are_credited_once():
    part = make_part(make_choice(1, 0.0), offers=(make_offer(landed=10.0, pack=3),), leftover=4.0)
    assert solve(make_choices(part)).objective == pytest.approx(30.0 - 2 * 4.0)


# --- orders -------------------------------------------------------------------------------------


def test_order_is_placed_only_where_it_pays():
    mail = make_offer(landed=6.0, source="mail")
    part = make_part(make_choice(2, 0.0), offers=(mail, make_offer(landed=10.0)))
    dear = make_choices(part, charges={("mail", "Alba"): charges(per_order=9.0)})
    cheap = make_choices(part, charges={("mail", "Alba"): charges(per_order=7.0)})
    assert orders_of(solve(dear)) == [("Alba", "chandler", "seal", 2)]
    assert orders_of(solve(cheap)) == [("Alba", "mail", "seal", 2)]


def test_extra_packs_reach_free_freight_where_that_pays():
    part = make_part(make_choice(3, 0.0), offers=(make_offer(landed=10.0),), leftover=2.0)
    order = charges(per_order=20.0, handling=5.0, free_freight_from=40.0)
    solution = solve(make_choices(part, charges={("chandler", "Alba"): order}))
    assert orders_of(solution) == [("Alba", "chandler", "seal", 4)]
    assert solution.free_freight == {("chandler", "Alba")}
    assert solution.objective == pytest.approx(40.0 + 5.0 - 2.0)


def test_freight_is_paid_where_more_goods_would_cost_more():
    part = make_part(make_choice(1, 0.0), offers=(make_offer(landed=10.0),), leftover=2.0)
    order = charges(per_order=20.0, free_freight_from=40.0)
    solution = solve(make_choices(part, charges={("chandler", "Alba"): order}))
    assert solution.objective == pytest.approx(30.0)
    assert solution.free_freight == frozenset()


def test_a_part_that_nobody_wants_can_fill_an_order():
    wanted = make_part(make_choice(1, 0.0), offers=(make_offer(landed=10.0),))
    unwanted = make_part(
        make_choice(0, 0.0), part="belt", leftover=4.0, offers=(make_offer("belt", 5.0),)
    )
    order = charges(minimum_order=15.0)
    solution = solve(make_choices(wanted, unwanted, charges={("chandler", "Alba"): order}))
    assert orders_of(solution) == [("Alba", "chandler", "belt", 1), ("Alba", "chandler", "seal", 1)]


def test_a_part_is_split_over_sources_where_that_reaches_a_minimum():
    mail = make_offer(landed=8.0, source="mail", most=2)
    local = make_offer(landed=10.0, source="local")
    part = make_part(make_choice(4, 0.0), offers=(mail, local), leftover=0.0)
    order = charges(minimum_order=20.0)
    solution = solve(make_choices(part, charges={("local", "Alba"): order}))
    assert orders_of(solution) == [("Alba", "local", "seal", 2), ("Alba", "mail", "seal", 2)]


# --- limits -------------------------------------------------------------------------------------


def test_replaced_pieces_weigh_nothing():
    part = make_part(
        make_choice(0, 100.0, replace_now=3), make_choice(1, 0.0, replace_now=3), kg=2.0
    )
    tight = make_choices(part, limits={"Alba": {"kg": 1.9}})
    loose = make_choices(part, limits={"Alba": {"kg": 2.0}})
    assert solve(tight).picked[0].choice == 0
    assert solve(loose).picked[0].choice == 1


def test_boat_alone_pays_whole_packs_and_charges_from_her_budget():
    offers = (make_offer(landed=10.0, pack=2),)
    part = make_part(make_choice(0, 100.0), make_choice(1, 0.0), offers=offers)
    order = {("chandler", "Alba"): charges(per_order=5.0)}
    for budget, choice in ((24.9, 0), (25.0, 1)):
        choices = make_choices(part, limits={"Alba": {"budget": budget}}, charges=order)
        assert solve(choices).picked[0].choice == choice


def test_boat_at_a_store_pays_for_her_pieces_only():
    offers = (make_offer(landed=10.0, pack=2),)
    part = make_part(make_choice(0, 100.0), make_choice(1, 0.0), offers=offers)
    order = {("chandler", "store"): charges(per_order=5.0)}
    for budget, choice in ((9.9, 0), (10.0, 1)):
        limits = {"Alba": {"budget": budget, "place": "store"}}
        assert solve(make_choices(part, limits=limits, charges=order)).picked[0].choice == choice


def test_readiness_counts_stopping_parts_only():
    risky = [make_choice(0, 0.0, shortage_chance=0.2), make_choice(1, 0.0, shortage_chance=0.01)]
    stops = make_part(*risky, stops=True)
    limits_her = make_part(*risky, part="belt")
    solution = solve(make_choices(stops, limits_her, readiness=0.95))
    assert {pick.part: pick.choice for pick in solution.picked} == {"belt": 0, "seal": 1}


def test_certain_shortage_is_left_out_only_where_readiness_is_asked():
    part = make_part(make_choice(0, 0.0, shortage_chance=1.0), make_choice(1, 0.0), stops=True)
    assert solve(make_choices(part)).picked[0].choice == 0
    assert solve(make_choices(part, readiness=0.01)).picked[0].choice == 1


def test_readiness_of_one_takes_only_what_is_certain():
    part = make_part(make_choice(0, 0.0, shortage_chance=1e-5), make_choice(1, 0.0), stops=True)
    assert solve(make_choices(part, readiness=1.0)).picked[0].choice == 1


def test_boats_whose_names_differ_in_a_hyphen_only_are_two_boats():
    names = ("Sea Fox", "Sea-Fox")
    parts = [make_part(make_choice(1, 0.0), kg=1.0, boat=name) for name in names]
    solution = solve(make_choices(*parts, limits={name: {"kg": 5.0} for name in names}))
    assert [pick.boat for pick in solution.picked] == ["Sea Fox", "Sea-Fox"]


# --- how sure -----------------------------------------------------------------------------------


def test_bound_and_gap_are_what_was_asked_for():
    solution = solve(make_market(3, 12, readiness=None), gap=0.01)
    assert solution.status in ("optimal", "within gap")
    assert solution.bound <= solution.objective
    assert 0.0 <= solution.gap <= 0.01


def test_no_time_is_a_solver_error():
    with pytest.raises(SolverError, match="no plan within 0 s"):
        solve_program(make_market(4, 20, readiness=None), gap=0.0, seconds=0.0)


def test_time_that_ends_with_a_plan_is_called_stopped(monkeypatch):
    # The solver's bound is replaced: a real time-out with a plan in hand depends on the machine.
    choices = make_choices(make_part(make_choice(2, 80.0)))
    bound = SimpleNamespace(
        mip_dual_bound=SCALE * 90.0,
        primal_solution_status=SolutionStatus.kSolutionStatusFeasible,
    )
    monkeypatch.setattr("stockopt.program.highs.SilentHighs.getInfo", lambda solver: bound)
    solution = solve_program(choices, gap=0.001, seconds=5.0)
    assert (solution.status, solution.objective) == ("stopped", 100.0)
    assert solution.bound == pytest.approx(90.0, abs=1e-6)
    assert solution.gap == pytest.approx(0.1)


def test_solver_prints_nothing(capfd):
    solve(make_choices(make_part(make_choice(1, 5.0))))
    assert capfd.readouterr().out == ""
