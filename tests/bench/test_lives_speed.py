"""Lives of a hundred boats: 18,400 positions, 30,000 replacements, 52,000 readings, five years."""

import time

import numpy as np
import pytest
from lives_builders import make_unchecked_fleet, on

from stockopt.lives.build import build_lives
from stockopt.settings import Settings

BOATS, PARTS, REPLACEMENTS, WEEKS = 100, 150, 30_000, 260
REASONS = ("failed", "scheduled", "worn")


def is_fitted(model, part):
    return part < 10 or part % 2 == model % 2


def large_fleet():
    rng = np.random.default_rng(1)
    places = [
        {"boat": f"B{boat}", "machine": side} for boat in range(BOATS) for side in ("port", "other")
    ]
    fitted = [
        {"model": f"M{model}", "part": f"P{part}", "quantity": 1 + (part % 7 == 0)}
        for model in range(4)
        for part in range(PARTS)
        if is_fitted(model, part)
    ]
    replacements = []
    while len(replacements) < REPLACEMENTS:
        rank, part = int(rng.integers(len(places))), int(rng.integers(PARTS))
        if is_fitted(rank // 2 % 4, part):
            day, reason = int(rng.integers(1, 7 * WEEKS)), REASONS[rng.integers(3)]
            row = {"on": on(day), "part": f"P{part}", "reason": reason}
            replacements.append({**places[rank], **row})
    return make_unchecked_fleet(
        Settings(planned_on=on(7 * WEEKS)),
        boats=[{"boat": f"B{boat}"} for boat in range(BOATS)],
        machines=[
            {**place, "model": f"M{rank // 2 % 4}", "fitted_on": on(0), "hours_at_fitting": 0}
            for rank, place in enumerate(places)
        ],
        readings=[
            {**place, "read_on": on(7 * week), "hours": 10 * week}
            for place in places
            for week in range(1, WEEKS + 1)
        ],
        parts=[
            {"part": f"P{part}", "clock": "hours" if part % 3 else "days"} for part in range(PARTS)
        ],
        fitted=fitted,
        replacements=replacements,
    )


@pytest.mark.bench
def test_lives_of_a_hundred_boats():
    fleet = large_fleet()
    began = time.perf_counter()
    lives = build_lives(fleet)
    seconds = time.perf_counter() - began
    assert len(lives.positions) == 18_400
    assert seconds < 15, f"{seconds:.2f} s"  # a gross slowdown, not noise
