"""One part in a store over a season of limited length: what is to be expected, exactly.

Pieces are asked for one by one, at random, at a known rate (Poisson). When the stock falls to the
reorder point R, Q pieces are ordered, one order at a time; a piece asked for while there is none
is lost to the store. A lead time is drawn for every order.

The textbook's cycle (Hadley & Whitin 1963, Analysis of Inventory Systems, section 4-11, lost
sales; from memory) is the long run of the same system. A season is not the long run: a part asked
for once a year is ordered once or never, and what counts is the first order, and what is left when
the boats are laid up. So the expectation is worked out backwards from the last day.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockopt.choices.store_spell import Spell, find_at_least, find_chances, run_down

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Longest step in days, fewest steps, and most pieces asked for in a step; measured against the
#: exact chains of the tests, where costs come out within 0.2 %.
_LONGEST_STEP, _FEWEST_STEPS, _MOST_ASKED = 2.0, 48, 2.0
#: Times a step is gone over where orders can arrive within it.
_PASSES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """How r stores reorder one part each.

    Parameters
    ----------
    rate
        (r,): pieces asked for a day.
    reorder_point, quantity
        (r,): R and Q, Q at least 1. Where an order leaves the stock at R or below when it
        arrives, the next is placed at once.
    lead_days, lead_weight
        (r, P): lead times and their chances.
    last_order
        (r,): days before the end of the season from which on nothing is ordered; infinite where
        nothing ever is.
    """

    rate: Floats
    reorder_point: Ints
    quantity: Ints
    lead_days: Floats
    lead_weight: Floats
    last_order: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """What an order, a piece lost, a piece left at the end, and a piece a day count for; (r,).

    Pieces left are those on the shelf, and those on the way when the season ends.
    """

    order: Floats
    lost: Floats
    left: Floats
    piece_day: Floats


def expect_season(rules: Rules, counted: Counted, days: float, levels: int) -> Floats:
    """Return what a season counts for in all, from every number of pieces on the shelf.

    Parameters
    ----------
    rules, counted
        Of r stores.
    days
        Length of the season.
    levels
        Most pieces on the shelf at its beginning.

    Returns
    -------
    Floats
        (r, levels + 1).

    Notes
    -----
    With U(t, i) what is to come when t days are left, i pieces are on the shelf and no order is on
    its way: above R, dU/dt = i x piece_day + rate (U(t, i - 1) - U(t, i)); at R and below, an order
    is placed, pieces asked for until it arrives are taken off, and what follows is
    U(t - lead, rest + Q). Over one step the first is solved exactly, with the value at R straight
    within the step; the second looks back on the steps before.
    """
    most_asked = float(rules.rate.max()) * days
    steps = math.ceil(max(days / _LONGEST_STEP, _FEWEST_STEPS, most_asked / _MOST_ASKED))
    step = days / steps
    top = max(levels, int((rules.reorder_point + rules.quantity).max()))
    above = _AboveR.over(rules, counted, step, top)
    at_r = _AtR(rules, counted, step)
    passes = _PASSES if (rules.lead_days < step).any() else 1

    rows = np.arange(len(rules.rate))
    # Only as many steps are kept as an order looks back on; step t is at t modulo their number.
    kept = min(steps, math.ceil(float(rules.lead_days.max()) / step) + 2) + 1
    worth = np.empty((kept, len(rows), top + 1))
    worth[0] = counted.left[:, None] * np.arange(top + 1)
    # With orders to the last moment, one placed there is still paid, and left at the end.
    last_one = counted.order + counted.left * rules.quantity
    before = worth[0][rows, rules.reorder_point] + np.where(rules.last_order <= 0, last_one, 0.0)
    for turn in range(1, steps + 1):
        last, now = worth[(turn - 1) % kept], turn % kept
        worth[now] = 2.0 * last - worth[(turn - 2) % kept] if turn > 1 else last
        for _ in range(passes):
            ordering = at_r.find(worth, turn, every=turn == steps)
            at_point = ordering[rows, rules.reorder_point]
            share = at_r.share_ordering(turn)
            mixed = share * at_point + (1.0 - share) * before
            begins = share < 1.0
            reached = above.step_on(
                last, np.where(begins, mixed, at_point), np.where(begins, mixed, before)
            )
            below = reached[:, : at_r.levels]
            reached[:, : at_r.levels] = np.where(at_r.here, ordering, below)
            worth[now] = reached
        before = at_point
    expected: Floats = worth[steps % kept][:, : levels + 1]
    return expected


@dataclass(frozen=True, slots=True, kw_only=True)
class _AboveR:
    """One step above the reorder point; i is along the last axis, 0 at R and below.

    `chance` (r, d): of d pieces asked for in a step. `reach_now`, `reach_before`: chance of coming
    down to R within the step, shared between its two ends. `kept`: pieces a day above R, counted.
    """

    above: NDArray[np.bool_]
    chance: Floats
    reach_now: Floats
    reach_before: Floats
    kept: Floats

    @classmethod
    def over(cls, rules: Rules, counted: Counted, step: float, top: int) -> _AboveR:
        """Return the tables of a step."""
        rate = np.maximum(rules.rate, 1e-12)
        mean = rate * step
        chance = find_chances(mean, top + 2)
        at_least = find_at_least(chance)
        pieces = np.arange(top + 1)
        gap = pieces - rules.reorder_point[:, None]
        above = gap > 0
        reach = np.take_along_axis(at_least, np.maximum(gap, 0), axis=1)
        later = np.take_along_axis(at_least, np.maximum(gap, 0) + 1, axis=1)
        before = gap / mean[:, None] * later
        spent = at_least[:, 1:] / rate[:, None]  # expected days with d asked for, d = 0, 1 ...
        days = np.pad(np.cumsum(spent, axis=1), ((0, 0), (1, 0)))
        asked = np.pad(np.cumsum(spent * np.arange(spent.shape[1]), axis=1), ((0, 0), (1, 0)))
        places = np.maximum(gap, 0)
        kept = pieces * np.take_along_axis(days, places, axis=1)
        kept -= np.take_along_axis(asked, places, axis=1)
        most = max(1, int(np.count_nonzero(chance.max(axis=0) > 1e-13)))
        return cls(
            above=above,
            chance=chance[:, :most],
            reach_now=np.where(above, reach - before, 0.0),
            reach_before=np.where(above, before, 0.0),
            kept=np.where(above, kept, 0.0) * counted.piece_day[:, None],
        )

    def step_on(self, worth: Floats, now: Floats, before: Floats) -> Floats:
        """Return the worth one step earlier above R, from `worth` and that at R at both ends."""
        from_above = np.where(self.above, worth, 0.0)
        total = self.kept + self.reach_now * now[:, None] + self.reach_before * before[:, None]
        for asked in range(min(self.chance.shape[1], worth.shape[1])):
            reached = from_above[:, : worth.shape[1] - asked]
            total[:, asked:] += self.chance[:, asked, None] * reached
        return np.asarray(total)


class _AtR:
    """At the reorder point and below: what ordering leads to."""

    def __init__(self, rules: Rules, counted: Counted, step: float) -> None:
        self.rules, self.counted, self.step = rules, counted, step
        self.levels = int(rules.reorder_point.max()) + 1
        self.here = np.arange(self.levels) <= rules.reorder_point[:, None]
        self._full = self._weigh(Spell.of(rules.rate[:, None], rules.lead_days, self.levels))
        self._falls_to_r = bool((rules.quantity > rules.reorder_point).all())
        self._rows, self._points = np.arange(len(rules.rate)), rules.reorder_point
        self._looks_back = int(np.ceil(rules.lead_days.max() / step))

    def share_ordering(self, turn: int) -> Floats:
        """Return what share of this step lies before the last day of orders; 1 in most.

        In the step in which, seen from the end, orders begin, the worth at R jumps.
        """
        since = turn - self.rules.last_order / self.step
        begins = (since >= -1e-9) & (since < 1.0 - 1e-9)
        return np.where(begins, np.maximum(since, 0.0), 1.0)

    def find(self, worth: Floats, turn: int, *, every: bool) -> Floats:
        """Return (r, levels): what is to come `turn` steps before the end.

        `worth` holds the steps up to this one, step t at t modulo its length. Levels below R are
        worked out only where they are ever met: on the first day (`every`), or where an order can
        leave the stock there.
        """
        left = turn * self.step
        rules, counted = self.rules, self.counted
        ordering = rules.last_order <= (turn + 1e-9) * self.step
        never = np.zeros((len(rules.rate), self.levels))
        if not ordering.all():
            lost, rest, area = run_down(rules.rate, np.full_like(rules.rate, left), self.levels)
            never = _count(counted, lost, area) + counted.left[:, None] * rest
        if not ordering.any():
            return never
        days = np.minimum(rules.lead_days, left)
        spell = self._full
        if turn < self._looks_back:
            spell = self._weigh(Spell.of(rules.rate[:, None], days, self.levels))
        after = self._after(worth, turn - days / self.step).reshape(len(days), -1)
        total = counted.order[:, None] + _count(counted, spell.lost, spell.area)
        if every or not self._falls_to_r:
            total += np.einsum("rij,rj->ri", spell.arrive, after)
        else:
            total[self._rows, self._points] += np.einsum(
                "rj,rj->r", spell.arrive[self._rows, self._points], after
            )
        return np.where(ordering[:, None], total, never)

    def _weigh(self, spell: Spell) -> Spell:
        """Return the spell mixed over the lead times; `arrive` (r, i, P x j) still apart."""
        weight = self.rules.lead_weight
        arrive = np.moveaxis(weight[..., None, None] * spell.arrive, 1, 2)
        return Spell(
            arrive=np.ascontiguousarray(arrive).reshape(len(weight), self.levels, -1),
            lost=np.einsum("rp,rpi->ri", weight, spell.lost),
            area=np.einsum("rp,rpi->ri", weight, spell.area),
        )

    def _after(self, worth: Floats, place: Floats) -> Floats:
        """Return (r, P, levels): worth with j + Q on the shelf, at places (r, P) between steps."""
        whole = np.maximum(np.ceil(place).astype(np.int64) - 1, 0)
        ahead = (place - whole)[..., None]
        first, second = whole[..., None] % len(worth), (whole[..., None] + 1) % len(worth)
        rows = np.arange(len(place))[:, None, None]
        shelf = (self.rules.quantity[:, None] + np.arange(self.levels))[:, None, :]
        shelf = np.minimum(shelf, worth.shape[2] - 1)  # beyond R + Q nobody asks
        low = worth[first, rows, shelf]
        return np.asarray(low + ahead * (worth[second, rows, shelf] - low))


def _count(counted: Counted, lost: Floats, area: Floats) -> Floats:
    return counted.lost[:, None] * lost + counted.piece_day[:, None] * area
