"""Needs of a piece fitted new, in a window of time that begins later."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stockopt.demand.cells import Cells
from stockopt.demand.new_piece import SAME, NewPiece, Transform, accumulate
from stockopt.demand.weibull import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Needs of a piece fitted new, in a window of `width` cells that begins later.

    Parameters
    ----------
    width
        n, cells.
    later
        (J, K, L - n + 1): continuous part of the chance of k = 1 .. K needs or more in the
        window, by the lattice point at which it begins.
    jumps_after
        (A,): times of beginning after which the chance jumps.
    jumps
        (A, J, K): by how much.
    """

    width: int
    later: Floats
    jumps_after: Floats
    jumps: Floats

    def later_for_averages(self, shape: Floats) -> Floats:
        """Return `later` with the value at 0 that makes the mean over the first cell right."""
        return _mend_start(self.later, shape)


def tabulate_window(new: NewPiece, width: int, most: int) -> Window:
    """Return the tables of windows of `width` cells, for up to `most` needs.

    With R the chance of k needs or more in the window and of no failure before it, and M the
    expected failures, the chance is R(x) + the integral over u of R(x - u) dM(u): the failure at
    u is the last before the window.
    """
    jumps_after, jumps = _find_jumps(new, width, most)
    starts: Floats = new.step * np.arange(new.cells - width + 1, dtype=np.float64)
    steady = _without_failure(new, width, most)
    past = starts - jumps_after[:, None] > SAME * new.step
    steady = steady - np.einsum("ajk,ai->jki", jumps, past)

    reach = steady.shape[-1]
    transform = Transform(reach)

    def convolve(cells: Floats, values: Floats) -> Floats:
        masses = transform.forward(cells[:, :reach])[:, None]
        return transform.back(masses * transform.forward(values))

    at_lower, at_upper = np.zeros_like(steady), np.zeros_like(steady)
    at_lower[..., 1:] = steady[..., 1:]
    at_upper[..., 1:] = _mend_start(steady, new.lives.shape)[..., :-1]
    first = new.first
    later = steady + convolve(first.lower, at_lower) + convolve(first.upper, at_upper)
    later += convolve(new.failing - first.mass, (at_lower + at_upper) / 2.0)
    later += _jump_at_failures(new, starts, jumps_after, jumps)
    return Window(width=width, later=later, jumps_after=jumps_after, jumps=jumps)


def _jump_at_failures(new: NewPiece, starts: Floats, jumps_after: Floats, jumps: Floats) -> Floats:
    """Return the jumps times the expected failures at least `jumps_after` before each start."""
    more = new.failures - accumulate(new.first.mass)
    total = np.zeros((*jumps.shape[1:], len(starts)))
    for after, jump in zip(jumps_after, jumps, strict=True):
        since = np.maximum(starts - after, 0.0)
        cell = np.minimum((since / new.step).astype(np.int64), new.cells - 1)
        ahead = since / new.step - cell
        failures = 1.0 - new.law.survival(since[None, :])[:, 0]
        failures += more[:, cell] + ahead * (more[:, cell + 1] - more[:, cell])
        total += jump[:, :, None] * failures[:, None, :]
    return total


def _mend_start(values: Floats, shape: Floats) -> Floats:
    """Return values of which the first makes the mean over the first cell right.

    They leave their start as t^shape where the shape is below 1, else in a straight line.
    """
    if values.shape[-1] == 1:
        return values
    share = 2.0 / (np.minimum(shape, 1.0) + 1.0) - 1.0
    mended = values.copy()
    mended[..., 0] += share[:, None] * (values[..., 1] - values[..., 0])
    return mended


def _find_jumps(new: NewPiece, width: int, most: int) -> tuple[Floats, Floats]:
    """Return where, and by how much, the chance jumps as the beginning of the window moves.

    While nothing has failed, change j leaves the window when it begins at j changes, and enters
    it a window earlier.
    """
    change_at, nodes = new.lives.change_at, len(new.lives.shape)
    if math.isinf(change_at):
        return np.zeros(0), np.zeros((0, nodes, most))
    span = width * new.step
    last = (new.cells - width) * new.step
    inside = int(new.changes_before(np.array(span)))
    chances = np.stack([new.needs_before(count, width) for count in range(most + 1)], axis=-1)
    counts = np.arange(1, most + 1)
    after, jumps = [], []
    for turn in range(1, math.ceil((last + span) / change_at) + 1):
        survives = new.lives.survives[:, None] ** turn
        leaves, enters = turn * change_at, turn * change_at - span
        if leaves < last:
            after.append(leaves)
            jumps.append(survives * (chances[:, 1:] - chances[:, :-1]))
        if -SAME * new.step <= enters < last:
            after.append(max(enters, 0.0))
            jumps.append(survives * (counts == min(turn - 1, inside) + 1))
    return np.array(after), np.array(jumps).reshape(len(after), nodes, most)


def _without_failure(new: NewPiece, width: int, most: int) -> Floats:
    """Return the chance of k needs or more in the window and of no failure before it.

    Returns
    -------
    Floats
        (J, K, L - n + 1), by the lattice point at which the window begins, jumps included.
    """
    nodes, count = len(new.lives.shape), new.cells - width + 1
    starts = float(new.step) * np.arange(count, dtype=np.float64)
    before, until = new.changes_before(starts), new.changes_before(starts + width * new.step)
    chance = np.zeros((nodes, most, count))
    pure = new.law.survival((starts + width * new.step)[None, :])[:, 0]
    chance += pure[:, None, :] * (until - before >= np.arange(1, most + 1)[:, None])
    for turn, spell in enumerate(new.spells):
        rows = np.flatnonzero((before <= turn) & (until >= turn))
        for passed in np.unique(turn - before[rows]):
            chosen = rows[turn - before[rows] == passed]
            begins = slice(int(chosen[0]), int(chosen[-1]) + 1)
            chance[:, :, begins] += _in_spell(new, spell, turn, int(passed), begins, width, most)
    chance[:, :, 0] = np.stack(
        [new.needs_before(order, width) for order in range(1, most + 1)], axis=-1
    )
    return chance


def _in_spell(
    new: NewPiece, spell: Cells, turn: int, passed: int, begins: slice, width: int, most: int
) -> Floats:
    """Return the part whose first failure falls in the window, `passed` changes into it."""
    nodes = len(new.lives.shape)
    low = turn * new.lives.change_at if turn else 0.0
    high = (turn + 1) * new.lives.change_at
    starts = new.step * np.arange(begins.start, begins.stop)

    def chance_until(end: Floats) -> Floats:
        times = np.stack([starts, np.maximum(end, starts)])
        ends = new.law.survival(np.clip(times, low, high).reshape(1, -1))
        ends = ends.reshape(nodes, 2, -1)
        return ends[:, 0] - ends[:, 1]

    part = np.zeros((nodes, most, len(starts)))
    part[:, : passed + 1] = chance_until(starts + width * new.step)[:, None, :]
    more = most - 1 - passed
    if more > 0:
        after = new.needs_after(width, more)
        for share, weights in zip((spell.lower, spell.upper), after, strict=True):
            reach = share[:, begins.start : begins.stop + width - 1]
            windows = np.lib.stride_tricks.sliding_window_view(reach, width, axis=-1)
            part[:, passed + 1 :] += (windows @ weights).transpose(0, 2, 1)
        for order in range(1, min(more, len(new.spells) - 1) + 1):
            end = starts + width * new.step - order * new.lives.change_at
            jump = new.lives.survives[:, None] ** order
            part[:, passed + order] += jump * chance_until(end)
    return part
