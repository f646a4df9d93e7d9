"""The curves, on cases worked by hand."""

import itertools
import math
from dataclasses import replace
from datetime import date

import pytest
from program_builders import FREE, make_choice, make_choices, make_offer, make_part
from why_builders import solve

from stockopt.choices.choices import Ahead
from stockopt.why import curves as drawing
from stockopt.why.curves import POINTS, draw_curves

SEALS = (make_choice(0, 100.0), make_choice(1, 40.0), make_choice(2, 20.0))


def draw(choices, gap=0.0):
    steps = []
    curves = draw_curves(solve(choices), choices, gap=gap, seconds=30.0, on_step=steps.append)
    return curves, steps


def test_one_boat_against_money_and_against_her_kilos():
    choices = make_choices(make_part(*SEALS, kg=2.0), limits={"Alba": {"kg": 10.0}})
    (money, kilos), steps = draw(choices)
    # Two seals at 10 bring 100 down to 20: from nothing spent to 20.
    assert (money.against, money.now, len(money.points)) == ("budget", None, POINTS)
    assert [p.limit for p in money.points] == pytest.approx([2.5 * k for k in range(POINTS)])
    assert [p.total for p in money.points] == pytest.approx([100.0] * 4 + [50.0] * 4 + [40.0])
    assert [p.spend_now for p in money.points] == pytest.approx([0.0] * 4 + [10.0] * 4 + [20.0])
    assert all(p.gap < 1e-6 and p.bound == pytest.approx(p.total) for p in money.points)
    assert (kilos.against, kilos.now) == ("kg", 10.0)
    assert [p.kg for p in kilos.points] == pytest.approx([0.0] * 4 + [2.0] * 4 + [4.0])
    assert any("point 9 of 9" in step for step in steps)


def test_the_budget_there_is_becomes_a_point():
    (money, *_), _ = draw(make_choices(make_part(*SEALS), budget=12.0))
    assert money.now == 12.0
    assert [p.total for p in money.points if p.limit == 12.0] == [50.0]
    assert len(money.points) == POINTS + 1


def test_several_boats_share_their_limits():
    choices = make_choices(
        make_part(*SEALS, boat="Alba", kg=2.0),
        make_part(*SEALS, boat="Bora", kg=2.0),
        limits={"Alba": {"kg": 8.0}, "Bora": {"kg": 4.0}},
    )
    curve = draw(choices)[0][1]
    assert (curve.against, curve.now) == ("share of kg", 1.0)
    assert [curve.points[0].limit, curve.points[-1].limit] == [0.0, 1.0]
    # Half of 8 is two seals for Alba, half of 4 one for Bora.
    assert [p.kg for p in curve.points if p.limit == 0.5] == [6.0]


def test_several_boats_without_limits_share_what_each_would_load():
    parts = [make_part(*SEALS, boat=boat, kg=2.0) for boat in ("Alba", "Bora")]
    curve = draw(make_choices(*parts))[0][1]
    assert (curve.against, curve.now) == ("share of kg", None)
    assert [p.kg for p in curve.points if p.limit == 0.5] == [4.0]


def risky(*later):
    """Return a part of which one at least is carried; each piece more halves the chance."""
    choices = [
        make_choice(n, cost, shortage_chance=0.4 / 2**n) for n, cost in enumerate(later, start=1)
    ]
    return make_part(*choices, floor=1, stops=True, kg=2.0)


@pytest.mark.parametrize(("readiness", "least"), [(0.85, 4.0), (0.75, 2.0)])
def test_floors_and_readiness_set_where_a_curve_begins(readiness, least):
    money, kilos = draw(make_choices(risky(100.0, 95.0, 50.0), readiness=readiness))[0]
    assert (kilos.points[0].limit, kilos.points[0].kg) == (least, least)
    assert kilos.points[-1].limit == 6.0
    assert money.points[0].limit == 5.0 * least


def test_where_the_least_is_the_best_there_is_no_curve():
    assert draw(make_choices(risky(100.0, 95.0), readiness=0.85))[0] == ()


def test_kilos_count_what_meets_her_on_her_way():
    met = make_offer(landed=10.0, kind="mail", port="Horta")
    choices = [
        make_choice(0, 100.0),
        make_choice(0, 40.0, ahead=1, ahead_at="Horta"),
        make_choice(0, 20.0, ahead=2, ahead_at="Horta"),
    ]
    part = make_part(
        *choices,
        kg=2.0,
        offers=(),
        ahead=(Ahead(port="Horta", arrives_on=date(2031, 6, 1), offers=(met,)),),
    )
    charges = {("chandler", "Alba in Horta"): FREE}
    kilos = draw(make_choices(part, charges=charges))[0][1]
    assert [p.kg for p in kilos.points] == pytest.approx([0.0] * 4 + [2.0] * 4 + [4.0])
    assert [p.total for p in kilos.points] == pytest.approx([100.0] * 4 + [50.0] * 4 + [40.0])


@pytest.mark.parametrize("spoiled", range(3, 11))
def test_a_solver_that_finds_or_proves_less_leaves_the_curve_consistent(monkeypatch, spoiled):
    """One solve of all finds a plan that spends nothing, another proves nothing at all."""
    choices = make_choices(make_part(*SEALS))
    count = itertools.count(1)

    def find_less(asked, **settings):
        number = next(count)
        if number == spoiled:
            asked = replace(asked, budget=0.0)
        found = solve_program(asked, **settings)
        return replace(found, bound=-math.inf) if number == spoiled + 1 else found

    best, solve_program = solve(choices), drawing.solve_program
    monkeypatch.setattr(drawing, "solve_program", find_less)
    money, *_ = draw_curves(best, choices, gap=0.0, seconds=30.0, on_step=lambda _: None)
    assert len(money.points) == POINTS
    for less, more in itertools.pairwise(money.points):
        assert more.total <= less.total
        assert more.bound <= less.bound <= less.total + 1e-6
    assert all(math.isfinite(point.bound) for point in money.points[:-1])
