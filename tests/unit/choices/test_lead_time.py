"""Lead times: the law behind the points, checked by its own quantiles."""

import math

import numpy as np
import pytest
from scipy.stats import expon, lognorm

from stockopt.choices.lead_time import spread_lead_time


def law_of(lead_days, late_days):
    if lead_days == 0:
        return expon(scale=late_days / math.log(10))
    return lognorm(s=math.log(late_days / lead_days) / 1.2815515655446004, scale=lead_days)


@pytest.mark.parametrize(("lead_days", "late_days"), [(8, 13), (12, 19), (0, 5), (1, 9)])
def test_points_are_the_means_of_their_classes(lead_days, late_days):
    law, lead = law_of(lead_days, late_days), spread_lead_time(lead_days, late_days)
    assert law.cdf(late_days) == pytest.approx(0.9)
    fine = law.ppf((np.arange(1_000_000) + 0.5) / 1_000_000)
    ends = np.round(np.cumsum(lead.weight) * 1_000_000).astype(int)
    classes = np.split(fine, ends[:-1])
    assert lead.days == pytest.approx([c.mean() for c in classes], rel=3e-3)
    assert lead.mean == pytest.approx(law.mean(), rel=1e-6)
    assert (np.diff(lead.days) > 0).all()


@pytest.mark.parametrize(("lead_days", "late_days"), [(8, 8), (0, 0), (9, 4)])
def test_late_not_later_than_usual_is_certain(lead_days, late_days):
    lead = spread_lead_time(lead_days, late_days)
    assert (lead.days.tolist(), lead.weight.tolist()) == ([lead_days], [1.0])
