import numpy as np
import pytest
from ageing_builders import fleet_of_parts

from stockopt.ageing.prior import default_priors, line_up


def priors_of(*parts):
    return default_priors(fleet_of_parts(*parts).parts)


def test_expected_life_is_trusted_within_a_factor_of_three():
    priors, notes = priors_of({"part": "seal", "expected_life": 600, "wear": "wears"})
    seal = priors["seal"]
    assert np.exp(seal.log_life) == pytest.approx(600)
    assert np.exp(1.645 * seal.log_life_spread) == pytest.approx(3.2, abs=0.05)
    assert np.exp(seal.log_shape) == pytest.approx(2.2)
    assert notes == {}
    assert seal.words == (
        "mean life 600 hours within a factor 3.2 (its expected life), "
        "shape 2.2 within a factor 1.8 (wears), 9 times in 10"
    )


@pytest.mark.parametrize(("wear", "shape"), [("wears", 2.2), ("random", 1.0), (None, 1.5)])
def test_shape_follows_the_kind_of_wear(wear, shape):
    priors, _ = priors_of({"part": "x", "expected_life": 600, "wear": wear})
    assert np.exp(priors["x"].log_shape) == pytest.approx(shape)


def test_a_member_without_a_life_takes_the_family_centre_of_its_own_clock():
    family = {"family": "belts"}
    priors, notes = priors_of(
        {"part": "a", "expected_life": 400, **family},
        {"part": "b", "expected_life": 900, **family},
        {"part": "c", **family},
        {"part": "d", "expected_life": 9000, "clock": "days", **family},
    )
    assert np.exp(priors["c"].log_life) == pytest.approx(600)
    assert priors["c"].log_life_spread > priors["a"].log_life_spread
    assert "the expected lives of family belts" in priors["c"].words
    assert notes == {}


def test_nothing_known_is_said_and_wide():
    priors, notes = priors_of(
        {"part": "a"},
        {"part": "b", "clock": "days", "family": "hoses"},
        {"part": "c", "expected_life": 700},
    )
    assert np.exp(priors["a"].log_life) == pytest.approx(2000)
    assert np.exp(priors["b"].log_life) == pytest.approx(1500)
    assert priors["a"].log_life_spread == 1.5
    assert [(note.table, note.row, note.column) for note in notes.values()] == [
        ("parts", 2, "expected_life"),
        ("parts", 3, "expected_life"),
    ]
    assert notes["b"].text == (
        "part b has no expected life, nor has its family: began from 1,500 days within a factor 12"
    )


def test_parts_without_a_family_are_no_family():
    priors, notes = priors_of({"part": "a", "expected_life": 700}, {"part": "b"})
    assert np.exp(priors["b"].log_life) == pytest.approx(2000)
    assert len(notes) == 1


def test_side_by_side_in_the_order_given():
    priors, _ = priors_of({"part": "a", "expected_life": 100}, {"part": "b", "expected_life": 10})
    side = line_up([priors["b"], priors["a"]])
    assert np.exp(side.log_life) == pytest.approx([10, 100])
