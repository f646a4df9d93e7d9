import numpy as np
import pytest

from stockopt.choices.frontier import find_last_useful, find_undominated


def test_levels_stop_where_one_more_saves_less_than_a_cent():
    saving_less_and_less = np.array([[10.0, 5.0, 4.0, 3.995, 3.994]])
    assert find_last_useful(saving_less_and_less, None).tolist() == [2]


def test_a_level_that_lowers_the_chance_is_kept_where_the_chance_counts():
    cost = np.array([[1.0, 1.0, 1.0, 1.0]])
    chance = np.array([[0.01, 0.005, 0.0049, 0.00485]])
    assert find_last_useful(cost, chance).tolist() == [2]
    assert find_last_useful(cost, None).tolist() == [0]


def test_an_idle_level_below_a_useful_one_does_not_stop():
    # pieces needed in pairs: the first of a pair helps nothing, the second does
    chance = np.array([[0.2, 0.2, 0.01, 0.01]])
    assert find_last_useful(np.zeros((1, 4)), chance).tolist() == [2]


def test_a_level_that_only_mends_a_dearer_one_is_not_useful():
    assert find_last_useful(np.array([[5.0, 9.0, 6.0]]), None).tolist() == [0]


def test_one_level_is_the_last():
    assert find_last_useful(np.array([[5.0], [6.0]]), np.array([[0.1], [0.2]])).tolist() == [0, 0]


@pytest.mark.parametrize("seed", range(20))
def test_undominated_rows_by_the_definition(seed):
    rng = np.random.default_rng(seed)
    rows = rng.integers(0, 4, size=(25, 3)).astype(float)
    kept = [
        not any(
            (other <= row).all() and ((other < row).any() or i < j)
            for i, other in enumerate(rows)
            if i != j
        )
        for j, row in enumerate(rows)
    ]
    assert find_undominated(rows).tolist() == kept
