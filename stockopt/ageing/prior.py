"""What is believed about a part's life before its own records are read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stockopt.errors import Note

Floats = NDArray[np.float64]

# Every default of the priors stands here. Spreads are standard deviations of the natural
# logarithm; 90 % of the belief lies within a factor exp(1.645 x spread) either way.

#: Published rates for the same kind of part disagree about tenfold, so an expected life is
#: trusted within a factor 3.2 either way (common practice, no source).
LIFE_SPREAD_EXPECTED = 0.7
#: Centre of a family, for a member without an expected life of its own: within a factor 5.2.
LIFE_SPREAD_FAMILY = 1.0
#: Nothing known at all: within a factor 12 of the lives below.
LIFE_SPREAD_UNKNOWN = 1.5
#: Mean life of a part nothing is known about, on its clock (about 4 years of either on a charter
#: boat; common practice, no source).
LIFE_UNKNOWN = {"hours": 2000.0, "days": 1500.0}

#: Weibull shape: its centre and spread for a part that wears, one that fails at random, and one
#: not said to do either. 1 is a constant rate, 1 to 4 early wear-out (bearings, seals, corrosion):
#: reliability texts, from memory.
SHAPE_PRIOR = {"wears": (2.2, 0.35), "random": (1.0, 0.12), "": (1.5, 0.45)}

#: Shapes much beyond these are not believed whatever the records say: ages are kept to the hour or
#: the day, so that pieces of the very same age at failure would else prove any steepness.
SHAPE_LEAST, SHAPE_MOST = 0.2, 20.0
#: Within so much of log shape the belief falls away there: soft, so that sums over it stay exact.
_WALL = 0.05

_KIND_WORDS = {"wears": "wears", "random": "fails at random", "": "wear not known"}
_STEEP = 50.0  # exponent from which the wall is as good as endless
_NORMAL_95 = 1.6448536269514722


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """Belief about one part's Weibull life: independent normals of log shape and log mean life.

    The shape's falls away beyond :data:`SHAPE_LEAST` and :data:`SHAPE_MOST`.

    Parameters
    ----------
    log_shape, log_shape_spread
        Mean and standard deviation of log b.
    log_life, log_life_spread
        Mean and standard deviation of log m; m is the mean life on the part's clock.
    clock, wear
        As in the parts table.
    why
        What the mean life is taken from.
    """

    log_shape: float
    log_shape_spread: float
    log_life: float
    log_life_spread: float
    clock: str
    wear: str
    why: str

    @property
    def words(self) -> str:
        """The prior for a person."""
        return (
            f"mean life {exp(self.log_life):,.0f} {self.clock} "
            f"within a factor {_factor(self.log_life_spread):.1f} ({self.why}), "
            f"shape {exp(self.log_shape):.1f} within a factor "
            f"{_factor(self.log_shape_spread):.1f} ({_KIND_WORDS[self.wear]}), 9 times in 10"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Priors:
    """The numbers of P priors side by side, each of shape (P,); fields as in :class:`Prior`."""

    log_shape: Floats
    log_shape_spread: Floats
    log_life: Floats
    log_life_spread: Floats

    def of(self, chosen: NDArray[np.bool_] | slice) -> Priors:
        """Return the priors of the parts chosen, by a mark for each or as a slice."""
        return Priors(
            log_shape=self.log_shape[chosen],
            log_shape_spread=self.log_shape_spread[chosen],
            log_life=self.log_life[chosen],
            log_life_spread=self.log_life_spread[chosen],
        )


def log_belief_in_shape(priors: Priors, log_shape: Floats) -> Floats:
    """Return the log density of log shape, (P, n), but for a constant of the part."""
    place = (log_shape - priors.log_shape[:, None]) / priors.log_shape_spread[:, None]
    above = np.minimum((log_shape - np.log(SHAPE_MOST)) / _WALL, _STEEP)
    below = np.minimum((np.log(SHAPE_LEAST) - log_shape) / _WALL, _STEEP)
    return np.asarray(-0.5 * place**2 - np.exp(above) - np.exp(below))


def line_up(priors: Sequence[Prior]) -> Priors:
    """Return the numbers of the priors side by side, in the same order."""
    return Priors(
        log_shape=np.array([prior.log_shape for prior in priors]),
        log_shape_spread=np.array([prior.log_shape_spread for prior in priors]),
        log_life=np.array([prior.log_life for prior in priors]),
        log_life_spread=np.array([prior.log_life_spread for prior in priors]),
    )


def default_priors(
    parts: pd.DataFrame, life_factor: float = 1.0
) -> tuple[dict[str, Prior], dict[str, Note]]:
    """Return every part's prior from the parts table alone, and what had to be assumed.

    Parameters
    ----------
    parts
        The fleet's parts table; columns part, family, clock, wear, expected_life are used.
    life_factor
        By how much true mean lives exceed expected ones over the whole fleet.

    Returns
    -------
    priors
        By part.
    notes
        By part, one for each whose mean life nothing in the table speaks of.
    """
    centres = _family_centres(parts)
    priors: dict[str, Prior] = {}
    notes: dict[str, Note] = {}
    columns = ["part", "family", "clock", "wear", "expected_life"]
    for row, part, family, clock, wear, expected in parts[columns].itertuples(name=None):
        if expected > 0.0:
            life, spread = expected * life_factor, LIFE_SPREAD_EXPECTED
            why = "its expected life"
        elif (family, clock) in centres:
            life, spread = centres[family, clock] * life_factor, LIFE_SPREAD_FAMILY
            why = f"the expected lives of family {family}"
        else:
            life, spread, why = LIFE_UNKNOWN[clock], LIFE_SPREAD_UNKNOWN, "no expected life given"
            notes[part] = _nothing_known(int(row), part, clock)
        priors[part] = _prior(life, spread, why, clock, wear)
    return priors, notes


def _family_centres(parts: pd.DataFrame) -> Mapping[tuple[str, str], float]:
    """Return the geometric mean of the expected lives of each family, clock by clock."""
    told = parts[(parts["family"] != "") & (parts["expected_life"] > 0.0)]
    logs = np.log(told["expected_life"])
    means = logs.groupby([told["family"], told["clock"]]).mean()
    return {
        (str(family), str(clock)): float(np.exp(mean)) for (family, clock), mean in means.items()
    }


def _prior(life: float, spread: float, why: str, clock: str, wear: str) -> Prior:
    shape, shape_spread = SHAPE_PRIOR[wear]
    return Prior(
        log_shape=log(shape),
        log_shape_spread=shape_spread,
        log_life=log(life),
        log_life_spread=spread,
        clock=clock,
        wear=wear,
        why=why,
    )


def _factor(spread: float) -> float:
    """Return the factor within which 90 % of the belief lies."""
    return exp(_NORMAL_95 * spread)


def _nothing_known(row: int, part: str, clock: str) -> Note:
    return Note(
        table="parts",
        row=row,
        column="expected_life",
        text=f"part {part} has no expected life, nor has its family: began from "
        f"{LIFE_UNKNOWN[clock]:,.0f} {clock} within a factor {_factor(LIFE_SPREAD_UNKNOWN):.0f}",
    )
