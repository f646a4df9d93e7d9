"""The posterior against a second implementation: slow, plain, on a rectangle in (log b, log e)."""

import numpy as np
import pytest
from ageing_builders import fell, fit_part, ran
from ageing_plain import plain_posterior, plain_quantile
from scipy.special import gammaln

CASES = {
    "no life": ([], "wears", 600),
    "no life, random": ([], "random", 600),
    "one early failure": (fell(30), None, 600),
    "still running, young": (ran(100, times=6), "wears", 600),
    "still running, old": (ran(1500, times=6), None, 600),
    "two failures among many": (
        [*fell(420), *fell(610), *ran(500, times=12), *ran(250, times=9)],
        "wears",
        600,
    ),
    "late entries": (
        [*fell(900, 700), *fell(650, 300), *ran(1200, 800, times=3), *ran(400, 399)],
        "wears",
        600,
    ),
    "far from the prior": ([*fell(4000), *fell(5000), *ran(4500, times=4)], "random", 600),
    "far shorter than the prior": (fell(8) + fell(13) + fell(21) + fell(17), "wears", 600),
    "many failures": ([*fell(500, times=7), *fell(640, times=9), *ran(600, times=5)], None, 600),
}


@pytest.mark.parametrize("case", CASES)
def test_medians_intervals_and_nodes(case):
    lives, wear, life = CASES[case]
    part = fit_part(lives, wear=wear, expected_life=life)
    shape, scale, weight = plain_posterior(lives, wear, life, 0.7)
    mean_life = scale * np.exp(gammaln(1 + 1 / shape))
    ours = [
        part.shape,
        part.shape_low,
        part.shape_high,
        part.scale,
        part.mean_life,
        part.mean_life_low,
        part.mean_life_high,
    ]
    plain = [
        plain_quantile(values, weight, level)
        for values, level in (
            (shape, 0.5),
            (shape, 0.05),
            (shape, 0.95),
            (scale, 0.5),
            (mean_life, 0.5),
            (mean_life, 0.05),
            (mean_life, 0.95),
        )
    ]
    # The plain grid steps by 1 to 2 %, and its quantiles err by a tenth of that at most.
    assert ours == pytest.approx(plain, rel=2e-3)

    nodes = part.nodes
    assert nodes.weight.sum() == pytest.approx(1, abs=1e-12)
    assert (nodes.weight > 0).all()
    # In spreads, for a weight of 4e-5 is dropped at the ends.
    for own, other in ((nodes.shape, shape), (nodes.scale, scale)):
        mean = (weight * np.log(other)).sum()
        spread = np.sqrt((weight * (np.log(other) - mean) ** 2).sum())
        assert (nodes.weight * np.log(own)).sum() == pytest.approx(mean, abs=1e-3 * spread)
