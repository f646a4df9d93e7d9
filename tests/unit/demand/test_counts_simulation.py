"""Chances of one position given a node, against a million lives played out."""

import math

import numpy as np
import pytest
from demand_builders import count_one, make_life, scale_of_mean
from demand_reference import play_out

from stockopt.demand.counts import Position, count_needs

DRAWS = 1_000_000
STRETCHES = [(0.0, 0.35), (0.35, 0.5), (0.5, 1.13), (0.0, 1.13)]
CASES = {
    "worn, of known age": {"shape": 3.0, "age": 0.8},
    "older than most": {"shape": 2.0, "age": 1.7},
    "fails young": {"shape": 0.6, "age": 0.3},
    "of unknown age": {"shape": 2.5, "known": False},
    "of unknown age, at least some": {"shape": 2.5, "age": 0.4, "known": False},
    "changed on schedule": {"shape": 2.0, "age": 0.27, "change_at": 0.41},
    "past its schedule": {"shape": 1.3, "age": 0.6, "change_at": 0.41},
    "of unknown age, changed on schedule": {"shape": 2.0, "known": False, "change_at": 0.41},
}


@pytest.mark.parametrize("name", CASES)
def test_chances_agree_with_lives_played_out(name):
    case = dict(CASES[name])
    shape = case.pop("shape")
    chances = count_one(shape, STRETCHES, **case)
    seed = list(CASES).index(name)
    scale = float(scale_of_mean(shape))
    needs, failures = play_out(shape, scale, STRETCHES, DRAWS, 20310 + seed, **case)
    for window, at_least in enumerate(chances):
        for count, chance in enumerate(at_least, start=1):
            if chance > 1e-4:  # below it a million draws say little
                spread = math.sqrt(chance * (1.0 - chance) / DRAWS)
                assert abs(np.mean(needs[window] >= count) - chance) < 3.0 * spread + 1e-9
    expected = count_needs(
        make_life(shape, change_at=case.get("change_at", math.inf)),
        np.ones(1),
        [STRETCHES[-1]],
        [Position(age=case.get("age", 0.0), known=case.get("known", True))],
    ).failures[0, 0]
    assert abs(failures.mean() - expected) < 3.0 * failures.std() / math.sqrt(DRAWS)
