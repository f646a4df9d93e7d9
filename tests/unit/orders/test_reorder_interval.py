"""When stock runs out, against seasons played piece by piece from the same posterior."""

import math

import numpy as np
import pytest
from builders import make_fleet

from stockopt.ageing.fit import fit_ageing
from stockopt.demand.forecast import forecast_demand
from stockopt.demand.stretches import write_out_legs
from stockopt.lives.build import build_lives
from stockopt.orders.coming import EARLY, LATE, MIDDLE, find_days, list_fitted
from stockopt.orders.use import find_use

BOATS = ("Alba", "Brisa", "Calma")
#: Hours a boat's engine runs on each day of a leg, legs back to back.
A_DAY = 2.0
SEASONS = 4000
#: By how much a chance told may be off; the error of the seasons played is below 0.01.
OFF = 0.05


@pytest.fixture(scope="module")
def known():
    """Return a fleet whose engines were new on a known day, and all that is known of its parts."""
    records = [(0, 300), (0, 700), (1, 420), (1, 810), (2, 500)]
    fleet = make_fleet(
        boats=[{"boat": boat, "home_port": "Porto", "store": "Shed"} for boat in BOATS],
        machines=[
            {"boat": b, "machine": "engine", "model": "M", "fitted_on": "2029-04-01"}
            | {"hours_at_fitting": 0}
            for b in BOATS
        ],
        readings=[
            {"boat": boat, "machine": "engine", "read_on": "2031-03-30", "hours": 900 + 40 * n}
            for n, boat in enumerate(BOATS)
        ],
        parts=[
            {"part": "belt", "wear": "wears", "expected_life": 350},
            {"part": "fuse", "wear": "random", "expected_life": 250},
            {"part": "filter", "wear": "wears", "expected_life": 900, "replace_every": 150},
        ],
        fitted=[
            {"model": "M", "part": part, "quantity": quantity}
            for part, quantity in (("belt", 2), ("fuse", 2), ("filter", 1))
        ],
        replacements=[
            {"on": "2030-06-01", "boat": BOATS[n], "machine": "engine", "part": "belt"}
            | {"hours": hours, "reason": "failed", "slot": 1}
            for n, hours in records
        ],
        legs=[
            {"boat": boat, "departs_on": "2031-04-05", "days": 7, "to_port": "Porto"}
            | {"hours": 7 * A_DAY, "times": 24}
            for boat in BOATS
        ],
    )
    lives = build_lives(fleet)
    ageing = fit_ageing(lives, fleet)
    return fleet, lives, ageing, forecast_demand(ageing, lives, fleet)


def use_of(known, part):
    fleet, lives, ageing, demand = known
    voyages = write_out_legs(fleet)
    fitted = list_fitted(lives, voyages, {})
    every = dict(zip(fleet.parts["part"], fleet.parts["replace_every"], strict=True))[part]
    change_at = math.inf if math.isnan(every) else every
    pieces = [piece for boat in BOATS for piece in fitted[boat, part]]
    needs = [(demand.parts[boat, part], 0) for boat in BOATS]
    use = find_use(needs, pieces, ageing, voyages, change_at, fleet.settings.planned_on)
    return use, pieces, change_at


def play(known, part, pieces, change_at):
    """Return for each season the days, sorted, on which the place needs a piece."""
    _, _, ageing, _ = known
    rng = np.random.default_rng(7)
    nodes = ageing.parts[part].nodes
    days_before, end = 4.0, 4.0 + 24 * 7
    seasons = [[] for _ in range(SEASONS)]
    drawn = rng.choice(len(nodes.weight), size=SEASONS, p=nodes.weight / nodes.weight.sum())
    for piece in pieces:
        on_boat = nodes.on_boat(ageing.boat_factors.get(piece.boat, 1.0))
        for season, node in enumerate(drawn):
            shape, scale = on_boat.shape[node], on_boat.scale[node]
            age, day = piece.age, days_before
            while True:
                life = scale * ((age / scale) ** shape + rng.exponential()) ** (1.0 / shape)
                day += max(min(life, change_at) - age, 0.0) / A_DAY
                if day >= end:
                    break
                seasons[season].append(day)
                age = 0.0
    return [sorted(days) for days in seasons]


@pytest.mark.parametrize(("part", "within"), [("belt", 3), ("fuse", 3), ("filter", 7)])
def test_interval_holds_its_share_of_the_seasons(known, part, within):
    # Within a leg of 7 days the need is spread evenly; what is changed on schedule falls on one
    # day of it, so its days may be off by a leg.
    use, pieces, change_at = use_of(known, part)
    seasons = play(known, part, pieces, change_at)
    mean = np.mean([len(days) for days in seasons])
    assert float(use.need @ use.weight) == pytest.approx(mean, rel=0.05)
    for in_hand in sorted({1, 2, max(1, round(mean)), max(1, round(1.5 * mean))}):
        came = np.array([d[in_hand - 1] if len(d) >= in_hand else np.inf for d in seasons])
        found = find_days(use, in_hand)
        if found is None:
            assert np.mean(came < np.inf) < EARLY + OFF
            continue
        for day, chance in zip(found, (EARLY, MIDDLE, LATE), strict=True):
            least = np.mean(came < np.inf) if day is None else np.mean(came <= day - within)
            assert least <= chance + OFF
            if day is not None:
                assert np.mean(came <= day + within) >= chance - OFF
