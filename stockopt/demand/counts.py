"""How many pieces each position needs in each window of its clock, given each node."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockopt.demand.cells import put_on_lattice
from stockopt.demand.first_failure import FirstLaw, KnownAges, UnknownAges
from stockopt.demand.integrate import (
    failures_after_first,
    list_window_spells,
    needs_if_failing_before,
    needs_if_failing_inside,
)
from stockopt.demand.later_window import Window, tabulate_window
from stockopt.demand.lattice import Lattice, find_widest_step, lay_lattices
from stockopt.demand.new_piece import NewPiece, list_spells, tabulate_new_piece
from stockopt.demand.weibull import Floats, WeibullLives

#: Below this chance, weighted over the nodes, a number of needs is not followed up.
_NEVER = 1e-8

#: Positions counted at a time.
_LOT = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """What is known of one position at departure, on its clock.

    Parameters
    ----------
    age
        Its age, or what it has at least where that is all one knows.
    known
        Which of the two.
    """

    age: float
    known: bool


#: A piece replaced before departure.
NEW = Position(age=0.0, known=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """Needs of P positions given each of J nodes.

    Parameters
    ----------
    at_least
        For each window (J, P, K): chance of k = 1 .. K needs or more.
    failures
        (J, P): expected failures until the end of the last window.
    residual
        (J, P): expected time at departure to the first need.
    """

    at_least: tuple[Floats, ...]
    failures: Floats
    residual: Floats


def count_needs(
    lives: WeibullLives,
    weight: Floats,
    windows: Sequence[tuple[float, float]],
    positions: Sequence[Position],
) -> Counts:
    """Return the needs of positions that share a clock and a life, window by window.

    Parameters
    ----------
    lives
        The life of a new piece, given each of J nodes.
    weight
        (J,): weights of the nodes; they only say which chances are too small to follow up.
    windows
        Beginning and end of each on the clock, departure being 0; the first is the whole plan.
    positions
        P of them.

    Notes
    -----
    A need that falls due just when a window ends belongs to the next one. The error of any chance
    given the node is below 1e-4 for shapes from 0.5 to 8 and plans of 0.01 to 5 mean lives.
    """
    plan = windows[0][1]
    steps = find_widest_step(lives, plan) if plan > 0.0 else np.ones_like(lives.shape)
    parts = []
    for step in np.unique(steps):
        chosen = np.flatnonzero(steps == step)
        parts.append(
            (chosen, _count_alike(lives[chosen], weight[chosen], windows, positions, float(step)))
        )
    nodes, count = len(lives.shape), len(positions)
    failures = np.zeros((nodes, count))
    at_least = [
        np.zeros((nodes, count, max([1, *(part[w].shape[-1] for _, (part, _) in parts)])))
        for w in range(len(windows))
    ]
    for chosen, (part, failing) in parts:
        failures[chosen] = failing
        for whole, some in zip(at_least, part, strict=True):
            whole[chosen, :, : some.shape[-1]] = some
    residual = np.zeros((nodes, count))
    for places, law in _laws(lives, positions):
        residual[:, places] = law.residual()
    return Counts(at_least=tuple(at_least), failures=failures, residual=residual)


def _laws(lives: WeibullLives, positions: Sequence[Position]) -> list[tuple[list[int], FirstLaw]]:
    """Return the laws of the positions, and the places of those each law holds for."""
    known = [
        place
        for place, position in enumerate(positions)
        if position.known or position.age >= lives.change_at
    ]
    unknown = sorted(set(range(len(positions))) - set(known))
    ages = np.array([position.age for position in positions])
    laws: list[tuple[list[int], FirstLaw]] = [
        (places, KnownAges(lives=lives, age=ages[places])) for places in _split(known)
    ]
    laws += [
        (places, UnknownAges(lives=lives, at_least=ages[places])) for places in _split(unknown)
    ]
    return laws


def _split(places: list[int]) -> list[list[int]]:
    """Return the places in lots small enough for their arrays to stay in memory."""
    return [places[start : start + _LOT] for start in range(0, len(places), _LOT)]


def _count_alike(
    lives: WeibullLives,
    weight: Floats,
    windows: Sequence[tuple[float, float]],
    positions: Sequence[Position],
    widest: float,
) -> tuple[list[Floats], Floats]:
    """Return the chances by window, and the expected failures, for nodes of one step."""
    nodes, count = len(lives.shape), len(positions)
    at_least = [np.zeros((nodes, count, 0)) for _ in windows]
    failures = np.zeros((nodes, count))
    for lattice in lay_lattices(windows, widest):
        tables = _tabulate(lives, weight, lattice)
        for places, law in _laws(lives, positions):
            chances, failing = _integrate(law, lattice, tables)
            for window, chance in zip(lattice.windows, chances, strict=True):
                if not at_least[window].shape[-1]:
                    at_least[window] = np.zeros((nodes, count, chance.shape[-1]))
                at_least[window][:, places] = chance
            if failing is not None:
                failures[:, places] = law.fails_first(windows[0][1]) + failing
    return at_least, failures


@dataclass(frozen=True, slots=True)
class _Tables:
    """Tables of a new piece on one lattice, for each width of window those of such windows."""

    new: NewPiece
    most: dict[int, int]
    later: dict[int, Window]


def _tabulate(lives: WeibullLives, weight: Floats, lattice: Lattice) -> tuple[_Tables, _Tables]:
    """Return the tables on half the step, and on the whole step."""
    cells = lattice.cells
    fine = list_spells(lives, lattice.step / 2.0, 2 * cells)
    coarse = tuple(spell.coarsen() for spell in fine)
    finer = tabulate_new_piece(lives, lattice.step / 2.0, fine, None, weight)
    kept = len(finer.needs) - 1
    coarser = tabulate_new_piece(lives, lattice.step, coarse, kept, weight)
    most = {}
    for width in set(lattice.width):
        most[width] = kept
        for order in range(1, kept):
            if weight @ finer.needs_before(order, 2 * width) < _NEVER:
                most[width] = order
                break
    late = {w for f, w in zip(lattice.first, lattice.width, strict=True) if f > 0}
    return tuple(  # type: ignore[return-value]
        _Tables(
            new=new,
            most={width * times: most[width] for width in set(lattice.width)},
            later={w * times: tabulate_window(new, w * times, most[w]) for w in late},
        )
        for new, times in ((finer, 2), (coarser, 1))
    )


def _integrate(
    law: FirstLaw, lattice: Lattice, tables: tuple[_Tables, _Tables]
) -> tuple[list[Floats], Floats | None]:
    """Return the chances of each window of the lattice, (J, P, K), extrapolated in the step.

    And the expected failures after the first renewal, where the whole plan is on this lattice.
    """
    finer, coarser = tables
    fine = put_on_lattice(law, lattice.start, lattice.step / 2.0, 2 * lattice.cells)
    coarse = fine.coarsen()
    first, widths = np.array(lattice.first), np.array(lattice.width)
    begins = lattice.start + lattice.step * first
    chances: list[Floats] = [np.zeros(0)] * len(widths)
    for width in np.unique(widths):
        places = np.flatnonzero(widths == width)
        begin, point = begins[places], first[places]
        spells = list_window_spells(law, fine, begin, 2 * point, 2 * width, lattice.step / 2.0)
        both = []
        for part, table, cells, times in ((spells, finer, fine, 2), (None, coarser, coarse, 1)):
            some = part or [spell.coarsen() for spell in spells]
            most = table.most[times * width]
            end = begin + width * lattice.step
            chance = needs_if_failing_inside(law, some, end, table.new, most)
            if times * width in table.later:
                window = table.later[times * width]
                chance += needs_if_failing_before(law, cells, begin, times * point, window)
            both.append(chance)
        best = np.clip((4.0 * both[0] - both[1]) / 3.0, 0.0, 1.0)
        best = np.minimum.accumulate(best, axis=-1)
        for turn, place in enumerate(places):
            chances[place] = best[:, :, turn]
    if 0 not in lattice.windows:
        return chances, None
    failing = [failures_after_first(c, t.new) for c, t in ((fine, finer), (coarse, coarser))]
    return chances, (4.0 * failing[0] - failing[1]) / 3.0
