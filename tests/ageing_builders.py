"""Lives for the tests of ageing, one tuple a life, and a fleet of parts to go with them."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import pandas as pd
from builders import make_fleet

from stockopt.ageing.ageing import Ageing, PartAgeing
from stockopt.ageing.fit import fit_ageing
from stockopt.fleet.fleet import Fleet
from stockopt.lives.lives import Lives

NO_POSITIONS = pd.DataFrame(columns=["boat", "machine", "part", "slot", "age", "consequence"])
BOAT = "Alba"


def ran(age: float, entered: float = 0.0, *, times: int = 1, age_known: bool = True) -> list[dict]:
    """Pieces still good when they left observation at `age`."""
    return [_life(age, entered, failed=False, age_known=age_known)] * times


def fell(age: float, entered: float = 0.0, *, times: int = 1, age_known: bool = True) -> list[dict]:
    """Pieces that failed at `age`."""
    return [_life(age, entered, failed=True, age_known=age_known)] * times


def aboard(boat: str, lives: Sequence[dict], began: object = None, ended: object = None) -> list:
    """The same lives on a boat, from and to a day."""
    days = {"began_on": began, "ended_on": ended} if ended is not None else {}
    return [{**life, "boat": boat, **days} for life in lives]


def _life(left: float, entered: float, *, failed: bool, age_known: bool) -> dict:
    return {
        "entered": float(entered),
        "left": float(left),
        "failed": failed,
        "age_known": age_known,
        "reason": "failed" if failed else "running",
        "boat": BOAT,
        "began_on": pd.NaT,
        "ended_on": pd.Timestamp("2030-06-01"),
    }


def lives_of_parts(lives: Mapping[str, Sequence[dict]], clock: str = "hours") -> Lives:
    """Return the lives of each part, in the order given."""
    columns = ["part", "boat", "clock", "entered", "left", "failed", "age_known", "reason"]
    columns += ["began_on", "ended_on"]
    rows = [{"part": part, "clock": clock, **life} for part, own in lives.items() for life in own]
    table = pd.DataFrame(rows, columns=columns)
    return Lives(
        lives=table.astype(
            {
                "entered": "float64",
                "left": "float64",
                "failed": "bool",
                "age_known": "bool",
                "began_on": "datetime64[us]",
                "ended_on": "datetime64[us]",
            }
        ),
        positions=NO_POSITIONS,
        notes=(),
    )


def fleet_of_parts(
    *parts: Mapping[str, object], boats: Sequence[str] = (BOAT,), day_cost: float = 0.0
) -> Fleet:
    """Return a fleet with these parts, none of them fitted anywhere.

    The same parts give the same fleet, read once: reading takes longer than fitting.
    """
    return _fleet(tuple(tuple(part.items()) for part in parts), tuple(boats), day_cost)


@lru_cache(maxsize=256)
def _fleet(
    parts: tuple[tuple[tuple[str, object], ...], ...], boats: tuple[str, ...], day_cost: float
) -> Fleet:
    return make_fleet(
        boats=[{"boat": boat, "day_cost": day_cost} for boat in boats],
        machines=[{"boat": boat, "machine": "engine", "model": "M"} for boat in boats],
        readings=[
            {"boat": boat, "machine": "engine", "read_on": "2030-01-01", "hours": 10}
            for boat in boats
        ],
        parts=[{"price": 10, **dict(part)} for part in parts],
    )


def fit_parts(
    lives: Mapping[str, Sequence[dict]],
    *parts: Mapping[str, object],
    boats: Sequence[str] = (BOAT,),
) -> Ageing:
    return fit_ageing(lives_of_parts(lives), fleet_of_parts(*parts, boats=boats))


def fit_part(lives: Sequence[dict], **part: object) -> PartAgeing:
    """Return the ageing of one part called `seal` with these lives."""
    return fit_parts({"seal": lives}, {"part": "seal", **part}).parts["seal"]
