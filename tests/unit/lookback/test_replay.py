"""A plan met by what failed, counted by hand.

Every failure costs half a day, 50. In Isla a piece costs 20, and a day is waited for it; days until
the leg ends are lost too: a failure on day 5 of a leg of ten costs 20 + (5 + 1) x 100 = 620.
"""

import pytest
from lookback_builders import change, replay, with_mean_life
from rehearsal_builders import make_ageing, make_policy

LIVES = make_ageing(seal=(2.0, 1000.0))
FAILED = [change(5), change(25)]


def test_without_spares_every_failure_is_short():
    seen = replay(make_policy(), LIVES, replacements=FAILED)
    assert (seen.needed, seen.short, seen.left) == (2, 2, 0)
    assert seen.failing == pytest.approx(100.0)
    assert seen.shortages == pytest.approx(1240.0)
    assert seen.total == pytest.approx(1340.0)
    assert seen.stopped == ("Alba",)
    assert [(one.on.isoformat(), one.part) for one in seen.missed] == [
        ("2031-01-06", "seal"),
        ("2031-01-26", "seal"),
    ]


def test_a_spare_covers_one_and_made_up_both():
    once = replay(make_policy(seal=(1, 0, False)), LIVES, replacements=FAILED)
    assert (once.covered, once.short, once.left) == (1, 1, 0)
    assert once.total == pytest.approx(100.0 + 620.0)
    both = replay(make_policy(spend_now=10.0, seal=(1, 0, True)), LIVES, replacements=FAILED)
    assert (both.covered, both.short, both.left) == (2, 0, 1)
    assert both.restocking == pytest.approx(40.0)
    assert both.worth_left == pytest.approx(5.0)
    assert both.total == pytest.approx(10.0 + 100.0 + 40.0 - 5.0)
    assert both.stopped == ()


def test_spares_that_nothing_needed_are_left_over():
    seen = replay(make_policy(seal=(3, 0, False)), LIVES, replacements=[])
    assert (seen.needed, seen.left) == (0, 3)
    assert seen.total == pytest.approx(-15.0)


@pytest.mark.parametrize(("keeps", "short"), [(24, 1), (25, 0)])
def test_a_spare_bought_serves_to_its_last_good_day(keeps, short):
    # No source takes time, so it is bought on the day looked back to.
    parts = [
        {"part": "seal", "price": 10, "clock": "hours", "consequence": "stops"}
        | {"shelf_life_days": keeps}
    ]
    policy = make_policy(bought=True, seal=(1, 0, False))
    seen = replay(policy, LIVES, replacements=[change(25)], parts=parts)
    assert (seen.needed, seen.short) == (1, short)
    unused = replay(policy, LIVES, replacements=[], parts=parts)
    assert (unused.left, unused.worth_left) == (0, 0.0)


@pytest.mark.parametrize(("lasts", "avoided"), [(49.0, 0), (51.0, 1)])
def test_a_failure_is_avoided_only_within_the_life_of_a_new_piece(lasts, avoided):
    ageing = with_mean_life(LIVES, seal=lasts)
    seen = replay(make_policy(seal=(0, 1, False)), ageing, replacements=FAILED)
    assert seen.avoided == avoided
    assert seen.needed == 2 - avoided
    assert seen.shortages == pytest.approx(620.0 * (2 - avoided))


def test_the_store_has_a_piece_nine_times_in_ten():
    boats = [{"boat": "Alba", "home_port": "Porto", "store": "Base", "day_cost": 100}]
    legs = [
        {"boat": "Alba", "departs_on": "2031-04-01", "days": 10, "to_port": "Porto"}
        | {"chase_days": 2}
    ]
    sources = [{"source": "Far", "kind": "mail", "delivers_to": "Porto", "lead_days": 8}]
    prices = [{"source": "Far", "part": "seal", "price": 10}]
    seen = replay(
        make_policy(), LIVES, replacements=[change(5)], boats=boats, legs=legs, sources=sources,
        prices=prices,
    )  # fmt: skip
    # Two days of chase, and eight more for the one in ten that the store must order.
    assert seen.shortages == pytest.approx(10.0 + 100.0 * (2.0 + 0.1 * 8.0))


def test_what_is_used_up_with_another_part_is_needed_with_it():
    tables = {
        "parts": [
            {"part": "seal", "price": 10, "clock": "hours", "consequence": "stops"},
            {"part": "gasket", "price": 1, "consequence": "nuisance"},
        ],
        "used_with": [{"part": "gasket", "with_part": "seal", "quantity": 2}],
        "fitted": [{"model": "M", "part": "seal"}],
    }
    ageing = make_ageing(seal=(2.0, 1000.0), gasket=(1.0, 1000.0))
    seen = replay(make_policy(gasket=(3, 0, False)), ageing, replacements=FAILED, **tables)
    lines = {line.part: (line.needed, line.short, line.left) for line in seen.lines}
    assert lines == {"seal": (2, 2, 0), "gasket": (4, 1, 0)}
    # Nothing failed of the gasket itself.
    assert seen.failing == pytest.approx(100.0)


def test_a_change_on_schedule_that_finds_no_piece_stops_nobody():
    parts = [
        {"part": "seal", "price": 10, "clock": "hours", "consequence": "stops"}
        | {"replace_every": 3000}
    ]
    rows = [change(5, reason="scheduled")]
    seen = replay(make_policy(), LIVES, replacements=rows, parts=parts)
    assert (seen.needed, seen.short, seen.stopped) == (1, 1, ())
    assert [one.failed for one in seen.missed] == [False]
    assert (seen.failing, seen.shortages) == pytest.approx((0.0, 620.0))
