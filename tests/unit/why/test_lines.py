"""What the last piece saves and what stops one more, on cases worked by hand."""

from dataclasses import replace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part
from why_builders import ledger_of, solve

from stockopt.program.solution import Bought
from stockopt.program.solve import solve_program
from stockopt.sourcing import Charges
from stockopt.why.lines import explain_lines, explain_shelves

# 0, 1, 2 seals: the first saves 60, the second 20; each costs 10.
SEALS = (make_choice(0, 100.0), make_choice(1, 40.0), make_choice(2, 20.0))


def explain(choices):
    """Return the reasons of each line of the best plan, by part."""
    solution = solve(choices)
    return {why.part: why for why in explain_lines(ledger_of(solution, choices))}


def test_the_last_piece_saves_what_it_takes_off_and_one_more_brings_nothing():
    why = explain(make_choices(make_part(*SEALS)))["seal"]
    assert (why.last_pieces, why.last_saves) == (1, 20.0)
    assert (why.more_pieces, why.more_saves, why.more_cost) == (0, None, None)
    assert why.stopped_by == ("brings nothing more",)


def test_one_more_that_saves_less_than_it_costs_is_not_worth_its_price():
    part = make_part(*SEALS, offers=(make_offer(landed=25.0),), kg=0.5)
    why = explain(make_choices(part))["seal"]
    assert (why.last_saves, why.more_saves, why.more_cost, why.more_spend) == (60.0, 20.0, 25.0, 25)
    assert (why.more_kg, why.more_from) == (0.5, "chandler")
    assert why.stopped_by == ("not worth its price",)


@pytest.mark.parametrize(
    ("limits", "fleet", "stop"),
    [
        ({"kg": 2.5}, None, "her kilos"),
        ({"litres": 2.5}, None, "her litres"),
        ({"budget": 15.0}, None, "her budget"),
        ({}, 15.0, "the fleet's budget"),
    ],
)
def test_a_limit_that_stops_a_piece_worth_having_is_named(limits, fleet, stop):
    part = make_part(*SEALS, kg=2.0, litres=2.0)
    why = explain(make_choices(part, limits={"Alba": limits}, budget=fleet))["seal"]
    assert (why.last_saves, why.more_saves, why.more_cost) == (60.0, 20.0, 10.0)
    assert why.stopped_by == (stop,)


def test_all_the_limits_in_the_way_are_named():
    part = make_part(*SEALS, kg=2.0)
    why = explain(make_choices(part, limits={"Alba": {"kg": 2.5}}, budget=15.0))["seal"]
    assert why.stopped_by == ("her kilos", "the fleet's budget")


def test_a_limit_is_not_blamed_for_a_piece_not_worth_its_price():
    part = make_part(*SEALS, kg=2.0, offers=(make_offer(landed=25.0),))
    why = explain(make_choices(part, limits={"Alba": {"kg": 2.5}}))["seal"]
    assert why.stopped_by == ("not worth its price",)


def test_pieces_carried_as_a_floor_say_so():
    part = make_part(*SEALS[1:], floor=1, offers=(make_offer(landed=25.0),))
    why = explain(make_choices(part))["seal"]
    assert (why.last_saves, why.at_floor) == (None, True)


def test_nothing_in_time_and_nothing_left_at_the_source_are_told_apart():
    none = make_part(*SEALS, offers=())
    assert explain(make_choices(none))["seal"].stopped_by == ("nothing can bring it in time",)
    few = make_part(*SEALS, offers=(make_offer(most=1),))
    why = explain(make_choices(few))["seal"]
    assert (why.last_saves, why.more_cost) == (60.0, 10.0)
    assert why.stopped_by == ("most available",)


def test_a_dearer_source_is_the_price_where_the_cheap_one_has_no_more():
    offers = (make_offer(most=1), make_offer(landed=30.0, source="mail"))
    why = explain(make_choices(make_part(*SEALS, offers=offers)))["seal"]
    assert (why.more_cost, why.more_from) == (30.0, "mail")
    assert why.stopped_by == ("most available",)


def test_readiness_kept_without_it_is_told_and_one_that_forbids_less_money_is_a_limit():
    chances = (0.5, 0.1, 0.05)
    choices = [
        make_choice(choice.carry, choice.later_cost, shortage_chance=chance)
        for choice, chance in zip(SEALS, chances, strict=True)
    ]
    part = make_part(*choices, stops=True, offers=(make_offer(landed=25.0),))
    why = explain(make_choices(part, readiness=0.8))["seal"]
    assert why.stopped_by == ("not worth its price", "readiness reached without it")


def test_one_more_counts_the_whole_pack_less_what_is_left_of_it():
    part = make_part(*SEALS, offers=(make_offer(landed=10.0, pack=3),), leftover=4.0)
    choices = make_choices(part, limits={"Alba": {"budget": 20.0}})
    why = explain(choices)["seal"]
    # A pack of 3 is 30, of which 2 stay worth 4 each.
    assert (why.more_saves, why.more_cost, why.more_spend) == (60.0, 22.0, 30.0)
    assert why.stopped_by == ("her budget",)


def test_one_more_counts_the_charges_of_an_order_not_placed_and_its_minimum():
    charges = Charges(per_order=8.0, handling=2.0, free_freight_from=None, minimum_order=25.0)
    part = make_part(make_choice(0, 30.0), make_choice(1, 0.0), leftover=1.0)
    why = explain(make_choices(part, charges={("chandler", "Alba"): charges}))["seal"]
    # Three at 10 to reach the minimum, two of them left over, and 10 of charges.
    assert (why.more_saves, why.more_cost, why.more_spend) == (30.0, 38.0, 40.0)
    assert why.stopped_by == ("not worth its price",)


def test_a_piece_left_of_a_pack_or_in_the_store_costs_what_it_would_be_worth_unused():
    part = make_part(*SEALS, offers=(), leftover=3.0, kg=2.0)
    choices = make_choices(
        part, limits={"Alba": {"place": "store", "kg": 2.0}}, stock={("store", "seal"): 5}
    )
    why = explain(choices)["seal"]
    assert (why.more_cost, why.more_spend, why.more_from) == (3.0, 0.0, "")
    assert why.stopped_by == ("her kilos",)


def test_one_more_of_what_another_change_uses_up_is_bought_in_its_place():
    # Of three gaskets one goes with the impeller replaced now, and 1 of worth with it; to carry the
    # third as well another is bought at 7 to be used up.
    impeller = make_part(make_choice(0, 50.0, replace_now=1), part="impeller", uses=(("seal", 1),))
    seals = (make_choice(2, 20.0), make_choice(3, 18.0))
    gasket = make_part(*seals, on_hand=3, offers=(make_offer(landed=7.0),))
    why = explain(make_choices(impeller, gasket))["seal"]
    assert (why.more_saves, why.more_cost, why.more_from) == (2.0, 6.0, "chandler")
    assert why.stopped_by == ("not worth its price",)


def test_a_number_asked_for_is_its_own_reason():
    part = make_part(SEALS[1], pin=1)
    assert explain(make_choices(part))["seal"].stopped_by == ("the number asked for",)


def test_what_a_plan_proven_to_a_gap_leaves_lying_is_told_as_that():
    part = make_part(*SEALS)
    choices = make_choices(part)
    best = solve_program(choices, gap=0.0, seconds=10.0)
    (pick,) = best.picked
    worse = replace(
        best,
        picked=(replace(pick, choice=1, bought=((part.offers[0], 1),)),),
        bought=(Bought(place="Alba", offer=part.offers[0], packs=1),),
    )
    (why,) = explain_lines(ledger_of(worse, choices))
    assert (why.more_saves, why.more_cost) == (20.0, 10.0)
    assert why.stopped_by == ("within the gap",)


def test_the_level_of_a_store_has_its_reasons_under_the_store_s_name():
    shelf = make_part(
        make_choice(0, 100.0),
        make_choice(1, 60.0),
        make_choice(2, 45.0),
        boat="Shed, shelf",
        offers=(make_offer("seal", 20.0),),
    )
    choices = make_choices(shelf, limits={"Shed, shelf": {"place": "Shed", "shelf_of": "Shed"}})
    solution = solve(choices)
    ledger = ledger_of(solution, choices)
    (why,) = explain_shelves(ledger)
    assert (why.boat, why.part) == ("Shed", "seal")
    assert (why.last_pieces, why.last_saves) == (1, 40.0)
    assert (why.more_pieces, why.more_saves, why.more_cost) == (1, 15.0, 20.0)
    assert why.stopped_by == ("not worth its price",)
    assert explain_lines(ledger) == ()
