"""One part through one season, all its money counted by hand."""

from dataclasses import replace
from datetime import date

import pytest
from rehearsal_builders import make_ageing, make_policy, make_voyages, make_world

from stockopt.rehearsal.policy import Stowed
from stockopt.rehearsal.seasons import play

SHARP = 2_000.0
#: 40 h run by day 40, 54 by 52, 68 by 59. In reach of the store from the second leg on.
PARTS = {
    "part": "seal", "price": 10, "clock": "hours", "consequence": "stops", "failure_cost": 30,
    "days_to_fix": 0.5, "fitting_cost": 7,
}  # fmt: skip
FITTED_AT = 30.0


def make_tables(**changes):
    """Return a boat whose seal has run 30 h; ports ask 20 a piece, and four days to wait."""
    tables = {
        "machines": [
            {"boat": "Alba", "machine": "engine", "model": "M", "fitted_on": date(2030, 1, 1)}
            | {"hours_at_fitting": 0}
        ],
        "readings": [
            {"boat": "Alba", "machine": "engine", "read_on": date(2031, 4, 1), "hours": FITTED_AT}
        ],
        "ports": [{"port": port, "price_factor": 2, "wait_days": 4} for port in ("Isla", "Porto")],
        "parts": [PARTS],
    }
    return tables | changes


def play_one(policy, *, life, settings=None, **tables):
    fleet = make_voyages(settings=settings or {}, **make_tables(**tables))
    (tally,) = play(make_world(fleet, make_ageing(seal=(SHARP, life), gasket=(1.0, 1e9))), [policy])
    return tally


def test_a_failure_with_a_spare_aboard_costs_the_failure():
    tally = play_one(make_policy(seal=(1, 0, False)), life=50.0)
    # At 50 h, 20 h from now: half through the first leg.
    assert tally.need[0].tolist() == [1, 1]
    assert tally.missing.sum() == 0
    assert tally.failing[0, 0] == pytest.approx(30 + 0.5 * 100)
    assert (tally.short.sum(), tally.restock.sum(), tally.fitting.sum()) == (0.0, 0.0, 0.0)
    # The spare is gone, worth half its price; of the life 0.4 was left, and at the end 0.04.
    assert tally.used_up[0, 0] == pytest.approx(5 * (1 + 0.4 - 0.04), abs=0.1)


def test_without_a_spare_days_are_lost_and_the_boat_is_stopped():
    tally = play_one(make_policy(), life=50.0)
    # Half of ten days to the port, four there, and a piece at twice the price.
    assert tally.short[0, 0] == pytest.approx(20 + 100 * (5 + 4), rel=0.01)
    assert tally.stopped[0].tolist() == [True, True]


def test_what_is_replaced_now_fails_later_and_costs_its_fitting():
    tally = play_one(make_policy(seal=(0, 1, False)), life=50.0)
    assert tally.need[0].tolist() == [1, 1]
    assert tally.fitting[0, 0] == 7.0
    # New at departure: at 50 h on the second leg, which a day reaches from home.
    assert tally.short[0, 0] == pytest.approx(10 + 100 * 1, rel=0.01)


def test_parts_used_up_with_another_are_needed_when_it_is_changed():
    gasket = {"part": "gasket", "price": 2, "clock": "hours"}
    tables = {
        "parts": [PARTS, gasket],
        "used_with": [{"part": "gasket", "with_part": "seal", "quantity": 2}],
    }
    tally = play_one(make_policy(seal=(1, 0, False), gasket=(1, 0, False)), life=50.0, **tables)
    need = dict(zip(tally.parts, tally.part_need[:, 0].tolist(), strict=True))
    missing = dict(zip(tally.parts, tally.part_missing[:, 0].tolist(), strict=True))
    assert need == {"gasket": 2.0, "seal": 1.0}
    assert missing == {"gasket": 1.0, "seal": 0.0}


def test_rates_of_a_worse_world():
    fleet = make_voyages(**make_tables())
    ageing = make_ageing(seal=(2.0, 100.0))
    (usual,) = play(make_world(fleet, ageing, seasons=500), [make_policy()])
    (worse,) = play(make_world(fleet, ageing, seasons=500, rate=4.0), [make_policy()])
    # Every season's luck is the same, so that none has fewer needs.
    assert (worse.need >= usual.need).all()
    assert worse.need.sum() > 1.5 * usual.need.sum()


def dated(**part):
    """Return the seal, with how long it keeps; at 52 h it fails, about noon of day 35."""
    return {"parts": [PARTS | part]}


@pytest.mark.parametrize(("last", "short"), [("2031-05-06", 0), ("2031-05-05", 1)])
def test_a_spare_of_hers_serves_to_its_last_good_day(last, short):
    stock = [{"place": "Alba", "part": "seal", "on_hand": 1, "expires_on": last}]
    tally = play_one(make_policy(seal=(1, 0, False)), life=52.0, stock=stock)
    assert tally.missing[0].tolist() == [short, short]
    assert tally.stopped[0].tolist() == [bool(short)] * 2
    # Used or not it is worth nothing at the end; it was worth half its price. Lives: 22 h were
    # left, and 6 h at the end.
    assert tally.used_up[0, 0] == pytest.approx(5 * (1 + (22 - 6) / 52), abs=0.1)


@pytest.mark.parametrize(("keeps", "short"), [(35, 0), (34, 1)])
def test_a_spare_bought_serves_from_the_day_of_the_plan(keeps, short):
    policy = make_policy(bought=True, seal=(1, 0, False))
    tally = play_one(policy, life=52.0, **dated(shelf_life_days=keeps))
    assert tally.missing[0].tolist() == [short, short]
    # None is in date when she is back, so none is worth anything; lives that are left are.
    assert tally.used_up[0, 0] == pytest.approx(5 * (22 - 6) / 52, abs=0.1)


def test_what_expires_ashore_is_gone_as_well():
    stock = [{"place": "Alba", "part": "seal", "on_hand": 2, "expires_on": "2031-05-20"}]
    kept = {("Alba", "seal"): Stowed(carry=0, replace_now=0, restock=False, on_hand=2, ashore=2)}
    policy = replace(make_policy(), stowed=kept)
    tally = play_one(policy, life=500.0, stock=stock)
    # Of the life of 500 h 68 are run; two seals of 5 are out of date.
    assert tally.used_up[0, 0] == pytest.approx(5 * (2 + 68 / 500), abs=0.1)
    undated = play_one(policy, life=500.0)
    assert undated.used_up[0, 0] == pytest.approx(5 * 68 / 500, abs=0.1)
