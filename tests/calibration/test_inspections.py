"""Half way between sound and worn is near enough to the exact term; when found is not."""

import sys

import pytest
from calibration.inspections import measure, table


@pytest.mark.parametrize("shape", [2.0, 3.0])
@pytest.mark.parametrize("interval", [0.1, 0.5])
def test_half_way_gives_the_mean_life_and_when_found_does_not(shape, interval):
    ratios = measure(shape, interval, sets=8)
    assert ratios["half way"][0] == pytest.approx(ratios["in between"][0], abs=0.01)
    assert ratios["half way"][0] == pytest.approx(1.0, abs=0.02)
    # Found half an interval late on average.
    assert ratios["when found"][0] - 1.0 == pytest.approx(interval / 2.0, rel=0.4)


def test_half_way_bends_the_shape_by_little_until_half_a_mean_life():
    for shape, within in ((1.0, 0.25), (3.0, 0.12)):
        ratios = measure(shape, 0.5, sets=8)
        assert ratios["half way"][1] == pytest.approx(1.0, abs=within)
        assert abs(ratios["when found"][1] - 1.0) > abs(ratios["half way"][1] - 1.0)


@pytest.mark.bench
def test_table_of_treatments():
    sys.stdout.write("\n" + table() + "\n")
