"""Lives against a second implementation that walks every day."""

import numpy as np
import pytest
from hypothesis import given, settings
from lives_builders import random_fleets
from lives_by_days import walk_fleet

from stockopt.lives.build import build_lives

LIVES = (
    "part boat machine fitted_on slot clock entered left sound failed age_known reason ended_on row"
)
POSITIONS = "boat part machine slot clock age age_at_least consequence"


def rows_of(table, columns):
    return [tuple(map(plain, row)) for row in table[columns.split()].itertuples(index=False)]


def plain(value):
    if value != value:
        return None
    return value.date() if hasattr(value, "date") else value


def by_place(row):
    return (*row[:3], str(row[3]), row[4], row[12])


def assert_same(found, expected):
    assert len(found) == len(expected)
    for one, other in zip(found, expected, strict=True):
        for value, wanted in zip(one, other, strict=True):
            if isinstance(value, float) and isinstance(wanted, float):
                np.testing.assert_allclose(value, wanted, rtol=0, atol=1e-6)
            else:
                assert value == wanted, (one, other)


def assert_same_as_walked(fleet):
    lives, walked = build_lives(fleet), walk_fleet(fleet)
    assert_same(
        sorted(rows_of(lives.lives, LIVES), key=by_place), sorted(walked.lives, key=by_place)
    )
    assert_same(rows_of(lives.positions, POSITIONS), sorted(walked.positions))
    assert lives.left_out.groupby("row")["pieces"].sum().to_dict() == {
        row: pieces for row, pieces in walked.left_out.items() if pieces
    }


@settings(max_examples=40, deadline=None, derandomize=True)
@given(random_fleets())
def test_lives_are_those_of_a_walk_through_every_day(fleet):
    assert_same_as_walked(fleet)


@pytest.mark.full
@settings(max_examples=2000, deadline=None)
@given(random_fleets())
def test_lives_are_those_of_very_many_walks(fleet):
    assert_same_as_walked(fleet)
