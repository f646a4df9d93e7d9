"""Spares that expire under way, or come aboard there: worked by hand and played out."""

from datetime import date, timedelta

import numpy as np
import pytest
from choices_builders import FIRST_DAY, make_need, make_poisson_need, make_stretches, make_terms

from stockopt.choices import lasting
from stockopt.choices.aboard import list_choices
from stockopt.choices.choices import Ahead
from stockopt.choices.keeping import Shelf
from stockopt.choices.lasting import cut_stretches, find_share, follow
from stockopt.choices.lasting_choices import list_lasting_choices

HALF = [0.5, 0.3, 0.2]  # E[N] 0.7, E[(N - 1)+] 0.2


def sail(need, arrivals, last_days, costs):
    runs = cut_stretches(
        need.stretches, need.by_stretch[0], costs, arrivals=arrivals, last_days=last_days
    )
    return follow(runs, need.whole[0], sum(day is not None for day in last_days))


@pytest.mark.parametrize("n", range(5))
def test_where_nothing_expires_it_is_as_carrying_for_the_whole_plan(n):
    stretches = make_stretches("A", "B", "C", days=20)
    need = make_poisson_need([0.002, 0.005], [0.5, 0.5], [100, 200, 150], stretches=stretches)
    terms = make_terms(
        3,
        shortage_costs=[100.0, 200.0, 300.0],
        credit=0.0,
        failing_cost=0.0,
        pin=n,
        restock_prices=float("nan"),
    )
    course = sail(need, [None] * n, [None] * n, terms.shortage_costs)
    (choice,) = (c for c in list_choices(need, terms) if not c.restock and not c.replace_now)
    assert course.short == pytest.approx(choice.expected_shortages, abs=1e-8)
    assert course.chance == pytest.approx(choice.shortage_chance, abs=1e-8)
    # where the pieces short fall is put right in proportion there, see choices/timing.py
    assert course.cost == pytest.approx(choice.later_cost, rel=1e-3)


def test_a_spare_that_expires_after_the_first_stretch_by_hand():
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    last = FIRST_DAY + timedelta(days=9)  # good on every day of the first stretch
    course = sail(need, [None], [last], [1000.0, 3000.0])
    assert course.short == pytest.approx(0.2 + 0.7)
    assert course.cost == pytest.approx(1000 * 0.2 + 3000 * 0.7)
    assert course.chance == pytest.approx(1 - 0.8 * 0.5)
    assert course.left == pytest.approx(0.0)


def test_the_one_that_expires_is_used_first():
    # One keeps, one expires after the first stretch: if one is needed there, none is wasted.
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    course = sail(need, [None] * 2, [FIRST_DAY + timedelta(days=9), None], [1000.0, 3000.0])
    # none or one needed first: one left for the second; two needed: none left
    short = 0.8 * 0.2 + 0.2 * 0.7
    assert course.short == pytest.approx(short)
    assert course.left == pytest.approx(0.8 * 0.5)


def test_a_piece_that_meets_her_serves_what_comes_after():
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    course = sail(need, [FIRST_DAY + timedelta(days=10)], [None], [1000.0, 3000.0])
    assert course.short == pytest.approx(0.7 + 0.2)
    assert course.chance == pytest.approx(1 - 0.5 * 0.8)
    assert course.left == pytest.approx(0.5)


def test_within_a_stretch_it_counts_by_running():
    (stretch,) = make_stretches("A", days=10.0)
    assert find_share(stretch, FIRST_DAY) == 0.0
    assert find_share(stretch, FIRST_DAY + timedelta(days=4)) == pytest.approx(0.4)
    assert find_share(stretch, FIRST_DAY + timedelta(days=20)) == 1.0
    need = make_need([[[0.0, 1.0]]], stretches=(stretch,))
    course = sail(need, [None], [FIRST_DAY + timedelta(days=3)], [1000.0])
    assert course.short == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("rates", "weights", "off"), [([0.07], [1.0], 0.015), ([0.03, 0.1], [0.4, 0.6], 0.04)]
)
def test_against_plans_played_piece_by_piece(rates, weights, off):
    """Failures at random: two pieces expire, one keeps, one comes aboard.

    At a known rate the pieces fall on the stretches by themselves, and nothing is off but the
    chance of the play. Where the rate is not known the split over stretches is an approximation
    (choices/timing.py): 2.5 % of the pieces short, 0.011 of the chance and 0.03 pieces left.
    """
    days = 30.0
    stretches = make_stretches("A", "B", days=days)
    need = make_poisson_need(rates, weights, [days, days], stretches=stretches)
    costs = [100.0, 400.0]
    last = [FIRST_DAY + timedelta(days=14), FIRST_DAY + timedelta(days=39)]
    arrivals = [None, None, None, FIRST_DAY + timedelta(days=30)]
    course = sail(need, arrivals, [*last, None, None], costs)

    rng = np.random.default_rng(20310501)
    count, cost, short, any_short, left = 40_000, 0.0, 0, 0, 0
    for _ in range(count):
        rate = rng.choice(rates, p=weights)
        when = np.sort(rng.uniform(0.0, 2 * days, rng.poisson(rate * 2 * days)))
        pieces = [(0.0, 15.0), (0.0, 40.0), (0.0, np.inf), (30.0, np.inf)]
        missed = 0
        for moment in when:
            good = [piece for piece in pieces if piece[0] <= moment < piece[1]]
            if good:
                pieces.remove(good[0])
            else:
                missed += 1
                cost += costs[int(moment >= days)]
        short, any_short = short + missed, any_short + (missed > 0)
        left += sum(piece[1] == np.inf for piece in pieces)
    assert course.short == pytest.approx(short / count, rel=off)
    assert course.cost == pytest.approx(cost / count, rel=off)
    assert course.chance == pytest.approx(any_short / count, abs=off / 3)
    assert course.left == pytest.approx(left / count, abs=off)


# --- the choices ------------------------------------------------------------------------------


def choices_of(need, terms, shelf, meetings=()):
    found = list_lasting_choices(need, terms, shelf, meetings)
    return {(c.carry, c.replace_now, c.restock, c.own_left): c for c in found}


LAST = FIRST_DAY + timedelta(days=9)


def test_own_pieces_that_expire_do_not_count_for_the_floor():
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    terms = make_terms(2, floor=1, on_hand=1, restock_prices=float("nan"))
    found = choices_of(need, terms, Shelf(own=(LAST,), fresh=None, days=None))
    # one that keeps goes along whatever she has
    assert all(c.carry >= 1 for c in found.values())
    assert (1, 0, False, 0) not in found
    assert found[1, 0, False, 1].expected_shortages == pytest.approx(
        0.5 * 0.2 + 0.3 * 0.7 + 0.2 * 1.7, abs=0.001
    )


def test_pieces_that_expire_before_the_end_are_worth_nothing_then():
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    terms = make_terms(2, restock_prices=float("nan"), failing_cost=0.0, bulky=False)
    found = choices_of(need, terms, Shelf(own=(), fresh=LAST, days=30.0))
    one = found[1, 0, False, 0]
    assert one.later_cost == pytest.approx(2000.0 * (0.2 + 0.7))


def test_what_would_expire_is_replaced_at_the_next_chance():
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    terms = make_terms(2, restock_prices=[120.0, float("nan")])
    found = choices_of(need, terms, Shelf(own=(), fresh=LAST, days=9.5))
    one = found[1, 0, True, 0]
    # what was used, and the one that would not last, both bought again
    assert one.restock_cost == pytest.approx(120.0 * (0.5 + 1.0))
    assert one.expected_shortages == pytest.approx(0.2 + 0.2)


def test_orders_meet_her_only_where_one_more_is_of_use():
    need = make_need([[HALF, HALF]], stretches=make_stretches("A", "B"))
    terms = make_terms(2, restock_prices=float("nan"))
    meeting = Ahead(port="A", arrives_on=date(2031, 5, 11), offers=())
    found = list_lasting_choices(need, terms, None, (meeting,))
    met = [c for c in found if c.ahead]
    assert met
    assert {c.ahead_at for c in met} == {"A"}
    none, one = (
        next(c for c in found if (c.carry, c.replace_now, c.ahead) == (0, 0, n)) for n in (0, 1)
    )
    assert none.expected_shortages - one.expected_shortages == pytest.approx(0.5)
    assert max(c.ahead for c in met) == 2


def test_stretches_joined_where_nothing_changes_come_to_the_same(monkeypatch):
    draw = np.random.default_rng(3)
    stretches = make_stretches(*["Porto"] * 6, days=7)
    for number in range(20):
        by_stretch = draw.dirichlet(np.ones(5), size=6)
        whole = by_stretch[0]
        for row in by_stretch[1:]:
            whole = np.convolve(whole, row)[:5]
        costs = np.full(6, 90.0)
        costs[3:] += draw.integers(2) * 10.0
        arrivals = [None, stretches[2].legs[0].departs_on + timedelta(days=number % 7)]

        def cut(stretches=stretches, by_stretch=by_stretch, costs=costs, arrivals=arrivals):
            return cut_stretches(
                stretches, by_stretch, costs, arrivals=arrivals, last_days=[None, None]
            )

        joined = cut()
        with monkeypatch.context() as patch:
            patch.setattr(lasting, "_join", list)
            apart = cut()
        assert len(joined) < len(apart)
        one, other = follow(joined, whole, 0), follow(apart, whole, 0)
        for name in ("cost", "short", "chance", "left"):
            assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-9, abs=1e-12)
