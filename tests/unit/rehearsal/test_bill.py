"""What a store's shelf means for the boats it serves, counted by hand."""

import numpy as np
import pytest
from rehearsal_builders import make_aboard, make_calendar, make_events, make_money

from stockopt.rehearsal.bill import Counter, write_bill
from stockopt.rehearsal.engine import use_spares
from stockopt.rehearsal.shelf import Shelf, Span
from stockopt.sourcing import Charges, Offer

SPAN = Span(begins=30.0, ends=59.0, last_order=49.0)


def offer(source, landed, lead_days):
    return Offer(
        source=source, kind="mail", port="Porto", part="seal", price=landed, landed=landed, pack=1,
        most=None, lead_days=lead_days, late_days=lead_days,
    )  # fmt: skip


def charge(per_order):
    return Charges(per_order=per_order, handling=0.0, free_freight_from=None, minimum_order=None)


def serve(events, aboard, *, level, point=0, quantity=0, source=""):
    """Return the bill and the store's books: the quay at 30 at once, mail at 6 and 9 a time."""
    calendar = make_calendar()
    always = np.ones(3, dtype=bool)
    money = make_money(calendar, [0, 1, 2], in_reach=always, at_store=always)
    counter = Counter(
        boats=np.ones(1, dtype=bool),
        shelf=Shelf(level=level, source=source, reorder_point=point, order_quantity=quantity),
        span=SPAN,
        lead=lambda _: np.array([10.0]),
        offers=[offer("Far Parts", 6.0, 10.0), offer("Quayside", 30.0, 0.0)],
        charges=[charge(9.0), charge(0.0)],
        landed=6.0,
    )
    used = use_spares(events, aboard, money)
    bill, (served,) = write_bill(used, money, calendar, fill_rate=1.0, counters=[counter])
    return bill, served


def test_a_piece_short_comes_from_the_shelf_and_the_store_is_paid_for_it():
    bill, served = serve(make_events((0, 0, 36)), make_aboard(0, 1), level=1)
    # A day's chase at 100, and the piece at 10.
    assert bill.short[0, 0] == pytest.approx(110.0)
    assert served.bought.tolist() == [-10.0]
    assert served.kept.left.tolist() == [0]


def test_a_piece_the_shelf_has_not_got_is_had_where_days_and_money_together_are_least():
    bill, served = serve(make_events((0, 0, 36)), make_aboard(0, 1), level=0)
    # Mail would be 15 and ten days at 100: the quay it is, with no day more than the chase.
    assert bill.short[0, 0] == pytest.approx(110.0)
    assert served.bought.tolist() == [30.0 - 10.0]


def test_spares_are_made_up_from_the_shelf_where_stretches_end():
    needs = make_events((0, 0, 36), (0, 1, 48))
    bill, served = serve(needs, make_aboard(1, 1, restock=True), level=1, quantity=2,
                         source="Far Parts")  # fmt: skip
    assert bill.restock[0, 0] == pytest.approx(20.0)
    # The first, on day 40, empties the shelf; two come on day 50, one is taken on day 52.
    assert served.kept.served.tolist() == [True, True]
    assert served.kept.day.tolist() == [40.0]
    assert served.kept.left.tolist() == [1]
    assert served.bought.tolist() == [2 * 6.0 - 20.0]
