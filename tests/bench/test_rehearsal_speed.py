"""Ten thousand seasons of the charter base; the bound is that of the design, two shared cores."""

import time
from pathlib import Path

import pytest

from stockopt.pipeline import plan_fleet
from stockopt.rehearsal.policy import policy_of
from stockopt.rehearsal.seasons import World, play

SAMPLES = Path(__file__).parents[2] / "sample_fleet"


@pytest.mark.bench
@pytest.mark.parametrize("sample", ["ocean_crossing.xlsx", "charter_base"])
def test_ten_thousand_seasons(sample):
    run = plan_fleet(SAMPLES / sample, {}, lambda _: None)
    places = {boat: run.choices.boats[boat].place for boat in run.choices.afloat}
    world = World(
        fleet=run.fleet,
        lives=run.lives,
        ageing=run.ageing,
        offers=run.offers,
        seasons=10_000,
        seed=1,
    )
    started = time.perf_counter()
    (tally,) = play(world, [policy_of(run.plan, places, {})])
    seconds = time.perf_counter() - started
    needs = tally.need.sum()
    print(f"{sample}: {len(run.lives.positions)} positions, {needs:,.0f} needs, {seconds:.1f} s")  # noqa: T201
    assert seconds < 20.0
