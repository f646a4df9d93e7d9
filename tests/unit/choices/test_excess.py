import numpy as np
import pytest

from stockopt.choices.excess import find_chance_beyond, find_expected_short


def test_against_the_sums_that_define_them():
    rng = np.random.default_rng(7)
    chance = rng.dirichlet(np.ones(9), size=(3, 2))
    pieces = np.arange(9)
    for n in pieces:
        beyond = chance[..., pieces > n].sum(axis=-1)
        short = (chance * np.maximum(pieces - n, 0)).sum(axis=-1)
        np.testing.assert_allclose(find_chance_beyond(chance)[..., n], beyond, atol=1e-15)
        np.testing.assert_allclose(
            find_expected_short(find_chance_beyond(chance))[..., n], short, atol=1e-14
        )


def test_small_chances_keep_their_digits():
    chance = np.array([1.0 - 3e-9, 2e-9, 1e-9])
    assert find_chance_beyond(chance)[0] == pytest.approx(3e-9, rel=1e-12)
