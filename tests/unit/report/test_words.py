"""Numbers in words."""

import pytest
from report_builders import make_ageing, make_plan

from stockopt.report.words import (
    ageing_text,
    brief,
    gap_text,
    pieces_text,
    range_text,
    share_text,
    sureness,
)


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.0, "0 %"),
        (1.0, "100 %"),
        (0.9995, "over 99.9 %"),
        (0.999, "99.9 %"),
        (0.0004, "under 0.1 %"),
        (0.5, "50.0 %"),
    ],
)
def test_a_share_never_rounds_to_a_certainty(share, text):
    assert share_text(share) == text


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"status": "optimal", "gap": 0.0}, "proven: no plan costs less"),
        ({"status": "optimal", "gap": 2e-7}, "proven: no plan costs less"),
        (
            {"status": "within gap", "gap": 0.0008},
            "proven within 0.30 EUR (0.08 %) of the best",
        ),
        (
            {"status": "within gap", "gap": 0.00081},
            "proven within 0.30 EUR (0.09 %) of the best",
        ),
        (
            {"status": "stopped", "gap": 0.012},
            "the time was up: within 0.30 EUR (1.2 %) of the best",
        ),
        (
            {"status": "stopped", "gap": float("inf")},
            "the time was up: how near the best is not known",
        ),
    ],
)
def test_sureness(changes, text):
    assert sureness(make_plan(**changes)) == text


def test_a_gap_is_never_rounded_down():
    assert gap_text(0.0001001) == "0.02 %"
    assert gap_text(1e-9) == "0.01 %"


@pytest.mark.parametrize(
    ("low", "middle", "high", "text"),
    [
        (1.2, 2.0, 3.0, "wears out"),
        (0.9, 1.5, 3.0, "probably wears out"),
        (0.7, 1.0, 1.4, "fails at any age"),
        (0.5, 0.7, 1.1, "probably fails early"),
        (0.4, 0.6, 0.9, "fails early"),
    ],
)
def test_how_it_ages_follows_the_interval_of_the_shape(low, middle, high, text):
    part = make_ageing("IMP-1", shape_low=low, shape=middle, shape_high=high)
    assert ageing_text(part) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (0.8712, "0.871"),
        (1.0, "1"),
        (12.345, "12.3"),
        (999.9, "1,000"),
        (123456.0, "123,000"),
        (-3.14159, "-3.14"),
        (0.00012345, "0.000123"),
    ],
)
def test_brief_keeps_three_digits(value, text):
    assert brief(value) == text


def test_ranges():
    assert range_text(None, None) == "unknown"
    assert range_text(0.5, None) == "0.5 up"
    assert range_text(0.5, 2.0) == "0.5 to 2"
    assert pieces_text(1) == "1 piece"
    assert pieces_text(1200, "order") == "1,200 orders"
