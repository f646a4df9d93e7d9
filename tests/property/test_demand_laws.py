"""Laws of demand, for any life and plan."""

import math

import numpy as np
from demand_builders import scale_of_mean
from hypothesis import given, settings
from hypothesis import strategies as st

from stockopt.demand.counts import NEW, Position, count_needs
from stockopt.demand.mixture import Needs, add_positions, find_chances, mix_needs
from stockopt.demand.weibull import WeibullLives

# Twice what the design allows each chance, where two are compared.
SLACK = 2e-4

shapes = st.floats(0.5, 8.0)
schedules = st.one_of(st.just(math.inf), st.floats(0.3, 3.0))
positions = st.builds(Position, age=st.floats(0.0, 2.5), known=st.booleans())
lengths = st.lists(st.floats(0.05, 0.8), min_size=1, max_size=4)
many = settings(max_examples=25, deadline=None, derandomize=True)


def make_lives(shape, change_at=math.inf, times=1.0):
    return WeibullLives(
        shape=np.array([shape]),
        scale=np.array([float(scale_of_mean(shape, times))]),
        change_at=change_at * times,
    )


def make_windows(lengths, times=1.0):
    ends = np.concatenate([[0.0], np.cumsum(lengths)]) * times
    return [(0.0, ends[-1]), *zip(ends[:-1].tolist(), ends[1:].tolist(), strict=True)]


@given(shapes, schedules, lengths, st.lists(positions, min_size=1, max_size=3))
@many
def test_chances_add_to_one_and_none_is_negative(shape, change_at, lengths, positions):
    counts = count_needs(
        make_lives(shape, change_at), np.ones(1), make_windows(lengths), [NEW, *positions]
    )
    whole, each = find_chances(counts.at_least[:1]), find_chances(counts.at_least[1:])
    needs = Needs(
        weight=np.ones(1),
        by_stretch=tuple(add_positions(list(each[1:]), [each[0]] * len(positions), np.ones(1))),
        whole=tuple(add_positions(list(whole[1:]), [whole[0]] * len(positions), np.ones(1))),
    )
    by_stretch, total, within = mix_needs(needs)
    for chances in (by_stretch, total):
        assert chances.min() >= 0.0
        assert np.allclose(chances.sum(axis=-1), 1.0, atol=1e-9)
    assert (np.diff(within, axis=1) >= -1e-12).all()
    assert (within >= np.cumsum(total, axis=1) - 1e-9).all()
    assert within.max() <= 1.0


@given(shapes, schedules, st.floats(0.05, 2.0), st.floats(1.0, 2.0), positions)
@many
def test_a_longer_stretch_never_needs_fewer(shape, change_at, length, times, position):
    short, long = (
        count_needs(make_lives(shape, change_at), np.ones(1), [(0.0, end)] * 2, [position])
        for end in (length, length * times)
    )
    few, more = short.at_least[0][0, 0], long.at_least[0][0, 0]
    common = min(len(few), len(more))
    assert (few[:common] <= more[:common] + SLACK).all()
    assert short.failures[0, 0] <= long.failures[0, 0] + SLACK


@given(st.floats(1.0, 8.0), st.floats(0.05, 3.0), positions)
@many
def test_replacing_never_raises_failures_of_parts_that_wear(shape, plan, position):
    counts = count_needs(make_lives(shape), np.ones(1), [(0.0, plan)] * 2, [NEW, position])
    new, fitted = counts.failures[0]
    assert new <= fitted + SLACK


@given(shapes, schedules, lengths, positions, st.sampled_from([0.01, 24.0, 1000.0]))
@many
def test_the_unit_of_the_clock_does_not_matter(shape, change_at, lengths, position, times):
    one = count_needs(make_lives(shape, change_at), np.ones(1), make_windows(lengths), [position])
    other = count_needs(
        make_lives(shape, change_at, times),
        np.ones(1),
        make_windows(lengths, times),
        [Position(age=position.age * times, known=position.known)],
    )
    for first, second in zip(one.at_least, other.at_least, strict=True):
        common = min(first.shape[-1], second.shape[-1])
        assert np.allclose(first[..., :common], second[..., :common], atol=SLACK, rtol=0.0)
    assert np.allclose(one.failures, other.failures, atol=SLACK)
