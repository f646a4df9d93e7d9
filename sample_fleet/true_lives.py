"""The lives that the invented histories are drawn from."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

Clock = Literal["hours", "days"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueLife:
    """How long a part really lasts in the invented world: a Weibull life on its clock.

    Parameters
    ----------
    part, family, name
        As in the parts table.
    clock
        hours or days.
    mean, shape
        Of the Weibull life; mean in hours or days.
    replace_every
        Age at which it is changed whatever its state; None to run it to failure.
    """

    part: str
    family: str
    name: str
    clock: Clock
    mean: float
    shape: float
    replace_every: float | None

    @property
    def scale(self) -> float:
        """Return the Weibull scale, mean / Gamma(1 + 1 / shape)."""
        return self.mean / math.gamma(1.0 + 1.0 / self.shape)

    def draw(self, random: np.random.Generator, age: float = 0.0) -> float:
        """Return a life drawn given that `age` was reached.

        Solves S(x) / S(age) = U for x, with U uniform; only ``random.random`` is used, whose
        numbers stay the same from one release of numpy to the next.
        """
        used = (age / self.scale) ** self.shape
        drawn: float = self.scale * (used - math.log(1.0 - random.random())) ** (1 / self.shape)
        return max(drawn, age + SHORTEST[self.clock])


#: No piece fails sooner than this after it was fitted: a dud is changed in the same job.
SHORTEST: dict[Clock, float] = {"hours": 12.0, "days": 2.0}


def read_true_lives(rows: Sequence[Mapping[str, str]]) -> dict[str, TrueLife]:
    """Return the true life of each part that has one, by part number."""
    return {
        row["part"]: TrueLife(
            part=row["part"],
            family=row["family"],
            name=row["name"],
            clock="days" if row["clock"] == "days" else "hours",
            mean=float(row["true_mean"]),
            shape=float(row["true_shape"]),
            replace_every=float(row["replace_every"]) if row["replace_every"] else None,
        )
        for row in rows
        if row["true_mean"]
    }
