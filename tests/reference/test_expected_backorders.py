"""Expected backorders of two items with Poisson pipelines of 1 and 4.

Source: Sherbrooke, Optimal Inventory Modeling of Systems (1992), chapter 2, the example of two
items; after Palm (1938) and Feeney and Sherbrooke, RM-4176-1 (1965). Values from memory, as
printed with 3 decimals. The same to 4 decimals in R, for a pipeline of mean m and stock s::

    ebo <- function(s, m) m - s + sum((s - 0:s) * dpois(0:s, m))
"""

import numpy as np
import pytest
from choices_builders import make_poisson_need, make_terms
from scipy.stats import poisson

from stockopt.choices.aboard import list_choices
from stockopt.choices.excess import find_chance_beyond, find_expected_short

PRINTED = [
    (1.0, [1.0, 0.368, 0.104, 0.023, 0.004]),
    (4.0, [4.0, 3.018, 2.110, 1.348, 0.782, 0.410, 0.195, 0.085, 0.034, 0.012, 0.004]),
]


@pytest.mark.parametrize(("mean", "printed"), PRINTED)
def test_expected_short_by_stock_level(mean, printed):
    short = find_expected_short(find_chance_beyond(poisson.pmf(np.arange(60), mean)))
    assert short[: len(printed)] == pytest.approx(printed, abs=0.0006)


@pytest.mark.parametrize(("mean", "printed"), PRINTED)
def test_expected_shortages_of_the_choices(mean, printed):
    need = make_poisson_need([mean], [1.0], [1.0])
    short = [choice.expected_shortages for choice in list_choices(need, make_terms(1))]
    assert short[: len(printed)] == pytest.approx(printed, abs=0.0006)
