"""What not knowing the slot does to mean life and shape, rule by rule."""

import sys

import pytest
from calibration.slot_rule import measure, table


@pytest.mark.parametrize("count", [2, 6])
def test_drawn_slots_tell_a_part_that_fails_at_random_from_one_that_wears(count):
    found = measure(1.0, count, positions=600)
    assert found["drawn, wear told"][1] == pytest.approx(1.0, abs=0.1)
    assert found["drawn, wear told"][0] == pytest.approx(found["as they were"][0], abs=0.03)
    # The oldest taken each time makes it look as if it wore, the more the more there are.
    assert found["oldest"][1] > 1.3 + 0.1 * (count - 2)
    assert found["oldest"][0] < 0.95 * found["as they were"][0]


def test_of_a_part_that_wears_the_shape_is_drawn_towards_the_usual_one():
    found = measure(3.0, 4, positions=600)
    assert 2.1 < found["drawn, wear told"][1] < 2.7
    assert found["drawn, wear told"][0] == pytest.approx(1.0, abs=0.04)
    assert found["oldest"][1] > 3.5


def test_not_told_whether_it_wears_the_shape_is_in_between():
    for shape, low, high in ((1.0, 1.1, 1.4), (2.0, 1.5, 1.8)):
        found = measure(shape, 4, positions=600)
        assert low < found["drawn, wear not told"][1] < high
        life = found["drawn, wear not told"][0]
        assert life == pytest.approx(found["as they were"][0], abs=0.08)


@pytest.mark.bench
def test_table_of_rules():
    sys.stdout.write("\n" + table() + "\n")
