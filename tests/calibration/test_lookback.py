"""Where the truth is known, the fitted lives foretell more than last year's rate does.

The whole study, printed as it stands in the README (some minutes):
``pytest -n0 -s -m full tests/calibration/test_lookback.py``.
"""

import sys
from datetime import date

import numpy as np
import pytest
from calibration.world import PLANNED_ON, draw_world

from stockopt.ageing.fit import fit_ageing
from stockopt.lives.build import build_lives
from stockopt.lookback.look_back import score_forecast
from stockopt.lookback.season import sail_again

SINCE = date(2030, 4, 1)


def score(seed, years=4.0, most_boats=6):
    """Return the scores of a year of one fleet with three years of records before it."""
    now = draw_world(seed, years=years, most_boats=most_boats).fleet
    past = sail_again(now, SINCE, PLANNED_ON)
    lives = build_lives(past.fleet)
    return score_forecast(past, lives, fit_ageing(lives, past.fleet), build_lives(now))


def sum_up(several):
    """Return the totals over fleets, parts counting alike."""
    parts = [part for scores in several for part in scores.parts]
    weight = [len(scores.parts) for scores in several]
    differences = [part.better for part in parts]
    return {
        "fleets": len(several),
        "parts": len(parts),
        "failed": sum(scores.failures for scores in several),
        "told": sum(part.forecast.mean for part in parts),
        "last year": sum(part.last_year.mean for part in parts),
        "difference": sum(differences),
        "error": np.sqrt(len(parts)) * np.std(differences, ddof=1),
        "of those that failed last year": sum(scores.of_those for scores in several),
        "higher": np.average([scores.share_better for scores in several], weights=weight),
        "inside": np.average([part.forecast.inside for part in parts]),
        "inside, told": np.average([part.forecast.share for part in parts]),
        "inside, last year": np.average([part.last_year.inside for part in parts]),
        "inside, last year told": np.average([part.last_year.share for part in parts]),
        "fifths": np.average([scores.places for scores in several], weights=weight, axis=0),
    }


def test_fitted_lives_foretell_more_than_last_year_does():
    seen = sum_up([score(seed) for seed in (4, 9)])
    assert seen["difference"] > 2.0 * seen["error"]
    assert seen["of those that failed last year"] > 0.0
    assert abs(seen["inside"] - seen["inside, told"]) < 0.05
    assert seen["failed"] > 90


@pytest.mark.full
def test_over_many_fleets_counts_fall_evenly_and_scores_are_higher():
    several = [score(seed) for seed in range(60)]
    seen = sum_up(several)
    sys.stdout.write("\n" + "\n".join(f"{name}: {value}" for name, value in seen.items()) + "\n")
    assert seen["difference"] > 4.0 * seen["error"]
    assert seen["of those that failed last year"] > 0.0
    assert sum(scores.verdict == "worse" for scores in several) <= 1
    assert abs(seen["inside"] - seen["inside, told"]) < 0.02
    assert seen["fifths"].min() > 0.16
    assert seen["fifths"].max() < 0.24
    assert abs(seen["told"] / seen["failed"] - 1.0) < 0.1
