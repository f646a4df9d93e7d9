"""Demand of whole boats: what is counted where, and twins against simulation."""

import math
from datetime import date

import numpy as np
import pytest
from demand_builders import make_ageing, make_positions, make_voyage
from demand_reference import play_out

from stockopt.demand.forecast import forecast_demand

ISLA = {"ports": [{"port": "Isla", "price_factor": 1.5}, {"port": "Cabo"}]}
TWO_LEGS = [(date(2031, 5, 1), 10, "Isla", 120.0), (date(2031, 5, 11), 20, "Cabo", 200.0)]
WEARS = (3.0, 600.0)


def forecast(parts, nodes, positions, legs=TWO_LEGS, **tables):
    fleet = make_voyage(parts, legs, **{**ISLA, **tables})
    return forecast_demand(make_ageing(**nodes), make_positions(*positions), fleet).parts


def at_least_one(demand, f=0, stretch=None):
    chances = demand.whole[f] if stretch is None else demand.by_stretch[f, stretch]
    return 1.0 - chances[0]


def test_shapes_and_totals():
    seal = forecast(
        {"seal": {}},
        {"seal": ([2.0, 3.0], [500.0, 700.0], [0.3, 0.7])},
        [("Alba", "port engine", "seal", 450), ("Alba", "starboard engine", "seal", None)],
    )["Alba", "seal"]
    assert seal.positions == 2
    pieces = seal.whole.shape[1]
    assert seal.by_stretch.shape == (3, 2, pieces)
    assert seal.within.shape == (3, pieces)
    assert seal.failures.shape == seal.remaining.shape == (3,)
    assert np.allclose(seal.by_stretch.sum(axis=2), 1.0)
    assert np.allclose(seal.whole.sum(axis=1), 1.0)
    # Nothing is changed on schedule: needs are failures, in all and stretch by stretch.
    needs = np.arange(pieces)
    assert np.allclose(seal.whole @ needs, seal.failures, atol=2e-5)
    assert np.allclose((seal.by_stretch @ needs).sum(axis=1), seal.failures, atol=5e-5)
    assert [len(stretch.legs) for stretch in seal.stretches] == [1, 1]


def test_twins_share_their_node_and_are_mixed_after_adding():
    """Twins of equal hours: a million boats, both seals of each drawn from one node."""
    shapes, scales, weights = [2.0, 4.0], [350.0, 800.0], [0.4, 0.6]
    positions = [("Alba", f"{side} engine", "seal", 300) for side in ("port", "starboard")]
    seal = forecast({"seal": {}}, {"seal": (shapes, scales, weights)}, positions)["Alba", "seal"]
    draws = 1_000_000
    node = np.random.default_rng(1).choice(2, size=draws, p=weights)
    shape, scale = np.array(shapes)[node], np.array(scales)[node]
    # Both came to 300 h: the node's weight in the table says so already.
    stretches = [(0.0, 120.0), (120.0, 320.0), (0.0, 320.0)]
    needs = sum(
        play_out(shape, scale, stretches, draws, 20 + side, age=300.0)[0] for side in range(2)
    )
    for found, chances in zip(needs, [*seal.by_stretch[0], seal.whole[0]], strict=True):
        for pieces, chance in enumerate(chances):
            error = math.sqrt(chance * (1.0 - chance) / draws)
            assert abs(np.mean(found == pieces) - chance) < 3.0 * error + 2e-6
    most = needs[:2].max(axis=0)
    assert np.mean(most == 0) == pytest.approx(seal.within[0, 0], abs=0.0015)
    # How the two legs hang together beside the node is estimated.
    assert np.mean(most <= 1) == pytest.approx(seal.within[0, 1], abs=0.006)
    # Taken as independent they would both fail less often.
    alone = np.mean(play_out(shape, scale, stretches, draws, 20, age=300.0)[0][2] > 0)
    assert np.mean(needs[2] >= 2) > 1.1 * alone**2


def test_oldest_first_unknown_before_all_and_ties_by_machine():
    life = {"seal": WEARS}
    ages = {"port engine": 100.0, "starboard engine": 500.0}

    def chances(**ages):
        positions = [("Alba", name.replace("_", " "), "seal", age) for name, age in ages.items()]
        return forecast({"seal": {}}, life, positions)["Alba", "seal"]

    both = chances(**{name.replace(" ", "_"): age for name, age in ages.items()})
    rejuvenated = chances(port_engine=100.0, starboard_engine=0.0)
    assert np.allclose(both.whole[1, :3], rejuvenated.whole[0, :3], atol=1e-7)
    unknown = chances(port_engine=None, starboard_engine=500.0)
    known = chances(port_engine=0.0, starboard_engine=500.0)
    assert np.allclose(unknown.whole[1, :3], known.whole[0, :3], atol=1e-7)


def test_each_machine_runs_its_own_hours():
    own = {"boat": "Alba", "departs_on": date(2031, 5, 11), "machine": "port engine", "hours": 0}
    seal = forecast(
        {"seal": {}}, {"seal": WEARS}, [("Alba", "port engine", "seal", 500)], leg_hours=[own]
    )["Alba", "seal"]
    assert at_least_one(seal, stretch=1) == 0.0
    expected = 1.0 - math.exp((500 / 600) ** 3 - (620 / 600) ** 3)
    assert at_least_one(seal) == pytest.approx(expected, abs=1e-6)


def test_the_calendar_runs_from_the_day_of_the_plan():
    """30 days to departure, 30 days of legs, whatever the hours."""
    days = {"clock": "days"}
    battery = forecast(
        {"battery": days},
        {"battery": (4.0, 1500.0)},
        [("Alba", "port engine", "battery", 1400, days)],
    )["Alba", "battery"]
    expected = 1.0 - math.exp((1430 / 1500) ** 4 - (1460 / 1500) ** 4)
    assert at_least_one(battery) == pytest.approx(expected, abs=1e-6)


def test_changes_on_schedule_are_needs_and_not_failures():
    filters = forecast(
        {"filter": {"replace_every": 250}},
        {"filter": (4.0, 5000.0)},
        [("Alba", "port engine", "filter", 200)],
    )["Alba", "filter"]
    # Due after 50 h and 300 h of 320 h; new now, after 250 h.
    assert filters.whole[0, 2] == pytest.approx(1.0, abs=1e-4)
    assert filters.whole[1, 1] == pytest.approx(1.0, abs=1e-4)
    assert filters.by_stretch[0, :, 1] == pytest.approx([1.0, 1.0], abs=1e-4)
    assert filters.within[0, :2] == pytest.approx([0.0, 1.0], abs=1e-4)
    assert filters.failures.max() < 1e-4
    # At the end it has run 20 h, or 70 h, of at most 250 h.
    assert filters.remaining == pytest.approx([230 / 250, 180 / 250], abs=1e-3)


def test_a_change_overdue_is_needed_under_way_unless_done_before():
    overdue = forecast(
        {"filter": {"replace_every": 400}},
        {"filter": (4.0, 9000.0)},
        [("Alba", "port engine", "filter", 650)],
    )["Alba", "filter"]
    assert overdue.by_stretch[0, :, 1] == pytest.approx([1.0, 0.0], abs=1e-4)
    assert at_least_one(overdue, f=1) < 1e-4


def test_remaining_life_is_what_simulation_leaves():
    """From the age at the end of 200,000 plans, and the residual life in closed form."""
    seal = forecast({"seal": {}}, {"seal": WEARS}, [("Alba", "port engine", "seal", 500)])
    rng = np.random.default_rng(5)
    draws, plan = 200_000, 320.0
    time = 600.0 * ((500 / 600) ** 3 + rng.exponential(size=draws)) ** (1 / 3) - 500.0
    while (running := time < plan).any():
        time[running] += 600.0 * rng.exponential(size=running.sum()) ** (1 / 3)
    left = (time - plan) / (600.0 * math.gamma(4 / 3))
    found = seal["Alba", "seal"].remaining[0]
    assert abs(found - left.mean()) < 3.0 * left.std() / math.sqrt(draws)


def test_remaining_life_before_departure_is_the_residual_life_of_what_is_fitted():
    """By plain integration of the survival from 500 h on, over the mean life."""
    seal = forecast({"seal": {}}, {"seal": WEARS}, [("Alba", "port engine", "seal", 500)])
    beyond = np.linspace(0.0, 3_000.0, 300_001)
    residual = np.trapezoid(np.exp((500 / 600) ** 3 - ((500 + beyond) / 600) ** 3), beyond)
    expected = residual / (600.0 * math.gamma(4 / 3))
    assert math.isclose(seal["Alba", "seal"].remaining_now, expected, rel_tol=1e-8)


def test_failures_are_shared_out_by_consequence():
    wear = forecast(
        {"belt": {}},
        {"belt": (1.0, 1000.0)},
        [
            ("Alba", "port engine", "belt", 10, {"consequence": "limits"}),
            ("Alba", "starboard engine", "belt", 10, {"consequence": "limits"}),
            ("Alba", "starboard engine", "belt", 10, {"consequence": "nuisance"}),
        ],
    )["Alba", "belt"]
    assert wear.consequence == "limits"
    assert wear.failure_shares == pytest.approx([0.0, 2 / 3, 1 / 3])


IMPELLER_NODES = {
    "impeller": ([2.0, 3.0], [400.0, 600.0], [0.5, 0.5]),
    "gasket": (1.0, 4000.0),
}
IMPELLER = ("Alba", "port engine", "impeller", 300)
GASKET_USE = [{"part": "gasket", "with_part": "impeller", "quantity": 2}]


class TestUsedWith:
    def test_a_part_fitted_nowhere_is_needed_with_every_change_of_the_other(self):
        parts = forecast(
            {"impeller": {}, "gasket": {"consequence": "nuisance"}},
            IMPELLER_NODES,
            [IMPELLER],
            used_with=GASKET_USE,
        )
        gasket, impeller = parts["Alba", "gasket"], parts["Alba", "impeller"]
        assert gasket.positions == 0
        assert gasket.consequence == "nuisance"
        assert gasket.failure_shares.tolist() == [0.0, 0.0, 1.0]
        assert gasket.failures.tolist() == gasket.remaining.tolist() == [0.0]
        assert np.allclose(gasket.whole[0, ::2][:3], impeller.whole[0, :3], atol=1e-7)
        assert gasket.whole[0, 1::2].max() == 0.0
        assert np.allclose(
            gasket.by_stretch[0, :, ::2][:, :2], impeller.by_stretch[0, :, :2], atol=1e-7
        )
        assert gasket.within[0, 0] == pytest.approx(impeller.within[0, 0], abs=1e-9)
        assert len(gasket.stretches) == 2

    def test_own_positions_and_uses_add(self):
        parts = forecast(
            {"impeller": {}, "gasket": {}},
            IMPELLER_NODES,
            [IMPELLER, ("Alba", "port engine", "gasket", 100)],
            used_with=GASKET_USE,
        )
        gasket, impeller = parts["Alba", "gasket"], parts["Alba", "impeller"]
        mean = gasket.whole @ np.arange(gasket.whole.shape[1])
        uses = impeller.whole[0] @ np.arange(impeller.whole.shape[1])
        assert mean == pytest.approx(gasket.failures + 2.0 * uses, abs=1e-4)
        assert gasket.failures == pytest.approx([0.08, 0.08], abs=1e-4)

    def test_the_other_parts_changes_fall_in_this_parts_stretches(self):
        """The gasket can be had in Isla, the impeller nowhere."""
        parts = forecast(
            {"impeller": {}, "gasket": {}},
            IMPELLER_NODES,
            [IMPELLER],
            used_with=GASKET_USE,
            ports=[],
            sources=[{"source": "chandler", "kind": "local", "delivers_to": "Isla"}],
            prices=[{"source": "chandler", "part": "gasket", "price": 3}],
        )
        gasket, impeller = parts["Alba", "gasket"], parts["Alba", "impeller"]
        assert len(impeller.stretches) == 1
        assert len(gasket.stretches) == 2
        uses = gasket.by_stretch[0] @ np.arange(gasket.by_stretch.shape[2])
        assert uses.sum() == pytest.approx(2.0 * impeller.failures[0], abs=1e-4)
        assert 0.0 < uses[0] < uses[1]


SEAL_NODES = {"seal": ([2.5, 3.5], [560.0, 670.0], [0.5, 0.5])}
HUNDRED = [(date(2031, 5, 1), 10, "Cabo", 100.0)]


class TestTrade:
    """Common practice, no source: a raw-water pump's shaft seal lasts about 500 h and wears."""

    def chance(self, age):
        seal = forecast({"seal": {}}, SEAL_NODES, [("Alba", "port engine", "seal", age)], HUNDRED)[
            "Alba", "seal"
        ]
        return at_least_one(seal)

    def test_a_worn_seal_fails_much_sooner_than_a_new_one(self):
        assert self.chance(0) < 0.02
        assert self.chance(500) > 0.25

    def test_replacing_both_worn_seals_all_but_removes_failures(self):
        twins = [("Alba", f"{side} engine", "seal", 500) for side in ("port", "starboard")]
        seal = forecast({"seal": {}}, SEAL_NODES, twins, HUNDRED)["Alba", "seal"]
        assert seal.failures[0] > 0.5
        assert seal.failures[1] < 0.6 * seal.failures[0]
        assert seal.failures[2] < 0.03


def test_boats_without_legs_and_inputs_are_left_alone():
    fleet = make_voyage({"seal": {}}, TWO_LEGS, **ISLA)
    lives = make_positions(
        ("Alba", "port engine", "seal", 100), ("Brisa", "port engine", "seal", 100)
    )
    before = lives.positions.copy()
    demand = forecast_demand(make_ageing(seal=WEARS), lives, fleet)
    assert list(demand.parts) == [("Alba", "seal")]
    assert lives.positions.equals(before)
