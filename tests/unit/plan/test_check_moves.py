"""The certificate of a plan, for what is used up, moved, sold in sets, out of date, or met."""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part, plan_of

from stockopt.choices.choices import Ahead
from stockopt.plan_check import PlanCheckError, check_plan
from stockopt.program.solve import solve_program
from stockopt.sourcing import KitPiece

KIT = make_offer(
    "kit",
    14.0,
    contents=(
        KitPiece(part="gasket", quantity=2, landed=2.0),
        KitPiece(part="impeller", quantity=1, landed=10.0),
    ),
)
POST = make_offer("filter", 9.0, source="post", kind="mail", port="Horta")


@pytest.fixture(scope="module")
def checked():
    """Alba changes an impeller and meets a filter; Bora has gaskets to spare and an old flare."""
    impeller = make_part(
        make_choice(0, 90.0),
        make_choice(0, 0.0, replace_now=1),
        part="impeller",
        uses=(("gasket", 2),),
        offers=(KIT,),
    )
    gasket = make_part(make_choice(1, 0.0), part="gasket", on_hand=2, expiring=1, offers=(KIT,))
    filters = make_part(
        make_choice(0, 90.0),
        make_choice(0, 5.0, ahead=1, ahead_at="Horta"),
        part="filter",
        kg=2.0,
        offers=(),
        ahead=(Ahead(port="Horta", arrives_on=date(2031, 6, 1), offers=(POST,)),),
    )
    spare = make_part(
        make_choice(0, 0.0),
        boat="Bora",
        part="gasket",
        on_hand=3,
        movable=1,
        leftover=1.5,
        offers=(),
    )
    flare = make_part(
        make_choice(1, 40.0, own_left=0),
        make_choice(1, 0.0, own_left=1),
        boat="Bora",
        part="flare",
        on_hand=1,
        expiring=1,
    )
    limits = {boat: {"harbour": "Porto", "kg": 4.0} for boat in ("Alba", "Bora")}
    choices = make_choices(
        impeller,
        gasket,
        filters,
        spare,
        flare,
        limits=limits,
        charges={("post", "Alba in Horta"): make_choices(spare_part()).charges["chandler", "Alba"]},
    )
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    return SimpleNamespace(choices=choices, solution=solution, plan=plan_of(solution, choices))


def spare_part():
    return make_part(make_choice())


def picks_of(checked):
    return {(pick.boat, pick.part): pick for pick in checked.solution.picked}


def complaint(checked, boat, part, **changes):
    """Return what is said of the plan when one pick is another."""
    picked = tuple(
        replace(pick, **changes) if (pick.boat, pick.part) == (boat, part) else pick
        for pick in checked.solution.picked
    )
    solution = replace(checked.solution, picked=picked)
    with pytest.raises(PlanCheckError) as raised:
        check_plan(checked.plan, solution, checked.choices)
    return str(raised.value)


def part_complaint(checked, boat, part, **changes):
    """Return what is said of the plan when one part is another than it was made for."""
    parts = tuple(
        replace(one, **changes) if (one.boat, one.part) == (boat, part) else one
        for one in checked.choices.parts
    )
    choices = replace(checked.choices, parts=parts)
    with pytest.raises(PlanCheckError) as raised:
        check_plan(plan_of(checked.solution, choices), checked.solution, choices)
    return str(raised.value)


def test_the_plan_passes_and_makes_use_of_all(checked):
    check_plan(checked.plan, checked.solution, checked.choices)
    lines = {(line.boat, line.part): line for line in checked.plan.carry}
    gasket = lines["Alba", "gasket"]
    # one of her own is carried, the other expires: two are used up, none of them that one
    assert (gasket.used_up, gasket.moved, gasket.buy) == (2, 0, 2)
    assert lines["Bora", "flare"].own_left == 1
    assert lines["Alba", "filter"].ahead_on == date(2031, 6, 1)
    assert [(line.place, line.part, line.pieces) for line in checked.plan.orders] == [
        ("Alba", "kit", 1),
        ("Alba in Horta", "filter", 1),
        ("Bora", "flare", 1),
    ]
    # one set brings the impeller and both gaskets; Bora's are worth more where they are
    assert checked.plan.cost.expected_later == pytest.approx(5.0)
    assert checked.plan.cost.spend_now == pytest.approx(14.0 + 9.0 + 10.0)


def test_pieces_used_up_must_be_brought(checked):
    bought = picks_of(checked)["Alba", "gasket"].bought
    fewer = tuple((offer, 1) for offer, _ in bought)
    assert "2 pieces for 3 wanted" in complaint(checked, "Alba", "gasket", bought=fewer)


def test_more_than_a_set_holds_is_caught(checked):
    more = ((KIT, 5),)
    assert "5 of gasket used, more than bought" in complaint(checked, "Alba", "gasket", bought=more)


def test_a_piece_that_expires_is_used_up_for_nothing_else(checked):
    words = complaint(checked, "Alba", "gasket", own=2, bought=((KIT, 1),))
    assert "1 own pieces used up and 0 given away, 0 to spare" in words


def test_no_more_is_moved_than_can_be(checked):
    moved = complaint(checked, "Alba", "gasket", near=(("Bora", 2),), bought=())
    assert "2 pieces given away, 1 can be moved" in moved


def test_nothing_is_moved_from_another_harbour(checked):
    boats = {
        **checked.choices.boats,
        "Bora": replace(checked.choices.boats["Bora"], harbour="Isla"),
    }
    choices = replace(checked.choices, boats=boats)
    picked = tuple(
        replace(pick, near=(("Bora", 1),), bought=((KIT, 1),))
        if (pick.boat, pick.part) == ("Alba", "gasket")
        else pick
        for pick in checked.solution.picked
    )
    solution = replace(checked.solution, picked=picked)
    with pytest.raises(PlanCheckError, match="Bora, which is not in her harbour"):
        check_plan(plan_of(solution, choices), solution, choices)


def test_what_meets_her_is_what_was_chosen(checked):
    assert "1 pieces are to meet her in Horta" in complaint(checked, "Alba", "filter", met=())
    other = replace(POST, price=1.0)
    assert "cannot meet her in Horta" in complaint(checked, "Alba", "filter", met=((other, 1),))


def test_pieces_that_expire_are_left_all_or_none(checked):
    words = part_complaint(checked, "Bora", "flare", on_hand=3, expiring=3)
    assert "1 of 3 pieces that expire left ashore" in words


def test_an_order_that_meets_her_is_there_on_the_day(checked):
    ahead = checked.choices.parts[2].ahead[0]
    late = replace(ahead, arrives_on=ahead.arrives_on + timedelta(days=1))
    parts = tuple(
        replace(part, ahead=(late,)) if part.part == "filter" else part
        for part in checked.choices.parts
    )
    choices = replace(checked.choices, parts=parts)
    with pytest.raises(PlanCheckError, match="arrives_by"):
        check_plan(checked.plan, checked.solution, choices)


def test_weight_counts_everything_aboard(checked):
    boats = {**checked.choices.boats, "Alba": replace(checked.choices.boats["Alba"], kg=1.9)}
    choices = replace(checked.choices, boats=boats)
    with pytest.raises(PlanCheckError, match=r"Alba, kg: 2.0 is over the limit of 1.9"):
        check_plan(plan_of(checked.solution, choices), checked.solution, choices)
