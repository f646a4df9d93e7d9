"""What is in hand after the plan, and when it is reordered."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from builders import make_fleet
from choices_builders import make_demand, make_need, make_stretches
from program_builders import make_choice, make_choices, make_offer, make_part
from report_builders import make_carry, make_order, make_plan, make_store_line
from scipy.stats import binom, nbinom, poisson

from stockopt.ageing.ageing import Ageing
from stockopt.lives.build import build_lives
from stockopt.orders.coming import Known, find_days, forecast_reorders
from stockopt.orders.left import count_left
from stockopt.orders.orders import Level
from stockopt.orders.use import Use, chance_of_at_least
from stockopt.sourcing import Offers


def make_use(mean=4.0):
    days = np.array([0.0, 100.0])
    return Use(
        days=days,
        share=np.array([0.0, 1.0]),
        need=np.array([mean]),
        weight=np.ones(1),
        dispersion=np.ones(2),
    )


def test_days_are_read_off_the_chance():
    # Until day 100 the chance of one or more is 1 - exp(-4) = 0.9817, taken to rise evenly.
    assert find_days(make_use(), 1) == (10, 50, 91)
    assert find_days(make_use(0.05), 1) is None
    assert find_days(make_use(1.0), 1) == (15, 79, None)


def test_a_number_of_known_mean_and_variance():
    for k in (1, 3, 6):
        mean = np.array([2.5])
        assert chance_of_at_least(k, mean, np.array([1.0])) == pytest.approx(poisson.sf(k - 1, 2.5))
        # 5 trials of 1/2 have mean 2.5 and variance 1.25
        assert chance_of_at_least(k, mean, np.array([0.5])) == pytest.approx(
            binom.sf(k - 1, 5, 0.5)
        )
        # r = 2.5, p = 1/2: mean 2.5, variance 5
        assert chance_of_at_least(k, mean, np.array([2.0])) == pytest.approx(
            nbinom.sf(k - 1, 2.5, 0.5)
        )


def test_a_share_of_the_pieces_is_spread_as_if_each_were_drawn_by_chance():
    # 10 trials of 1/2 thinned to 0.4 of them are 10 trials of 0.2.
    use = replace(make_use(5.0), dispersion=np.full(2, 0.5)).drawn(2.0)
    assert use.chance(3)[-1] == pytest.approx(binom.sf(2, 10, 0.2), abs=1e-9)


def test_in_hand_is_what_was_there_and_comes_less_what_is_used_and_given():
    fleet = make_fleet(
        boats=[{"boat": "Heron", "store": "Base store"}, {"boat": "Osprey / west"}],
        parts=[{"part": "SEAL-7"}, {"part": "GSK-1"}],
        kits=[{"kit": "SET", "part": "SEAL-7", "quantity": 2}, {"kit": "SET", "part": "GSK-1"}],
    )
    plan = make_plan(
        carry=(
            make_carry("Heron", "SEAL-7", on_hand=3, replace_now=1, used_up=1, given=1),
            make_carry("Osprey / west", "SEAL-7", on_hand=0, moved_from=(("Heron", 1),)),
        ),
        orders=(
            make_order("SEAL-7", place="Base store", pieces=4),
            make_order("GSK-1", place="Osprey / west", pieces=5),
        ),
    )
    shelf = make_store_line("SEAL-7", store="Base store", moved_from=(("Osprey / west", 1),))
    choices = make_choices(
        make_part(make_choice(), boat="Heron", part="SEAL-7"),
        make_part(make_choice(), boat="Osprey / west", part="SEAL-7"),
        limits={"Heron": {"place": "Base store"}},
        stock={("Base store", "SEAL-7"): 6},
    )
    left = count_left(plan, choices, fleet)
    # 3 - 1 - 1 aboard, 6 in the store, 4 bought, 1 given away
    assert left["Base store", "SEAL-7"] == 3 - 1 - 1 + 6 + 4 - 1
    assert left["Osprey / west", "SEAL-7"] == 1
    assert left["Osprey / west", "GSK-1"] == 5
    moved = count_left(replace(plan, stores=(shelf,)), choices, fleet)
    assert moved["Base store", "SEAL-7"] == left["Base store", "SEAL-7"] + 1
    assert moved["Osprey / west", "SEAL-7"] == 0


def make_level(**changes):
    values = {
        "on_shelf": 3,
        "reorder_at": 0,
        "quantity": 4,
        "source": "Post",
        "asked": 2.0,
        "last_order_on": date(2031, 7, 26),
    }
    return Level(**{**values, **changes})


def forecast(levels, *, on_hand=3, ports=("Porto", "Porto")):
    """Return the reorders of a store whose boat is certain to need one piece on each leg."""
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto", "store": "Shed"}],
        parts=[{"part": "seal"}],
        legs=[{"boat": "Alba", "departs_on": "2031-05-01", "days": 100, "to_port": "Porto"}],
    )
    whole = np.zeros((1, 3))
    whole[0, 2] = 1.0
    each = np.zeros((1, 2, 3))
    each[0, :, 1] = 1.0
    need = make_need(each, whole=whole, part="seal", stretches=make_stretches(*ports, days=50.0))
    offer = make_offer("seal", source="Post", port="Porto", late_days=14.5)
    known = Known(
        demand=make_demand(need),
        ageing=Ageing(parts={}, notes=(), families=(), boat_factors={}, boat_spread=None),
        lives=SimpleNamespace(positions=build_lives(fleet).positions),
        offers=Offers(
            offers={("Porto", "seal"): (offer,)},
            charges={},
            at_port={},
            wait_days={},
            price={},
            notes=(),
        ),
        fleet=fleet,
    )
    plan = make_plan(carry=(), orders=(), charges=())
    choices = make_choices(
        make_part(make_choice(), part="seal"),
        limits={"Alba": {"place": "Shed"}},
        stock={("Shed", "seal"): on_hand},
    )
    return forecast_reorders(plan, choices, known, levels)


def test_without_a_level_it_is_ordered_to_be_there_before_the_last_piece_is_gone():
    (one,) = forecast({}, on_hand=1)
    # The first of two certain pieces is needed on the first leg of 50 days, from 1 May.
    assert date(2031, 5, 1) <= one.early <= one.middle <= one.late <= date(2031, 6, 20)
    assert (one.in_hand, one.reorder_at, one.source) == (1, 0, "Post")
    assert one.order_by == max(date(2031, 4, 1), date.fromordinal(one.early.toordinal() - 15))


def test_with_a_level_it_is_ordered_when_it_comes_to_that():
    (one,) = forecast({("Shed", "seal"): make_level(on_shelf=3, reorder_at=2)}, on_hand=3)
    assert (one.in_hand, one.reorder_at) == (3, 2)
    assert (one.order_by, one.quantity) == (one.early, 4)
    assert one.late <= date(2031, 6, 20)


def test_a_shelf_that_begins_at_its_level_is_reordered_for_on_the_first_day():
    (one,) = forecast({("Shed", "seal"): make_level(on_shelf=1, reorder_at=1)})
    assert one.early == one.late == one.order_by == date(2031, 5, 1)
    assert one.chance == 1.0


def test_what_would_come_too_late_is_not_ordered():
    (one,) = forecast({("Shed", "seal"): make_level(on_shelf=2, last_order_on=date(2031, 6, 1))})
    assert one.early > date(2031, 6, 1)
    assert one.order_by is None


def test_a_store_that_reorders_nothing_has_no_order_date():
    level = make_level(on_shelf=1, source="", quantity=0, last_order_on=None)
    (one,) = forecast({("Shed", "seal"): level})
    assert (one.in_hand, one.order_by) == (1, None)


def test_more_than_the_season_needs_is_not_listed():
    assert forecast({}, on_hand=3) == ()


def test_what_is_not_kept_has_no_order_date():
    (one,) = forecast({}, on_hand=0)
    assert one.order_by is None
