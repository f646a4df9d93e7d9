"""Side by side: every part's ageing at once, and a loop of fits of another package.

Run by hand: ``pytest -n0 -s -m bench tests/bench/test_ageing_speed.py``.
"""

import sys
import time
import warnings

import numpy as np
import pandas as pd
import pytest
from ageing_builders import NO_POSITIONS, fleet_of_parts

from stockopt.ageing.fit import fit_ageing
from stockopt.ageing.likelihood import collect_records
from stockopt.ageing.maximum import fit_maximum
from stockopt.ageing.nodes import choose_nodes
from stockopt.ageing.posterior import blocks, find_posterior, summarise
from stockopt.ageing.prior import default_priors, line_up
from stockopt.lives.lives import Lives

PARTS, PIECES, SAMPLE = 10_000, 28, 40
BOATS = tuple(f"B{boat:02d}" for boat in range(20))


def simulated():
    """28 lives of each of 10,000 parts, a sixth failed, a quarter entered late."""
    draw = np.random.default_rng(1)
    shape = np.exp(draw.normal(np.log(1.8), 0.3, PARTS))
    scale = np.exp(draw.normal(np.log(1500), 0.5, PARTS))
    number = np.repeat(np.arange(PARTS), PIECES)
    b, e = shape[number], scale[number]
    cut = e * draw.uniform(0.1, 0.65, len(number))
    entered = np.where(draw.random(len(number)) < 0.25, cut * draw.uniform(0, 0.5, len(cut)), 0.0)
    fails = 1.0 + e * ((entered / e) ** b + draw.exponential(size=len(number))) ** (1 / b)
    began = draw.integers(0, 1500, len(number))
    names = np.array([f"p{part:05d}" for part in range(PARTS)])
    lives = pd.DataFrame(
        {
            "part": names[number],
            "entered": entered,
            "left": np.minimum(fails, cut),
            "failed": fails < cut,
            "age_known": True,
            "boat": np.array(BOATS)[draw.integers(0, len(BOATS), len(cut))],
            "began_on": pd.Timestamp("2025-01-01") + pd.to_timedelta(began, unit="D"),
            "ended_on": pd.Timestamp("2025-01-01")
            + pd.to_timedelta(began + (np.minimum(fails, cut) / 3.0).astype(int) + 1, unit="D"),
        }
    )
    return lives, names, np.round(0.9 * scale)


def per_second(count, work):
    began = time.perf_counter()
    result = work()
    return count / (time.perf_counter() - began), result


def by_lifelines(lives, names):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from lifelines import WeibullFitter

        groups = [own for _, own in lives[lives["part"].isin(names)].groupby("part")]
        return per_second(
            len(groups),
            lambda: [
                WeibullFitter().fit(own["left"], own["failed"], entry=own["entered"]).rho_
                for own in groups
            ],
        )


def posteriors(records, priors):
    """Every part's grid, medians and intervals, and the points that chances are mixed over."""
    for each in blocks(PARTS):
        own = records.block(each), priors.of(each)
        posterior = find_posterior(*own)
        summarise(posterior)
        choose_nodes(posterior, *own)


@pytest.mark.bench
def test_parts_a_second(capsys):
    lives, names, expected = simulated()
    fleet = fleet_of_parts(
        *(
            {"part": name, "wear": "wears", "expected_life": life}
            for name, life in zip(names, expected, strict=True)
        ),
        boats=BOATS,
    )
    whole, _ = per_second(
        PARTS, lambda: fit_ageing(Lives(lives=lives, positions=NO_POSITIONS, notes=()), fleet)
    )
    parts = pd.Index(fleet.parts["part"])
    records = collect_records(lives, parts)
    prior = default_priors(fleet.parts)[0]
    priors = line_up([prior[part] for part in parts])
    full, _ = per_second(PARTS, lambda: posteriors(records, priors))
    newton, (shape, _) = per_second(PARTS, lambda: fit_maximum(records))

    failures = pd.Series(records.failures, index=parts)
    sample = failures[failures >= 3].index[:SAMPLE]
    other, shapes = by_lifelines(lives, sample)
    own = pd.Series(shape, index=parts)[sample].to_numpy()
    told = [f"{lives['failed'].mean():.0%} of {len(lives):,} lives failed; parts a second:"]
    for what, speed in (
        ("fit_ageing, tests and all", whole),
        ("full posterior", full),
        ("maximum likelihood", newton),
        (f"lifelines, loop over {len(sample)}", other),
    ):
        told.append(f"  {what:28s} {speed:10,.0f}   x {speed / other:8,.0f}")
    with capsys.disabled():
        sys.stdout.write("\n" + "\n".join(told) + "\n")
    assert own == pytest.approx(np.array(shapes), rel=1e-6)
    assert full > 1000 * other
