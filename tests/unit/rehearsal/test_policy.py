"""What a plan does before departure, as seasons see it."""

from dataclasses import replace
from datetime import date

import pytest
from report_builders import make_carry, make_order, make_plan

from stockopt.plan import OrderCharge
from stockopt.rehearsal.changes import list_changes
from stockopt.rehearsal.policy import Extra, policy_of, without_source

PLACES = {"Heron": "Base", "Osprey": "Base"}


def line(boat, part, **changes):
    usual = dict.fromkeys(
        ("on_hand", "carry", "replace_now", "buy", "moved", "used_up", "given", "ahead"), 0
    )
    usual |= {"restock": False, "moved_from": (), "ahead_at": "", "ahead_on": None}
    return make_carry(boat, part, **(usual | changes))


def order(part, **changes):
    usual = {"source": "Far Parts", "place": "Base", "pieces": 5, "packs": 5, "landed": 10.0}
    return make_order(part, **(usual | changes))


def make(carry, orders=(), charges=(), kits=None):
    plan = make_plan(carry=tuple(carry), orders=tuple(orders), charges=tuple(charges))
    return policy_of(plan, PLACES, kits or {})


def test_goods_and_charges_are_spent_order_by_order():
    charge = OrderCharge(source="Far Parts", place="Base", freight=20.0, handling=5.0)
    policy = make([line("Heron", "IMP-1", carry=5, buy=5)], [order("IMP-1")], [charge])
    assert policy.spend_now == pytest.approx(75.0)
    assert policy.goods == {("Far Parts", "Base"): pytest.approx(75.0)}


def test_orders_are_shared_out_and_what_is_over_stays_worth_something():
    carry = [line("Heron", "IMP-1", carry=2, buy=2), line("Osprey", "IMP-1", carry=1, buy=1)]
    policy = make(carry, [order("IMP-1")])
    assert policy.stowed["Heron", "IMP-1"].awaited == (("Far Parts", 2),)
    assert policy.stowed["Osprey", "IMP-1"].awaited == (("Far Parts", 1),)
    assert policy.drawn == (Extra(boat="Heron", part="IMP-1", pieces=-2),)


def test_a_set_brings_each_of_its_parts():
    carry = [line("Heron", "IMP-1", carry=1, buy=1), line("Heron", "GSK-1", carry=2, buy=2)]
    policy = make(
        carry,
        [replace(order("IMP-1", pieces=1), part="SET")],
        kits={"SET": {"IMP-1": 1, "GSK-1": 2}},
    )
    assert policy.drawn == ()
    assert policy.stowed["Heron", "GSK-1"].awaited == (("Far Parts", 2),)


def test_pieces_from_a_store_are_used_up_and_those_of_another_boat_change_hands():
    store = line("Heron", "IMP-1", carry=1, moved=1, moved_from=(("Base", 1),))
    assert make([store]).drawn == (Extra(boat="Heron", part="IMP-1", pieces=1),)
    giver = line("Osprey", "IMP-1", on_hand=1, given=1)
    taker = line("Heron", "IMP-1", carry=1, moved=1, moved_from=(("Osprey", 1),))
    # She has none left at the end of those she began with; the taker's spare is worth as much.
    assert make([giver, taker]).drawn == (Extra(boat="Osprey", part="IMP-1", pieces=1),)


def test_own_pieces_used_up_with_a_change_are_gone():
    gasket = line("Heron", "GSK-1", on_hand=3, used_up=2)
    policy = make([gasket])
    assert policy.stowed["Heron", "GSK-1"].ashore == 3
    assert policy.drawn == (Extra(boat="Heron", part="GSK-1", pieces=2),)


def test_pieces_that_meet_her_on_the_way():
    ahead = {"ahead": 2, "ahead_at": "Far Isle", "ahead_on": date(2031, 6, 1)}
    orders = [order("IMP-1", place="Heron in Far Isle", pieces=2)]
    policy = make([line("Heron", "IMP-1", **ahead)], orders)
    stowed = policy.stowed["Heron", "IMP-1"]
    assert (stowed.ahead, stowed.ahead_at, stowed.ahead_day) == (2, "Far Isle", 61.0)
    assert policy.drawn == ()


def test_without_a_source_spares_go_missing_before_changes_do():
    carry = [line("Heron", "IMP-1", carry=1, replace_now=2, buy=2, on_hand=1)]
    left = without_source(make(carry, [order("IMP-1", pieces=2)]), "Far Parts")
    stowed = left.stowed["Heron", "IMP-1"]
    assert (stowed.carry, stowed.replace_now, stowed.awaited) == (0, 1, ())
    assert left.spend_now == 0.0


def test_lines_that_change_are_told_and_those_only_bought_elsewhere_come_last():
    plan = make_plan()
    before = make([line("Heron", "GSK-1", carry=1, buy=1), line("Heron", "IMP-1", carry=1)],
                  [order("GSK-1", pieces=1)])  # fmt: skip
    after = make([line("Heron", "GSK-1", carry=1, buy=1), line("Heron", "IMP-1", carry=2)],
                 [order("GSK-1", pieces=1, source="Quayside")])  # fmt: skip
    changes = list_changes(plan, before, after)
    assert [(change.part, change.only_source) for change in changes] == [
        ("IMP-1", False),
        ("GSK-1", True),
    ]
    assert changes[1].after == (1, 0, False, "Quayside")
    assert list_changes(plan, before, before) == ()
