"""What it costs to leave first lives of unknown age out of the fit."""

import sys

import pytest
from calibration.first_lives import measure, table


def test_first_lives_left_out_cost_most_while_records_are_short():
    scores = measure(2.5, (20, 20), 0.5, sets=25)
    errors = {treatment: error for treatment, (_, error, _) in scores.items()}
    assert errors["left out"] > 1.6 * errors["equilibrium"] > 0.0
    assert errors["equilibrium"] > errors["ages known"]


def test_first_lives_left_out_cost_little_once_each_piece_was_changed_a_few_times():
    scores = measure(2.5, (20, 20), 4.0, sets=25)
    assert scores["left out"][1] < 1.3 * scores["equilibrium"][1]
    assert abs(scores["left out"][0]) < 0.05


@pytest.mark.bench
def test_table_of_first_lives():
    sys.stdout.write("\n" + table(sets=200) + "\n")
