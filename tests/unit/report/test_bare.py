"""What a boat risks with nothing aboard."""

from types import SimpleNamespace

import numpy as np
import pytest

from stockopt.report.bare import find_bare_readiness


def need(consequence, chance_of_none):
    return SimpleNamespace(
        consequence=consequence, whole=np.array([[chance_of_none, 1.0 - chance_of_none]])
    )


def test_only_parts_that_stop_her_count_and_their_chances_multiply():
    demand = SimpleNamespace(
        parts={
            ("Heron", "A"): need("stops", 0.9),
            ("Heron", "B"): need("stops", 0.5),
            ("Heron", "C"): need("limits", 0.1),
            ("Tern", "C"): need("nuisance", 0.1),
        }
    )
    assert find_bare_readiness(demand) == pytest.approx({"Heron": 0.45, "Tern": 1.0})
