"""A spread tried while the group's is looked for can be many times too wide for any part."""

import numpy as np
import pandas as pd
import pytest
from ageing_builders import fell, lives_of_parts, ran

from stockopt.ageing.likelihood import collect_records
from stockopt.ageing.posterior import find_posterior, summarise
from stockopt.ageing.prior import Priors


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("failures", [1, 36, 500])
@pytest.mark.parametrize("spread", [0.4, 10.6, 80.0])
def test_posterior_under_any_spread_of_shapes_is_finite(spread, failures):
    lives = [*fell(900, 200), *fell(1000, times=failures), *ran(700, times=3 * failures)]
    records = collect_records(lives_of_parts({"belt": lives}).lives, pd.Index(["belt"]))
    priors = Priors(
        log_shape=np.array([0.31]),
        log_shape_spread=np.array([spread]),
        log_life=np.array([6.93]),
        log_life_spread=np.array([0.33]),
    )
    summary = summarise(find_posterior(records, priors))
    assert np.all(np.isfinite(summary.shape))
    assert 0.5 < summary.shape[0] < np.exp(8.0)
