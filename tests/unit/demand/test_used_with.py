"""Parts used up with others, when pieces of the others are replaced before departure."""

from datetime import date

import numpy as np
import pytest
from demand_builders import make_ageing, make_positions, make_voyage
from demand_reference import play_out

from stockopt.demand.forecast import forecast_demand
from stockopt.demand.used_with import count_replaced

LEGS = [(date(2031, 5, 1), 10, "Isla", 120.0), (date(2031, 5, 11), 20, "Cabo", 200.0)]
PORTS = [{"port": "Isla", "price_factor": 1.5}, {"port": "Cabo"}]
SHAPES, SCALES, WEIGHTS = [2.0, 4.0], [350.0, 500.0], [0.4, 0.6]
USES = [
    {"part": "gasket", "with_part": "impeller", "quantity": 2},
    {"part": "gasket", "with_part": "seal", "quantity": 1},
]


@pytest.fixture(scope="module")
def demand():
    nodes = {"impeller": (SHAPES, SCALES, WEIGHTS), "seal": (3.0, 300.0), "gasket": (1.0, 4000.0)}
    positions = [
        ("Alba", "port engine", "impeller", 320),
        ("Alba", "starboard engine", "impeller", 250),
        ("Alba", "port engine", "seal", 280),
    ]
    fleet = make_voyage(
        {"impeller": {}, "seal": {}, "gasket": {}}, LEGS, ports=PORTS, used_with=USES
    )
    return forecast_demand(make_ageing(**nodes), make_positions(*positions), fleet)


def mean(chances):
    return chances @ np.arange(chances.shape[-1])


@pytest.mark.parametrize(("impellers", "seals"), [(1, 0), (2, 0), (0, 1), (2, 1)])
def test_each_change_that_is_left_under_way_uses_up_its_pieces(demand, impellers, seals):
    replaced = {("Alba", "impeller"): impellers, ("Alba", "seal"): seals}
    after = count_replaced(demand, replaced).parts["Alba", "gasket"]
    changed = demand.parts["Alba", "impeller"], demand.parts["Alba", "seal"]
    uses = 2.0 * mean(changed[0].by_stretch[impellers]) + mean(changed[1].by_stretch[seals])
    assert mean(after.by_stretch[0]) == pytest.approx(uses, abs=1e-6)
    assert mean(after.whole[0]) == pytest.approx(uses.sum(), abs=1e-4)
    assert mean(after.whole[0]) < mean(demand.parts["Alba", "gasket"].whole[0]) - 0.1
    assert after.by_class @ [0.2, 0.3, 0.25, 0.15, 0.08, 0.02] == pytest.approx(
        uses.sum(), abs=1e-4
    )
    assert dict(after.after) == {
        other: count for (_, other), count in replaced.items() if count > 0
    }


def test_chances_are_those_of_boats_played_out(demand):
    """The older impeller is new, the other one and the seal are as they were; a million boats."""
    after = count_replaced(demand, {("Alba", "impeller"): 1}).parts["Alba", "gasket"]
    draws = 1_000_000
    node = np.random.default_rng(1).choice(2, size=draws, p=WEIGHTS)
    shape, scale = np.array(SHAPES)[node], np.array(SCALES)[node]
    stretches = [(0.0, 120.0), (120.0, 320.0), (0.0, 320.0)]
    needs = play_out(3.0, 300.0, stretches, draws, 22, age=280.0)[0]
    for seed, age in ((20, 0.0), (21, 250.0)):
        needs = needs + 2 * play_out(shape, scale, stretches, draws, seed, age=age)[0]
    told = [*after.by_stretch[0], after.whole[0]]
    for chances, seen in zip(told, needs, strict=True):
        drawn = np.bincount(seen, minlength=len(chances))[: len(chances)] / draws
        assert np.abs(chances - drawn).max() < 0.0025
    nothing = (needs[2] == 0).mean()
    assert after.within[0, 0] == pytest.approx(nothing, abs=0.0025)


def test_nothing_replaced_changes_nothing_and_what_was_counted_is_kept(demand):
    assert count_replaced(demand, {}).parts == demand.parts
    replaced = {("Alba", "seal"): 1}
    first, second = (count_replaced(demand, replaced).parts["Alba", "gasket"] for _ in range(2))
    assert first is second
    others = {key for key in demand.parts if key[1] != "gasket"}
    counted = count_replaced(demand, replaced).parts
    assert all(counted[key] is demand.parts[key] for key in others)
