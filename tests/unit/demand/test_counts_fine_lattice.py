"""Chances of one position given a node, against a fine lattice that shares no code."""

import math
from itertools import pairwise, product

import numpy as np
import pytest
from demand_builders import count_one, scale_of_mean
from demand_reference import lattice_at_least

# What the design allows; the largest found in the whole study is 9.2e-5, at shape 0.5 with
# changes on schedule, and 2.4e-5 without.
ALLOWED = 1e-4
AGES = [(True, 0.0), (True, 0.25), (True, 0.8), (True, 1.5), (False, 0.0), (False, 0.2)]


def greatest_error(shape, plan, change_at, known, age, points):
    step = plan / (points - 0.5)
    cuts = [0, points // 8, points // 3 + 7, int(points * 0.618), points]
    ends = [*pairwise(cuts), (0, points)]
    windows = [(max(i - 0.5, 0.0) * step, (j - 0.5) * step) for i, j in ends]
    change = None if change_at is None else round(change_at / step)
    old = round(age / step)
    got = count_one(
        shape,
        windows,
        age=old * step,
        known=known,
        change_at=math.inf if change is None else change * step,
    )
    fine = lattice_at_least(
        shape,
        float(scale_of_mean(shape)),
        ends,
        max(len(chances) for chances in got),
        age=old,
        known=known,
        change_at=change,
        step=step,
    )
    # Beyond the needs followed up, the fine chances are next to nothing.
    assert all(fine[w, len(chances) :].max(initial=0.0) < 1e-6 for w, chances in enumerate(got))
    return max(abs(fine[w, : len(chances)] - chances).max() for w, chances in enumerate(got))


@pytest.mark.parametrize("shape", [0.5, 0.8, 1.5, 3.0, 8.0])
@pytest.mark.parametrize("change_at", [None, 0.9])
def test_unequal_stretches_agree_with_a_fine_lattice(shape, change_at):
    for known, age in AGES[1:5:3]:
        for plan in (0.4, 2.5):
            assert greatest_error(shape, plan, change_at, known, age, 4096) < ALLOWED


@pytest.mark.full
@pytest.mark.parametrize("shape", [0.5, 0.6, 0.8, 1.0, 1.5, 2.2, 3.0, 5.0, 8.0])
def test_every_horizon_age_and_schedule_agrees_with_a_fine_lattice(shape):
    for plan, change_at, (known, age) in product(
        (0.01, 0.1, 0.7, 2.0, 5.0), (None, 0.31, 0.9, 1.6), AGES
    ):
        if known or age < (change_at or math.inf):
            error = greatest_error(shape, plan, change_at, known, age, 8192)
            assert error < ALLOWED, (plan, change_at, known, age, error)


@pytest.mark.parametrize("shape", [0.5, 1.0, 3.0])
def test_equal_stretches_are_the_same_however_they_are_cut(shape):
    """A second lattice: weeks of 20 h in one, the same weeks in a plan of odd length."""
    weeks = [(20.0 * week, 20.0 * week + 20.0) for week in range(5)]
    odd = [*weeks, (100.0, 100.0 + 37.0 * math.sqrt(2.0))]
    even = [*weeks, (100.0, 160.0)]
    one = count_one(shape, odd, age=90.0, mean=150.0)
    other = count_one(shape, even, age=90.0, mean=150.0)
    for week in range(5):
        k = min(len(one[week]), len(other[week]))
        assert np.allclose(one[week][:k], other[week][:k], atol=ALLOWED, rtol=0.0)


def test_a_clock_that_stands_still_needs_nothing():
    chances = count_one(2.0, [(0.0, 0.0), (0.0, 0.5), (0.5, 0.5)], age=0.9)
    assert chances[0].max() == 0.0
    assert chances[2].max() == 0.0
    assert chances[1][0] > 0.1
    (none,) = count_one(0.7, [(0.0, 0.0)])
    assert none.max() == 0.0


def test_a_change_due_when_a_stretch_ends_belongs_to_the_next():
    # Nothing fails: shape 8, mean 10, ages below 0.5.
    stretches = [(0.0, 0.1), (0.1, 0.2), (0.2, 0.3)]
    due = count_one(8.0, stretches, age=0.2, change_at=0.3, mean=10.0)
    assert [round(chances[0], 6) for chances in due] == [0.0, 1.0, 0.0]
    last_day = count_one(8.0, stretches, age=0.0, change_at=0.3, mean=10.0)
    assert [round(chances[0], 6) for chances in last_day] == [0.0, 0.0, 0.0]


def test_a_piece_past_its_change_is_due_at_departure():
    stretches = [(0.0, 0.1), (0.1, 0.2)]
    for known in (True, False):
        late = count_one(8.0, stretches, age=0.5, known=known, change_at=0.15, mean=10.0)
        assert [round(chances[0], 6) for chances in late] == [1.0, 1.0]
        assert late[0][1:].max(initial=0.0) < 1e-6
