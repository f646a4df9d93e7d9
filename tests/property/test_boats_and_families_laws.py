"""Laws of boats, families and tests: names and order mean nothing."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from ageing_builders import aboard, fell, fleet_of_parts, lives_of_parts, ran
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from stockopt.ageing.fit import fit_ageing

drawn = settings(
    max_examples=12, deadline=None, derandomize=True, phases=(Phase.explicit, Phase.generate)
)

BOATS = ("Alba", "Boreas", "Circe", "Dione")
PARTS = ("seal", "belt", "hose")
DAY_0 = pd.Timestamp("2020-01-01")

pieces = st.builds(
    lambda boat, run, entered, failed, began, days: aboard(
        boat,
        (fell if failed else ran)(run + entered, entered),
        DAY_0 + pd.Timedelta(days=began) if began else pd.NaT,
        DAY_0 + pd.Timedelta(days=began + days),
    )[0],
    st.sampled_from(BOATS),
    st.integers(2, 3000),
    st.sampled_from([0, 0, 300]),
    st.booleans(),
    st.integers(0, 2000),
    st.integers(1, 900),
)
histories = st.fixed_dictionaries({part: st.lists(pieces, max_size=14) for part in PARTS})


def parts_of(family="drive"):
    return [
        {
            "part": part,
            "family": family,
            "wear": "wears",
            "expected_life": expected,
            "price": 30,
            "failure_cost": 400,
        }
        for part, expected in zip(PARTS, (700, 900, None), strict=True)
    ]


def fit(lives, *, boats=BOATS, parts=None):
    return fit_ageing(lives_of_parts(lives), fleet_of_parts(*(parts or parts_of()), boats=boats))


def agree(one, other, rel):
    assert (one is None) == (other is None)
    if one is not None:
        assert one == pytest.approx(other, rel=rel, abs=1e-6)


def same(one, other):
    """Everything told of a part, but for words and nodes."""
    for name in ("shape", "mean_life", "mean_life_low", "mean_life_high", "rate_per_1000"):
        agree(getattr(one, name), getattr(other, name), 1e-6)
    for name in ("trend_z", "boats_statistic", "wear_ratio", "newest_expected", "newest_p"):
        agree(getattr(one.tests, name), getattr(other.tests, name), 1e-5)
    assert (one.best_age.age is None) == (other.best_age.age is None)
    agree(one.best_age.cost, other.best_age.cost, 1e-5)


@drawn
@given(histories)
def test_relabelling_boats_changes_only_labels(lives):
    names = dict(zip(BOATS, ("Vesper", "Argo", "Mira", "Zephyr"), strict=True))
    renamed = {
        part: [{**life, "boat": names[life["boat"]]} for life in own] for part, own in lives.items()
    }
    one, other = fit(lives), fit(renamed, boats=tuple(names.values()))
    for part in PARTS:
        same(one.parts[part], other.parts[part])
    for boat, name in names.items():
        assert one.boat_factors[boat] == pytest.approx(other.boat_factors[name], rel=1e-5)
    assert one.boat_spread.used == other.boat_spread.used


@drawn
@given(histories, st.permutations(BOATS), st.randoms(use_true_random=False))
def test_order_of_boats_and_lives_means_nothing(lives, boats, chance):
    mixed = {part: list(own) for part, own in lives.items()}
    for own in mixed.values():
        chance.shuffle(own)
    one, other = fit(lives), fit(mixed, boats=tuple(boats))
    for part in PARTS:
        same(one.parts[part], other.parts[part])
    for boat in BOATS:
        assert one.boat_factors[boat] == pytest.approx(other.boat_factors[boat], rel=1e-5)


@drawn
@given(histories, st.permutations(range(3)))
def test_order_of_parts_in_a_family_means_nothing(lives, order):
    parts = parts_of()
    one, other = fit(lives), fit(lives, parts=[parts[place] for place in order])
    for part in PARTS:
        same(one.parts[part], other.parts[part])
        assert one.parts[part].prior == other.parts[part].prior
    assert len(one.families) == len(other.families)


@drawn
@given(histories)
def test_the_familys_name_means_nothing(lives):
    one, other = fit(lives), fit(lives, parts=parts_of("gear"))
    for part in PARTS:
        same(one.parts[part], other.parts[part])
    for mine, its in zip(one.families, other.families, strict=True):
        assert replace(its, family="drive") == mine


@drawn
@given(histories)
def test_factors_are_above_zero_and_one_where_boats_are_alike(lives):
    ageing = fit(lives)
    factors = np.array(list(ageing.boat_factors.values()))
    assert (factors > 0.0).all()
    if not ageing.boat_spread.used:
        assert (factors == 1.0).all()
    for part in ageing.parts.values():
        assert part.best_age.cost <= part.best_age.cost_to_failure
        for p in (part.tests.trend_p, part.tests.boats_p, part.tests.newest_p):
            assert p is None or 0.0 <= p <= 1.0
