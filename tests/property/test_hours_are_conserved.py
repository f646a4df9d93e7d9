"""The lives of a position tile its machine's clock over the time it was watched."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lives_builders import REASONS, change, fit, lives_of, random_fleets, read
from lives_by_days import walk_fleet

from stockopt.lives.build import build_lives

PLACE = ["part", "boat", "machine", "fitted_on", "slot"]


def watched(lives):
    """Return what was watched of each position, if anything ran."""
    table = lives.lives.assign(watched=lives.lives["left"] - lives.lives["entered"])
    sums = table.groupby(PLACE, dropna=False)["watched"].sum()
    return {
        (*place, None if day != day else day.date(), slot): amount
        for (*place, day, slot), amount in sums.items()
        if amount > 0
    }


@settings(max_examples=40, deadline=None, derandomize=True)
@given(random_fleets())
def test_lives_add_up_to_the_gain_of_the_clock(fleet):
    gains = {place: gain for place, gain in walk_fleet(fleet).gains.items() if gain > 0}
    assert watched(build_lives(fleet)) == pytest.approx(gains, rel=1e-12, abs=1e-9)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    runs=st.lists(st.integers(0, 24 * 30), min_size=1, max_size=12),
    changes=st.lists(
        st.tuples(st.integers(1, 360), st.sampled_from(REASONS), st.integers(1, 3)), max_size=12
    ),
    quantity=st.integers(1, 4),
)
def test_hours_in_are_hours_out(runs, changes, quantity):
    """A meter read every 30 days: whatever is changed, each slot runs what the meter ran."""
    readings = [read(30 * n, 500 + sum(runs[:n])) for n in range(len(runs) + 1)]
    lives = lives_of(
        30 * len(runs),
        machines=[fit()],
        readings=readings,
        fitted=[{"model": "M", "part": "seal", "quantity": quantity}],
        replacements=[
            change(day, reason=reason, quantity=pieces) for day, reason, pieces in changes
        ],
    )
    ran = sum(runs)
    assert [*watched(lives).values()] == pytest.approx([ran] * quantity * (ran > 0), abs=1e-9)
