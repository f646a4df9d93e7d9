"""The order of rows in the tables, and the names of boats, mean nothing."""

from dataclasses import replace

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from lives_builders import random_fleets
from pandas.testing import assert_frame_equal

from stockopt.fleet.tables import TABLES
from stockopt.lives.build import build_lives

SWAPPED = {"Alba": "Brisa", "Brisa": "Alba"}


def shuffled(fleet, seed):
    return replace(
        fleet,
        **{name: getattr(fleet, name).sample(frac=1, random_state=seed) for name in TABLES},
    )


def renumbered(fleet):
    tables = {}
    for name in TABLES:
        table = getattr(fleet, name)
        tables[name] = table.set_axis(pd.RangeIndex(2, 2 + len(table), name="row"))
    return replace(fleet, **tables)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(random_fleets(), st.integers(0, 2**32 - 1))
def test_reordering_the_rows_of_every_table_changes_nothing(fleet, seed):
    lives = build_lives(fleet)
    other = build_lives(shuffled(fleet, seed))
    assert_frame_equal(other.lives, lives.lives)
    assert_frame_equal(other.positions, lives.positions)
    assert_frame_equal(other.left_out, lives.left_out)
    assert other.notes == lives.notes


@settings(max_examples=30, deadline=None, derandomize=True)
@given(random_fleets(), st.integers(0, 2**32 - 1))
def test_typing_the_rows_in_another_order_changes_row_numbers_only(fleet, seed):
    lives = build_lives(fleet)
    other = build_lives(renumbered(shuffled(fleet, seed)))
    assert_frame_equal(other.lives.drop(columns="row"), lives.lives.drop(columns="row"))
    assert_frame_equal(other.positions, lives.positions)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(random_fleets())
def test_exchanging_the_names_of_boats_changes_names_only(fleet):
    # What is fitted to one boat alone goes with her name.
    named = {name: getattr(fleet, name).replace({"boat": SWAPPED}) for name in TABLES}
    lives, other = build_lives(fleet), build_lives(replace(fleet, **named))

    def back(table, keys):
        return table.replace({"boat": SWAPPED}).sort_values(keys, ignore_index=True)

    keys = ["part", "boat", "machine", "fitted_on", "slot", "ended_on"]
    assert_frame_equal(back(other.lives, keys), lives.lives.sort_values(keys, ignore_index=True))
    keys = ["boat", "part", "machine", "slot"]
    assert_frame_equal(back(other.positions, keys), lives.positions)
    assert len(other.notes) == len(lives.notes)
