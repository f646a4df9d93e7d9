"""Every kind of corruption of a plan is caught."""

import dataclasses
from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part, plan_of

from stockopt.plan_check import PlanCheckError, check_plan
from stockopt.program.solve import solve_program
from stockopt.sourcing import Charges

MAIL = Charges(per_order=12.0, handling=3.0, free_freight_from=24.0, minimum_order=20.0)


@pytest.fixture(scope="module")
def checked():
    """A plan with everything in it: two boats at a store, one alone, stock, packs, limits."""
    mail = make_offer(landed=10.0, price=8.0, source="mail", kind="mail", pack=3, most=4)
    local = make_offer(landed=25.0, source="local")
    parts = [
        make_part(
            make_choice(2, 40.0, replace_now=1, shortage_chance=0.1, expected_shortages=0.2),
            make_choice(3, 90.0),
            boat=boat,
            on_hand=1,
            floor=1,
            kg=0.5,
            litres=0.25,
            stops=True,
            leftover=4.0,
            offers=(mail, local),
        )
        for boat in ("Alba", "Bora", "Cora")
    ]
    limits = {
        "Alba": {"place": "store", "kg": 1.0, "litres": 0.5, "budget": 30.0},
        "Bora": {"place": "store"},
        "Cora": {"budget": 60.0},
    }
    choices = make_choices(
        *parts,
        limits=limits,
        charges={("mail", "store"): MAIL, ("mail", "Cora"): replace(MAIL, free_freight_from=99.0)},
        stock={("store", "seal"): 1},
        budget=200.0,
        readiness=0.9,
    )
    solution = solve_program(choices, gap=0.0, seconds=30.0)
    return SimpleNamespace(choices=choices, solution=solution, plan=plan_of(solution, choices))


def complaint(checked, **changes):
    given = {**vars(checked), **changes}
    with pytest.raises(PlanCheckError) as raised:
        check_plan(given["plan"], given["solution"], given["choices"])
    return str(raised.value)


def changed(lines, number, **fields):
    return (*lines[:number], replace(lines[number], **fields), *lines[number + 1 :])


def another(value):
    """Return a different value of the same kind."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, str):
        return value + "x"
    if isinstance(value, tuple):
        return (*value, "x")
    return 1.0 if value is None else value + timedelta(days=1)


def test_the_plan_itself_passes(checked):
    check_plan(checked.plan, checked.solution, checked.choices)


def corruptions():
    """Every field of every line, by the name of the plan's table."""
    from stockopt.plan import BoatLine, CarryLine, Cost, OrderCharge, OrderLine

    tables = {
        "boats": BoatLine,
        "carry": CarryLine,
        "orders": OrderLine,
        "charges": OrderCharge,
        "cost": Cost,
    }
    return [
        (table, field.name) for table, line in tables.items() for field in dataclasses.fields(line)
    ]


@pytest.mark.parametrize(("table", "field"), corruptions())
def test_any_changed_field_is_caught(checked, table, field):
    lines = getattr(checked.plan, table)
    if table == "cost":
        wrong = replace(lines, **{field: another(getattr(lines, field))})
    else:
        wrong = changed(lines, 0, **{field: another(getattr(lines[0], field))})
    complaint(checked, plan=replace(checked.plan, **{table: wrong}))


@pytest.mark.parametrize("table", ["boats", "carry", "orders", "charges"])
def test_a_line_left_out_or_doubled_is_caught(checked, table):
    lines = getattr(checked.plan, table)
    complaint(checked, plan=replace(checked.plan, **{table: lines[1:]}))
    complaint(checked, plan=replace(checked.plan, **{table: (*lines, lines[0])}))


@pytest.mark.parametrize("field", ["status", "bound", "gap"])
def test_what_the_solver_said_is_not_retold_otherwise(checked, field):
    wrong = replace(checked.plan, **{field: another(getattr(checked.plan, field))})
    assert field in complaint(checked, plan=wrong)


def test_objective_is_the_total_to_a_millionth(checked):
    objective = checked.solution.objective
    wrong = replace(checked.solution, objective=objective + 3e-6 * objective)
    assert "objective" in complaint(checked, solution=wrong)
    near = replace(checked.solution, objective=objective + 1e-8 * objective)
    check_plan(checked.plan, near, checked.choices)


def test_bound_above_the_objective_is_caught(checked):
    bound = checked.solution.objective + 1.0
    solution = replace(checked.solution, bound=bound, gap=-1.0)
    assert "above the objective" in complaint(
        checked, solution=solution, plan=replace(checked.plan, bound=bound)
    )


def with_limit(checked, boat, **limits):
    """Return what a plan made for other limits would be checked as under these."""
    boats = {**checked.choices.boats, boat: replace(checked.choices.boats[boat], **limits)}
    choices = replace(checked.choices, boats=boats)
    return {"choices": choices, "plan": plan_of(checked.solution, choices)}


@pytest.mark.parametrize(
    ("boat", "limits", "words"),
    [
        ("Alba", {"kg": 0.99}, "Alba, kg: 1.0 is over the limit of 0.99"),
        ("Alba", {"litres": 0.49}, "Alba, litres: 0.5 is over the limit of 0.49"),
        ("Alba", {"budget": 5.0}, "Alba, spending"),
        ("Cora", {"budget": 44.9}, "Cora, spending"),
    ],
)
def test_broken_limit_of_a_boat_is_caught(checked, boat, limits, words):
    assert words in complaint(checked, **with_limit(checked, boat, **limits))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"budget": 50.0}, "the fleet's spending"),
        ({"readiness": 0.91}, "is below 0.91"),
        ({"stock": {}}, "more than in stock"),
    ],
)
def test_broken_limit_of_the_fleet_is_caught(checked, change, words):
    choices = replace(checked.choices, **change)
    plan = plan_of(checked.solution, choices)
    assert words in complaint(checked, choices=choices, plan=plan)


def with_part(checked, **changes):
    """Return choices in which Cora's part differs, and the plan as it would be written."""
    parts = changed(checked.choices.parts, 2, **changes)
    choices = replace(checked.choices, parts=parts)
    return {"choices": choices, "plan": plan_of(checked.solution, choices)}


def test_floor_is_checked(checked):
    assert "carries 2, below 3" in complaint(checked, **with_part(checked, floor=3))


def test_a_number_asked_for_is_checked(checked):
    assert "carries 2, not 3 as asked" in complaint(checked, **with_part(checked, pin=3))


def test_own_pieces_are_checked(checked):
    assert "1 of 0 own pieces used" in complaint(checked, **with_part(checked, on_hand=0))


def test_offers_that_come_too_late_are_checked(checked):
    offer = checked.choices.parts[2].offers[0]
    parts = changed(checked.choices.parts, 2, offers=checked.choices.parts[2].offers[1:])
    choices = replace(checked.choices, parts=parts)
    assert offer in dict(checked.solution.picked[2].bought)
    said = complaint(checked, choices=choices)
    assert "bought from an offer that is not hers" in said
    assert "Cora: seal is bought from mail, of use to no boat there" in said


def with_source(checked, **changes):
    """Return choices, solution and plan in which every mail offer differs."""

    def renew(offer):
        return replace(offer, **changes) if offer.source == "mail" else offer

    parts = tuple(
        replace(part, offers=tuple(map(renew, part.offers))) for part in checked.choices.parts
    )
    picked = tuple(
        replace(pick, bought=tuple((renew(offer), n) for offer, n in pick.bought))
        for pick in checked.solution.picked
    )
    bought = tuple(replace(line, offer=renew(line.offer)) for line in checked.solution.bought)
    solution = replace(checked.solution, picked=picked, bought=bought)
    choices = replace(checked.choices, parts=parts)
    return {"choices": choices, "solution": solution, "plan": plan_of(solution, choices)}


def test_what_a_source_has_is_checked_over_all_places(checked):
    packs = [line.packs for line in checked.solution.bought if line.offer.source == "mail"]
    assert len(packs) == 2
    assert "are bought" in complaint(checked, **with_source(checked, most=sum(packs) - 1))


def with_charges(checked, place, **changes):
    charges = checked.choices.charges["mail", place]
    choices = replace(
        checked.choices,
        charges={**checked.choices.charges, ("mail", place): replace(charges, **changes)},
    )
    return {"choices": choices, "plan": plan_of(checked.solution, choices)}


def test_minimum_order_is_checked(checked):
    changes = with_charges(checked, "Cora", minimum_order=24.5)
    assert "below its minimum order" in complaint(checked, **changes)


def test_freight_that_is_not_free_is_checked(checked):
    assert ("mail", "store") in checked.solution.free_freight
    changes = with_charges(checked, "store", free_freight_from=1000.0)
    assert "freight is 0.0, should be 12.0" in complaint(checked, **changes)


def with_pick(checked, number, **changes):
    picked = changed(checked.solution.picked, number, **changes)
    solution = replace(checked.solution, picked=picked)
    return {"solution": solution, "plan": plan_of(solution, checked.choices)}


def test_choice_not_covered_by_pieces_is_caught(checked):
    number = next(n for n, pick in enumerate(checked.solution.picked) if pick.moved)
    assert "pieces for 3 wanted" in complaint(checked, **with_pick(checked, number, moved=0))


def test_pieces_from_nowhere_are_caught(checked):
    pick = checked.solution.picked[2]
    bought = tuple((offer, pieces + 3) for offer, pieces in pick.bought)
    assert "more than bought" in complaint(checked, **with_pick(checked, 2, bought=bought))
    below = tuple((offer, -pieces) for offer, pieces in pick.bought)
    assert "below zero" in complaint(checked, **with_pick(checked, 2, bought=below))


def test_other_picks_under_the_same_plan_are_caught(checked):
    picked = changed(checked.solution.picked, 0, choice=1)
    assert "carry is 2, should be 3" in complaint(
        checked, solution=replace(checked.solution, picked=picked)
    )


def test_order_for_no_boat_is_caught(checked):
    picked = tuple(replace(pick, bought=()) for pick in checked.solution.picked)
    solution = replace(checked.solution, picked=picked)
    assert "ordered for no boat" in complaint(checked, solution=solution)
