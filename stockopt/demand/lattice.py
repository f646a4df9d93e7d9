"""Where the lattice points lie: steps that fall on the ends of the stretches, fine enough."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockopt.demand.weibull import Floats, WeibullLives

#: Coarse steps in one shape-th of the scale, in the age of a change on schedule, and, for shapes
#: below 1, in the plan: their density is infinite at the origin. Found by measuring.
STEPS_PER_WIDTH = 10.0
STEPS_PER_CHANGE = 16.0
STEPS_PER_PLAN = 8.0

#: Steps in the plan that cost next to nothing.
CHEAP_STEPS = 24.0

#: How often that step is quartered at most: enough for plans of 5 mean lives at any shape from
#: 0.5 to 8. Beyond, lives are so short against the plan that their sums are smooth.
MOST_QUARTERS = 3.0

_Asked = tuple[int, float, float]
_Group = tuple[float, float, list[_Asked]]

#: Ends of stretches on the clock are whole multiples of this, or else are taken one by one.
_RESOLUTION = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Lattice:
    """Points at ``start + i x step`` on the clock, and the windows whose ends are among them.

    Parameters
    ----------
    step
        Coarse step.
    start
        At most 0, and above -step: departure lies in the first cell.
    cells
        L, up to the last window's end.
    windows
        Positions, in the sequence given, of the windows on this lattice.
    first, width
        For each of them the point at which it begins, and its cells.
    """

    step: float
    start: float
    cells: int
    windows: tuple[int, ...]
    first: tuple[int, ...]
    width: tuple[int, ...]


def find_widest_step(lives: WeibullLives, plan: float) -> Floats:
    """Return a coarse step that is fine enough for each node: (J,).

    The steps are few, so that many nodes share a lattice: a part of the plan that is coarse enough
    to cost little, and quarters of it, and so on.
    """
    sharpness = np.maximum(lives.shape, lives.shape**-2.0)
    needed = np.minimum(
        lives.scale / sharpness / STEPS_PER_WIDTH, lives.change_at / STEPS_PER_CHANGE
    )
    singular = np.minimum(needed, plan / STEPS_PER_PLAN)
    if math.isfinite(lives.change_at):
        singular /= 2.0
    needed = np.where(lives.shape < 1.0, singular, needed)
    cheap = plan / CHEAP_STEPS
    finer = np.ceil(np.log(np.maximum(cheap / needed, 1.0)) / math.log(4.0) - 1e-9)
    return np.asarray(cheap * 0.25 ** np.minimum(finer, MOST_QUARTERS))


def lay_lattices(windows: Sequence[tuple[float, float]], widest: float) -> list[Lattice]:
    """Return lattices that hold the windows, each once; empty windows are left out.

    One lattice holds them all where their ends have a common step that is not much finer than
    needed. Else every length of window has its own, anchored at the beginning of the window.
    """
    asked = [
        (index, begin, end) for index, (begin, end) in enumerate(windows) if end - begin > 1e-9
    ]
    if not asked:
        return []
    last = max(end for _, _, end in asked)
    common = _find_common_step([time for _, begin, end in asked for time in (begin, end)])
    if common is not None:
        step = common / math.ceil(common / widest - 1e-9)
        if last / step <= 2.0 * last / widest + 32.0:
            return [_lay(step, 0.0, asked)]
    alike: dict[tuple[float, float], _Group] = {}
    for index, begin, end in asked:
        step = (end - begin) / math.ceil((end - begin) / widest - 1e-9)
        late = math.fmod(begin, step)
        late = 0.0 if min(late, step - late) < 1e-7 * step else late
        key = (round(step / last, 12), round(late / step, 6))
        alike.setdefault(key, (step, late, []))[2].append((index, begin, end))
    return [_lay(*group) for group in alike.values()]


def _lay(step: float, late: float, asked: list[_Asked]) -> Lattice:
    start = late - step if late > 0.0 else 0.0
    first = tuple(round((begin - start) / step) for _, begin, _ in asked)
    width = tuple(max(round((end - begin) / step), 1) for _, begin, end in asked)
    return Lattice(
        step=step,
        start=start,
        cells=max(f + w for f, w in zip(first, width, strict=True)),
        windows=tuple(index for index, _, _ in asked),
        first=first,
        width=width,
    )


def _find_common_step(times: list[float]) -> float | None:
    parts = np.asarray(times) / _RESOLUTION
    whole = np.rint(parts).astype(np.int64)
    if np.abs(parts - whole).max() > 1e-3:
        return None
    return float(np.gcd.reduce(whole)) * _RESOLUTION
