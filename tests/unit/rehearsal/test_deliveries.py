"""Orders that come when their sources say, and those that do not."""

import numpy as np
import pytest
from rehearsal_builders import make_voyages

from stockopt.rehearsal.calendar import write_out
from stockopt.rehearsal.deliveries import Deliveries
from stockopt.rehearsal.held import NEVER
from stockopt.rehearsal.policy import Stowed


def make_deliveries(*, lead, late, times, seasons=4_000):
    source = {"source": "Far Parts", "kind": "mail", "delivers_to": "Porto"}
    fleet = make_voyages(sources=[source | {"lead_days": lead, "late_days": late}])
    calendar = write_out(fleet)
    return Deliveries(fleet, calendar, seed=1, seasons=seasons, times=times)


def bring(deliveries, *, carry=0, replace_now=0, pieces=1, **more):
    awaited = (("Far Parts", pieces),)
    line = Stowed(
        carry=carry, replace_now=replace_now, restock=False, on_hand=0, awaited=awaited, **more
    )
    return deliveries.bring([line])


def test_in_time_all_is_aboard_at_departure():
    aboard, replaced = bring(make_deliveries(lead=90, late=99, times=None), carry=1, replace_now=1)
    assert aboard.late.sum() == 0
    assert (replaced == 1).all()


@pytest.mark.parametrize(("late", "share"), [(30, 0.1), (20, 0.0211)])
def test_one_order_in_ten_is_later_than_late_days(late, share):
    # She departs in 30 days; in between, logarithms of days are normal.
    aboard, _ = bring(make_deliveries(lead=10, late=late, times=1.0), carry=1)
    assert aboard.late.mean() == pytest.approx(share, abs=4 * (share / 4_000) ** 0.5)


def test_late_spares_come_aboard_when_she_next_calls_at_home():
    # She is home for the first time on day 52, and leaves on her third leg.
    aboard, _ = bring(make_deliveries(lead=40, late=40, times=1.0), carry=1)
    assert (aboard.joins == 2).all()
    aboard, _ = bring(make_deliveries(lead=40, late=40, times=2.0), carry=1)
    assert (aboard.joins == NEVER).all()


def test_changes_wait_only_for_what_spares_cannot_give():
    late = make_deliveries(lead=40, late=40, times=1.0)
    aboard, replaced = bring(late, carry=1, replace_now=2, pieces=2)
    assert (aboard.late == 1).all()
    assert (replaced == 1).all()


def test_what_meets_her_on_the_way_joins_there():
    ahead = {"ahead": 2, "ahead_at": "Isla", "ahead_day": 40.0}
    aboard, _ = bring(make_deliveries(lead=1, late=1, times=None), carry=1, **ahead)
    assert np.unique(aboard.carry).tolist() == [3]
    assert np.unique(aboard.late).tolist() == [2]
    assert np.unique(aboard.joins).tolist() == [1]
