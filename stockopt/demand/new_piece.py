"""What becomes of a piece fitted new: the tables that every position of a part shares.

Each failure puts in a new piece, so failures are a renewal process whose law is the time to the
first failure of a new piece, through its changes on schedule, if any (Cox 1962, Renewal Theory,
chapters 2 and 3; from memory). The changes on the way are certain given the failures, so no jump
is ever put on the lattice: in what follows a chance is a continuous part on the lattice points and
jumps at times known exactly.

Convolutions put the mass of each cell on its two ends, keeping its mean: error of the order of
the squared step, which halving the step and extrapolating all but removes (Richardson). The
convolution of two densities that are infinite at the origin, for shapes below 1, is set right in
the first cell by the beta function.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.fft import next_fast_len
from scipy.special import gamma

from stockopt.demand.cells import Cells, put_between
from stockopt.demand.first_failure import KnownAges
from stockopt.demand.weibull import Floats, WeibullLives

#: What wraps round in a transform of twice the length needed is damped to this.
_WRAPPED = 1e-13

#: Times this close, as a share of a step, are the same.
SAME = 1e-7


@dataclass(frozen=True, slots=True)
class Transform:
    """Convolution by Fourier transforms of series damped by radius^i, so that nothing wraps round.

    Parameters
    ----------
    length
        Terms wanted of each series.
    size, damping
        Length of the transforms, and the damping of each term.
    """

    length: int
    size: int = field(init=False)
    damping: Floats = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "size", next_fast_len(2 * self.length, real=True))
        radius = _WRAPPED ** (1.0 / self.size)
        object.__setattr__(self, "damping", radius ** np.arange(self.length))

    def forward(self, series: Floats) -> NDArray[np.complex128]:
        """Return the transform of series along the last axis, of at most `length`."""
        damped = series * self.damping[: series.shape[-1]]
        return np.fft.rfft(damped, n=self.size)

    def back(self, transformed: NDArray[np.complex128]) -> Floats:
        """Return the first `length` terms of the series."""
        series = np.fft.irfft(transformed, n=self.size)[..., : self.length]
        return np.asarray(series / self.damping, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPiece:
    """A piece fitted new at time 0, on L cells of width `step`, given each of J nodes.

    Parameters
    ----------
    lives
        Its life.
    step
        Width of a cell.
    spells
        (J, L) each: first failures between change j and change j + 1, j = 0, 1 ...; one only
        where nothing is changed on schedule.
    needs
        (K + 1, J, L + 1): continuous part of the chance of k needs (failures and changes) or more
        before each lattice point. Entry 0 is 1. The jump of entry k is ``survives ** k`` at k
        changes.
    first
        (J, L): first failures, whatever the spell.
    failing
        (J, L): expected failures in each cell.
    failures
        (J, L + 1): expected failures before each lattice point.
    """

    lives: WeibullLives
    step: float
    spells: tuple[Cells, ...]
    needs: Floats
    first: Cells
    failing: Floats
    failures: Floats

    @property
    def cells(self) -> int:
        """L."""
        return int(self.failing.shape[-1])

    @property
    def law(self) -> KnownAges:
        """When it first fails."""
        return KnownAges(lives=self.lives, age=np.zeros(1))

    def changes_before(self, time: Floats) -> NDArray[np.int64]:
        """Return how many changes on schedule come before each time while nothing fails."""
        same = SAME * self.step / self.lives.change_at
        turns = np.ceil(np.asarray(time) / self.lives.change_at - same) - 1
        return np.asarray(np.maximum(turns, 0), dtype=np.int64)

    def needs_before(self, count: int, point: int) -> Floats:
        """Return the chance of `count` needs or more before a lattice point, with jumps: (J,)."""
        if count == 0:
            return np.ones_like(self.lives.shape)
        chance = self.needs[count, :, point]
        if count <= self.changes_before(np.array(point * self.step)):
            chance = chance + self.lives.survives**count
        return chance

    def needs_after(self, width: int, most: int) -> tuple[Floats, Floats]:
        """Return what to weigh the first failures in the cells of a window with, (J, n, K) each.

        Weighing `lower` with the first and `upper` with the second gives the chance of k = 1 .. K
        needs or more between the failure and the end of the window, without the jumps.

        In each cell the failures meet the mean of that chance over a cell. Of k needs of which
        k - 1 are changes the mean is exact, bends and all; other ways to k needs are straight in
        a cell, but in the first, where their chance grows as time to the power of k x shape.
        """
        needs = self.needs[1 : most + 1, :, : width + 1].copy()
        order = np.arange(1, len(needs) + 1)[:, None] * self.lives.shape
        start = (2.0 / (order + 1.0) - 1.0) * needs[..., 1]
        start[:1] = 0.0
        needs[..., 0] = start
        excess = np.zeros_like(needs[..., 1:])
        for changes, spell in enumerate(self.spells[: len(needs)]):
            uneven = spell.lower[:, :width] - spell.upper[:, :width]
            excess[changes] = (changes + 1) * uneven / 2.0
        lower = (needs[..., 1:] + excess)[..., ::-1]
        upper = (needs[..., :-1] + excess)[..., ::-1]
        return (
            np.ascontiguousarray(lower.transpose(1, 2, 0)),
            np.ascontiguousarray(upper.transpose(1, 2, 0)),
        )


def list_spells(lives: WeibullLives, step: float, count: int) -> tuple[Cells, ...]:
    """Return the first failures of a new piece, by the changes on schedule passed before."""
    law = KnownAges(lives=lives, age=np.zeros(1))
    edges: Floats = step * np.arange(count + 1, dtype=np.float64)[None, :]
    turns = 1 if math.isinf(lives.change_at) else math.ceil(step * count / lives.change_at)
    spells = []
    for turn in range(turns):
        low = turn * lives.change_at if turn else 0.0
        high = min((turn + 1) * lives.change_at, edges[0, -1])
        cells = put_between(law, edges, np.array([[low]]), np.array([[high]]))
        spells.append(Cells(lower=cells.lower[:, 0, 0], upper=cells.upper[:, 0, 0]))
    return tuple(spells)


def tabulate_new_piece(
    lives: WeibullLives, step: float, spells: tuple[Cells, ...], most: int | None, weight: Floats
) -> NewPiece:
    """Return the tables of a new piece.

    Parameters
    ----------
    lives, step, spells
        As in :class:`NewPiece`.
    most
        K; None for the first k whose chance is below 1e-8.
    weight
        (J,): weights of the nodes for that chance.
    """
    count = spells[0].lower.shape[-1]
    transform = Transform(count + 1)
    masses = [transform.forward(spell.mass) for spell in spells]
    spread = [transform.forward(spell.points) for spell in spells]
    first = spells[0]
    # Two failures within the first cell: Gamma(b+1)^2 / Gamma(2b+1) of the pairs are over by its
    # end, where the ends' rule has lower / mass.
    pairs = first.mass[:, 0] ** 2
    twice = gamma(lives.shape + 1.0) ** 2 / gamma(2.0 * lives.shape + 1.0)
    move = pairs * twice - first.mass[:, 0] * first.lower[:, 0]
    mended = transform.forward(np.stack([move, -move], axis=-1))

    total, spread_total = sum(masses[1:], masses[0]), sum(spread[1:], spread[0])
    failing = total + (total * spread_total + mended) / (1.0 - spread_total)
    needs = [np.ones((len(lives.shape), count + 1))]
    transformed: list[NDArray[np.complex128]] = []
    while most is None or len(needs) <= most:
        order = len(needs)
        term = order * masses[order - 1] if order <= len(masses) else np.zeros_like(total)
        for turn in range(min(order - 1, len(masses))):
            term = term + spread[turn] * transformed[order - 2 - turn]
        if order == 2:
            term = term + mended
        transformed.append(term)
        needs.append(accumulate(transform.back(term)[..., :-1]))
        end = needs[-1][:, -1] + lives.survives**order * (order < len(spells))
        if most is None and weight @ end < 1e-8:
            break
    expected = transform.back(failing)[..., :-1]
    return NewPiece(
        lives=lives,
        step=step,
        spells=spells,
        needs=np.stack(needs),
        first=Cells(
            lower=np.sum([spell.lower for spell in spells], axis=0),
            upper=np.sum([spell.upper for spell in spells], axis=0),
        ),
        failing=expected,
        failures=accumulate(expected),
    )


def accumulate(cells: Floats) -> Floats:
    """Return the sum of all cells before each lattice point."""
    sums = np.zeros((*cells.shape[:-1], cells.shape[-1] + 1))
    np.cumsum(cells, axis=-1, out=sums[..., 1:])
    return sums
