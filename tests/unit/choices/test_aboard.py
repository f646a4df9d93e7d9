"""Choices worked by hand, and against seasons played failure by failure."""

import math

import numpy as np
import pytest
from choices_builders import (
    make_need,
    make_poisson_need,
    make_stretches,
    make_terms,
    need_of,
    play,
    simulate_seasons,
)

from stockopt.choices.aboard import list_choices

HALF = [0.5, 0.3, 0.2]


def by_key(choices):
    return {(choice.carry, choice.replace_now, choice.restock): choice for choice in choices}


def test_one_stretch_by_hand():
    # E[N] 0.7. Nothing aboard: 0.7 short; one: 0.2 short, 0.5 left; two: none short, 1.3 left.
    need = make_need([[HALF]] * 2, remaining=[0.4, 1.0], failures=[0.7, 0.7])
    choices = by_key(list_choices(need, make_terms(1)))
    failing = 200 * 0.7
    unspent = 50 * 0.4
    costs = {n: choices[n, 0, False].later_cost for n in range(3)}
    assert costs[0] == pytest.approx(failing + 2000 * 0.7 - unspent)
    assert costs[1] == pytest.approx(failing + 2000 * 0.2 - 50 * 0.5 - unspent)
    assert costs[2] == pytest.approx(failing - 50 * 1.3 - unspent)
    assert [choices[n, 0, False].shortage_chance for n in range(3)] == pytest.approx([0.5, 0.2, 0])
    assert choices[1, 0, False].expected_shortages == pytest.approx(0.2)
    assert choices[1, 0, False].expected_need == pytest.approx(0.7)
    assert not any(choice.restock for choice in choices.values())


def test_replacing_now_is_charged_its_labour_and_credited_its_life():
    sure, none = [0.1, 0.9], [1.0, 0.0]
    need = make_need([[sure], [none]], remaining=[0.1, 0.8], remaining_now=0.3)
    choice = by_key(list_choices(need, make_terms(1)))[0, 1, False]
    assert choice.pieces == 1
    assert choice.later_cost == pytest.approx(30 - 50 * (0.8 - 0.3))
    assert choice.shortage_chance == 0.0


def test_restocking_by_hand():
    # Two stretches of HALF each; made up after the first only.
    need = make_need([[HALF, HALF]], failures=[1.4])
    terms = make_terms(2, shortage_costs=[1000, 3000], restock_prices=[120, math.nan])
    choices = by_key(list_choices(need, terms))
    one = choices[1, 0, True]
    assert one.restock_cost == pytest.approx(120 * 0.5)
    assert one.expected_shortages == pytest.approx(0.4)
    assert one.shortage_chance == pytest.approx(1 - 0.8 * 0.8)
    assert one.later_cost == pytest.approx(
        200 * 1.4 + (1000 + 3000) * 0.2 + 120 * 0.5 - 50 * (1 - 0.5)
    )


def test_one_spare_for_two_stretches_by_hand():
    # Short of it when two or more are needed in all.
    need = make_need([[HALF, HALF]], failures=[1.4])
    kept = by_key(list_choices(need, make_terms(2, restock_prices=math.nan)))[1, 0, False]
    assert kept.restock_cost == 0.0
    assert kept.shortage_chance == pytest.approx(1 - 0.25 - 2 * 0.5 * 0.3)
    short = 1.4 - (1 - 0.25)
    assert kept.expected_shortages == pytest.approx(short)
    assert kept.later_cost == pytest.approx(200 * 1.4 + 2000 * short - 50 * 0.25)


def test_without_restocking_a_shortage_costs_the_average_weighted_by_need():
    # 0.2 expected on the first stretch, 0.6 on the second
    need = make_need([[[0.8, 0.2], [0.4, 0.6]]], failures=[0.0])
    terms = make_terms(2, shortage_costs=[1000, 3000])
    bare = by_key(list_choices(need, terms))[0, 0, False]
    assert bare.later_cost == pytest.approx((0.25 * 1000 + 0.75 * 3000) * 0.8)


def test_no_restocking_where_a_stretch_ends_without_the_part():
    need = make_need([[HALF, HALF]])
    choices = list_choices(need, make_terms(2, restock_prices=[math.nan, 120]))
    assert not any(choice.restock for choice in choices)


def test_own_spares_left_ashore_lose_nothing():
    need = make_need([[[1.0, 0.0]]], remaining=[0.0])
    (choice,) = list_choices(need, make_terms(1, on_hand=3))
    assert choice.carry == 0
    assert choice.later_cost == pytest.approx(0.0)


def test_the_floor_is_carried_even_if_nothing_is_needed():
    need = make_need([[[1.0, 0.0]]])
    (choice,) = list_choices(need, make_terms(1, floor=4))
    assert (choice.carry, choice.shortage_chance) == (4, 0.0)
    assert choice.later_cost == pytest.approx(-4 * 50)


def test_a_floor_beyond_any_need_is_the_only_level():
    need = make_need([[HALF]])
    assert {choice.carry for choice in list_choices(need, make_terms(1, floor=7))} == {7}


def test_a_part_used_with_another_has_no_position_of_its_own():
    need = make_need([[HALF]], failures=[0.0], failure_shares=[0, 0, 0])
    assert {choice.replace_now for choice in list_choices(need, make_terms(1))} == {0}


def test_large_needs_are_looked_at_to_their_end():
    need = make_poisson_need([0.5], [1.0], [120.0])
    carried = {choice.carry for choice in list_choices(need, make_terms(1))}
    assert max(carried) > 80


def test_a_light_spare_is_not_saved_by_replacing_instead():
    # (0, 1) beats (0, 0); it costs and risks more than (1, 0), but leaves the locker empty
    need = make_need([[[0.5, 0.5]], [[0.6, 0.4]]])
    assert (0, 1, False) in by_key(list_choices(need, make_terms(1)))
    assert (0, 1, False) not in by_key(list_choices(need, make_terms(1, bulky=False)))


def test_a_level_that_only_lowers_the_chance_is_for_parts_that_stop_the_boat():
    # A spare turns 0.5 x 40 into 50 x 0.5 lost on it: not worth its money.
    need = make_need([[[0.5, 0.5]]])
    terms = {"shortage_costs": 40, "failing_cost": 0}
    stops = list_choices(need, make_terms(1, **terms))
    limits = list_choices(need, make_terms(1, stops=False, **terms))
    assert [choice.carry for choice in stops] == [0, 1]
    assert [choice.carry for choice in limits] == [0]


def test_changing_a_part_of_constant_rate_is_never_worth_handing_on():
    need = make_poisson_need([0.002, 0.01], [0.5, 0.5], [100.0, 100.0], positions=2)
    assert all(choice.replace_now == 0 for choice in list_choices(need, make_terms(2)))


def test_choices_come_sorted_and_each_once():
    need = make_poisson_need([0.002, 0.01], [0.5, 0.5], [100.0, 100.0], positions=2)
    keys = [
        (choice.pieces, choice.carry, choice.replace_now, choice.restock)
        for choice in list_choices(need, make_terms(2))
    ]
    assert keys == sorted(set(keys))


PLAYED = [
    # nodes, ages, hours by stretch, replace_every
    pytest.param(
        [(2.5, 500.0, 0.6), (4.0, 700.0, 0.4)], [420.0, 480.0], [150.0, 220.0, 90.0], math.inf,
        id="wearing pair",
    ),
    pytest.param(
        [(3.0, 600.0, 0.5), (1.5, 400.0, 0.5)], [180.0, 0.0], [200.0, 300.0, 150.0], 250.0,
        id="changed every 250 h",
    ),
    pytest.param(
        [(0.8, 900.0, 0.3), (1.0, 300.0, 0.7)], [50.0, 400.0], [300.0, 80.0, 300.0], math.inf,
        id="random",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("nodes", "ages", "hours", "replace_every"), PLAYED)
def test_costs_are_those_of_seasons_played_out(nodes, ages, hours, replace_every):
    """The chances are the frequencies of 200,000 seasons, so the means must agree exactly."""
    seasons = [
        simulate_seasons(
            np.random.default_rng(31 + f),
            200_000,
            nodes=nodes,
            ages=ages,
            hours=hours,
            replace_now=f,
            replace_every=replace_every,
        )
        for f in range(3)
    ]
    need = need_of(seasons, stretches=make_stretches("Isla", "Isla", "Isla"))
    terms = make_terms(3, restock_prices=[120, 260, math.nan], on_hand=2)
    choices = list_choices(need, terms)
    assert {choice.restock for choice in choices} == {False, True}
    assert {choice.replace_now for choice in choices} == {0, 1, 2}
    for choice in choices:
        played = play(
            seasons[choice.replace_now],
            terms,
            carry=choice.carry,
            replace_now=choice.replace_now,
            restock=choice.restock,
            lives_now=need.remaining_now,
        )
        assert choice.later_cost == pytest.approx(played.later_cost.mean(), abs=1e-6)
        assert choice.restock_cost == pytest.approx(played.restock_cost.mean(), abs=1e-6)
        assert choice.expected_shortages == pytest.approx(played.short.mean(), abs=1e-9)
        assert choice.shortage_chance == pytest.approx((played.short > 0).mean(), abs=1e-9)


def test_costs_of_a_constant_rate_within_chance_of_seasons_played_out():
    """The chances are exact Poisson mixtures: means agree within 4 standard errors."""
    rates, weights, hours = [0.001, 0.006], [0.7, 0.3], [150.0, 250.0, 100.0]
    nodes = [(1.0, 1 / rate, weight) for rate, weight in zip(rates, weights, strict=True)]
    seasons = simulate_seasons(
        np.random.default_rng(5), 200_000, nodes=nodes, ages=[100.0, 900.0], hours=hours
    )
    need = make_poisson_need(rates, weights, hours, positions=2)
    terms = make_terms(3, shortage_costs=[900, 2500, 1500], restock_prices=[120, 260, 120])
    even = make_terms(3, restock_prices=math.nan)
    tried = [(choice, terms) for choice in list_choices(need, terms) if choice.restock]
    tried += [(choice, even) for choice in list_choices(need, even)]
    seen_often = [(choice, used) for choice, used in tried if choice.shortage_chance > 1e-3]
    assert len(seen_often) >= 8
    for choice, used in seen_often:
        kind = {name: getattr(choice, name) for name in ("carry", "replace_now", "restock")}
        played = play(seasons, used, **kind)
        for predicted, seen in [
            (choice.later_cost, played.later_cost),
            (choice.restock_cost, played.restock_cost),
            (choice.expected_shortages, played.short),
            (choice.shortage_chance, played.short > 0),
        ]:
            error = np.std(seen) / math.sqrt(len(seen))
            assert abs(predicted - seen.mean()) <= 4 * error
