"""Building lives alters no table."""

from hypothesis import given, settings
from lives_builders import random_fleets
from pandas.testing import assert_frame_equal

from stockopt.fleet.tables import TABLES
from stockopt.lives.build import build_lives


@settings(max_examples=20, deadline=None, derandomize=True)
@given(random_fleets())
def test_tables_are_as_before(fleet):
    before = {name: getattr(fleet, name).copy(deep=True) for name in TABLES}
    build_lives(fleet)
    for name, table in before.items():
        assert_frame_equal(getattr(fleet, name), table)
