"""Of plans of one cost, that with the fewest pieces and orders."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from program_builders import FREE, make_choice, make_choices, make_offer, make_part

from stockopt.program.solve import solve_program
from stockopt.sourcing import Charges

ORDER = Charges(per_order=5.0, handling=0.0, free_freight_from=None, minimum_order=None)


def solve(choices):
    return solve_program(choices, gap=0.001, seconds=30.0)


@pytest.mark.parametrize("order", [1, -1])
def test_fewer_pieces_are_taken_at_one_cost(order):
    ways = [make_choice(n, 40.0 - 10.0 * n) for n in range(5)][::order]
    parts = [make_part(*ways, part=name) for name in ("belt", "hose", "seal")]
    solution = solve(make_choices(*parts))
    assert solution.objective == pytest.approx(120.0)
    assert [pick.choice for pick in solution.picked] == [ways.index(make_choice(0, 40.0))] * 3
    assert solution.bought == ()


def test_replacing_counts_as_carrying_does():
    ways = (make_choice(1, 10.0), make_choice(0, 10.0, replace_now=1), make_choice(0, 20.0))
    (pick,) = solve(make_choices(make_part(*ways))).picked
    assert pick.choice == 2


@pytest.mark.parametrize("names", [("aft", "mail"), ("mail", "aft")])
def test_fewer_orders_are_placed_at_one_cost(names):
    one, two = names
    belt = make_part(make_choice(1, 0.0), part="belt", offers=(make_offer("belt", source=one),))
    offers = (make_offer("seal", 10.0, source=one), make_offer("seal", 5.0, source=two))
    seal = make_part(make_choice(1, 0.0), offers=offers)
    charges = {(one, "Alba"): ORDER, (two, "Alba"): ORDER}
    solution = solve(make_choices(belt, seal, charges=charges))
    assert solution.objective == pytest.approx(25.0)
    assert {line.offer.source for line in solution.bought} == {one}


def test_a_tie_is_never_worth_money():
    ways = (make_choice(0, 30.0), make_choice(3, -0.001))
    (pick,) = solve(make_choices(make_part(*ways), charges={("chandler", "Alba"): FREE})).picked
    assert pick.choice == 1


def test_small_fleets_are_solved_to_the_best_whatever_the_gap():
    parts = [
        make_part(make_choice(0, 12.0 + n), make_choice(1, 1.0), part=f"p{n}", kg=1.0 + n % 3)
        for n in range(12)
    ]
    choices = make_choices(*parts, limits={"Alba": {"kg": 9.0}}, budget=70.0)
    loose = solve_program(choices, gap=0.5, seconds=30.0)
    tight = solve_program(choices, gap=0.0, seconds=30.0)
    assert (loose.status, loose.picked) == ("optimal", tight.picked)


@pytest.mark.parametrize("seed", range(12))
def test_fewest_pieces_of_all_best_plans(seed):
    """Against every plan there is: small whole costs, so that many plans cost the same."""
    draw = random.Random(seed)
    later = [[draw.randint(0, 3) + 2 * (2 - n) for n in range(3)] for _ in range(7)]
    mass = [draw.randint(1, 3) for _ in later]
    offers = [make_offer(f"p{i}", float(draw.randint(1, 3))) for i in range(len(later))]
    parts = [
        make_part(
            *(make_choice(n, float(cost)) for n, cost in enumerate(costs)),
            part=f"p{i}",
            kg=float(mass[i]),
            offers=(offers[i],),
        )
        for i, costs in enumerate(later)
    ]
    choices = make_choices(*parts, limits={"Alba": {"kg": 9.0}}, budget=11.0)
    picked = [pick.choice for pick in solve(choices).picked]

    def rate(plan):
        spent = sum(n * offer.landed for n, offer in zip(plan, offers, strict=True))
        loaded = sum(n * kg for n, kg in zip(plan, mass, strict=True))
        cost = spent + sum(costs[n] for n, costs in zip(plan, later, strict=True))
        return (cost, sum(plan)) if spent <= 11.0 and loaded <= 9.0 else (math.inf, 0)

    assert rate(picked) == min(map(rate, itertools.product(range(3), repeat=len(later))))
