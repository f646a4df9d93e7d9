"""Adding over positions, mixing over nodes, and the most that any stretch needs."""

from itertools import pairwise

import numpy as np
import pytest
from demand_builders import make_life, scale_of_mean
from demand_reference import play_out

from stockopt.demand.counts import Position, count_needs
from stockopt.demand.mixture import (
    Needs,
    add_needs,
    add_positions,
    add_used_with,
    find_chances,
    mix_needs,
    sum_up_uses,
    trim,
)


def as_chances(*rows):
    """One node, one stretch each."""
    return [np.array(row, dtype=float).reshape(-1, 1, 1) for row in rows]


def test_chances_are_differences_of_chances_of_at_least():
    chances = find_chances([np.array([[[0.5, 0.2]]]), np.array([[[0.1]]])])
    assert chances[0, :, 0].tolist() == [[0.5, 0.9], [0.3, 0.1], [0.2, 0.0]]


def test_needs_of_two_positions_add():
    one, other = as_chances([0.5, 0.3, 0.2], [0.9, 0.1])
    assert add_needs(one, other).ravel() == pytest.approx([0.45, 0.32, 0.21, 0.02])


def test_replacing_takes_the_oldest_first():
    old = as_chances([0.2, 0.8], [0.6, 0.4])
    new = as_chances([1.0, 0.0], [1.0, 0.0])
    found = add_positions(old, new, np.ones(1))
    assert [chances[0, 0, 0] for chances in found] == pytest.approx([0.12, 0.6, 1.0])


def test_what_hardly_ever_happens_is_put_on_the_last_number_kept():
    (chances,) = as_chances([0.5, 0.5 - 2e-9, 1e-9, 1e-9])
    assert trim(chances, np.ones(1)).ravel() == pytest.approx([0.5, 0.5], abs=1e-15)


def test_other_parts_needs_are_mixed_apart():
    own = Needs(
        weight=np.array([0.5, 0.5]),
        by_stretch=(np.array([[[1.0], [0.5]], [[0.0], [0.5]]]),),
        whole=(np.array([[[1.0], [0.5]], [[0.0], [0.5]]]),),
    )
    weight = np.full(40, 1 / 40)
    chance = np.linspace(0.0, 0.4, 40)
    other = Needs(
        weight=weight,
        by_stretch=(np.stack([1.0 - chance, chance])[..., None],),
        whole=(np.stack([1.0 - chance, chance])[..., None],),
    )
    by_stretch, whole, within = mix_needs(add_used_with(own, sum_up_uses(other), 2))
    # Own: 0 with 3/4, 1 with 1/4. Other: 0 with 0.8, two pieces with 0.2.
    expected = [0.6, 0.2, 0.15, 0.05]
    assert by_stretch[0, 0] == pytest.approx(expected)
    assert whole[0] == pytest.approx(expected)
    assert within[0] == pytest.approx(np.cumsum(expected))


@pytest.mark.parametrize("shape", [0.7, 1.0, 2.0, 4.0])
@pytest.mark.parametrize(
    ("stretches", "length"), [(26, 0.02), (26, 0.1), (5, 0.3)], ids=["weeks", "long weeks", "legs"]
)
def test_most_that_any_stretch_needs_is_near_what_simulation_says(shape, stretches, length):
    """How the stretches hang together is estimated: small chances are near, none far too low."""
    ends = (np.arange(stretches + 1) * length).tolist()
    windows = list(pairwise(ends))
    ages, draws = [0.5, 0.9], 100_000
    counts = count_needs(
        make_life(shape),
        np.ones(1),
        [(0.0, ends[-1]), *windows],
        [Position(age=age, known=True) for age in ages],
    )
    whole, apart = find_chances(counts.at_least[:1]), find_chances(counts.at_least[1:])
    needs = Needs(
        weight=np.ones(1),
        by_stretch=tuple(add_positions(list(apart), list(apart), np.ones(1))[:1]),
        whole=tuple(add_positions(list(whole), list(whole), np.ones(1))[:1]),
    )
    within = mix_needs(needs)[2][0]
    played = sum(
        play_out(shape, float(scale_of_mean(shape)), windows, draws, seed, age=age)[0]
        for seed, age in enumerate(ages)
    )
    most = played.max(axis=0)
    for pieces, chance in enumerate(within[:4]):
        found = np.mean(most > pieces)
        three_errors = 3.0 * np.sqrt(max(found * (1.0 - found), 1.0 / draws) / draws)
        low, high = (0.0, 0.0) if pieces == 0 else (0.004, 0.004) if found < 0.1 else (0.02, 0.08)
        assert -low - three_errors < (1.0 - chance) - found < high + three_errors
