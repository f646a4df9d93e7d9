"""How many were foretold to fail: against Poisson counts, which pieces of shape 1 make."""

from dataclasses import replace

import numpy as np
import pytest
from lookback_builders import change, make_past
from rehearsal_builders import make_ageing
from scipy.stats import poisson

from stockopt.ageing.ageing import Nodes
from stockopt.lives.build import build_lives
from stockopt.lookback.foretold import foretell, list_used

TWO = {"fitted": [{"model": "M", "part": "seal", "quantity": 2}]}
#: Lengths of spells are rounded by at most half a percent.
NEAR = {"abs": 0.01}


def told(ageing, *rows, **tables):
    now, past = make_past(replacements=list(rows), **(TWO | tables))
    (one,) = foretell(past, build_lives(past.fleet), ageing, build_lives(now))
    return one


def test_twins_of_a_constant_rate_make_a_poisson_count():
    one = told(make_ageing(seal=(1.0, 1000.0)), change(5, slot=1), change(30, slot=1))
    assert one.actual == 2
    assert one.exposure == pytest.approx(1800.0)
    few = one.chances[:6]
    assert few == pytest.approx(poisson.pmf(np.arange(6), 1.8), **NEAR)
    assert one.chances.sum() == pytest.approx(1.0)


def test_what_is_not_known_is_shared_by_all_pieces():
    ageing = make_ageing(seal=(1.0, 1000.0))
    nodes = Nodes(shape=np.ones(2), scale=np.array([500.0, 2000.0]), weight=np.array([0.25, 0.75]))
    ageing = replace(ageing, parts={"seal": replace(ageing.parts["seal"], nodes=nodes)})
    counts = np.arange(6)
    mixed = 0.25 * poisson.pmf(counts, 3.6) + 0.75 * poisson.pmf(counts, 0.9)
    assert told(ageing).chances[:6] == pytest.approx(mixed, **NEAR)


def test_a_planned_change_makes_the_piece_new():
    ageing = make_ageing(seal=(4.0, 2200.0))
    one = {"fitted": [{"model": "M", "part": "seal"}]}
    as_it_was = told(ageing, **one)
    changed = told(ageing, change(1, reason="scheduled"), **one)

    def survives(age, hours):
        return np.exp((age / 2200.0) ** 4 - ((age + hours) / 2200.0) ** 4)

    assert as_it_was.chances[0] == pytest.approx(survives(2000.0, 900.0), **NEAR)
    none = survives(2000.0, 10.0) * survives(0.0, 890.0)
    assert changed.chances[0] == pytest.approx(none, **NEAR)
    assert changed.actual == 0


def test_hours_run_by_all_pieces_are_added():
    now, past = make_past(**TWO)
    assert list_used(build_lives(past.fleet)) == {"seal": pytest.approx(4000.0)}
    assert list_used(build_lives(now)) == {"seal": pytest.approx(5800.0)}
