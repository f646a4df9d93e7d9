"""A part supposed to fail more often: its hazard times the factor, at every age."""

import numpy as np
import pytest
from report_builders import make_ageing

from stockopt.ageing.ageing import Ageing, Nodes
from stockopt.ageing.faster import fail_faster

NODES = Nodes(
    shape=np.array([1.0, 2.0, 3.5]),
    scale=np.array([400.0, 700.0, 650.0]),
    weight=np.array([0.2, 0.5, 0.3]),
)


def hazard(nodes, age):
    return nodes.shape / nodes.scale * (age / nodes.scale) ** (nodes.shape - 1.0)


@pytest.fixture
def ageing():
    parts = {part: make_ageing(part, nodes=NODES) for part in ("IMP-1", "SEAL-7")}
    return Ageing(parts=parts, notes=(), boat_factors={"Heron": 1.4})


@pytest.mark.parametrize("factor", [0.25, 1.5, 10.0])
def test_the_hazard_is_multiplied_at_every_age(ageing, factor):
    faster = fail_faster(ageing, {"IMP-1": factor}).parts["IMP-1"].nodes
    for age in (0.5, 100.0, 900.0):
        np.testing.assert_allclose(hazard(faster, age), factor * hazard(NODES, age), rtol=1e-12)
    np.testing.assert_array_equal(faster.weight, NODES.weight)


def test_four_times_the_hazard_halves_a_life_of_shape_two(ageing):
    faster = fail_faster(ageing, {"IMP-1": 4.0}).parts["IMP-1"].nodes
    assert faster.scale[1] == pytest.approx(350.0, rel=1e-12)


def test_other_parts_and_what_the_records_say_stay(ageing):
    faster = fail_faster(ageing, {"IMP-1": 2.0})
    assert faster.parts["SEAL-7"] == ageing.parts["SEAL-7"]
    assert faster.parts["IMP-1"].mean_life == ageing.parts["IMP-1"].mean_life
    assert faster.boat_factors == ageing.boat_factors
    assert fail_faster(ageing, {}) is ageing
