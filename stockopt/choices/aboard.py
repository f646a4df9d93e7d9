"""One part on one boat: what each choice (carry, replace now, restock) costs and risks."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from stockopt.choices.choices import Choice
from stockopt.choices.excess import Floats, find_chance_beyond, find_expected_short
from stockopt.choices.frontier import find_last_useful, find_undominated
from stockopt.choices.timing import share_out_short
from stockopt.demand.demand import PartDemand

#: Most spares looked at beyond the floor, unless the expected need asks for more.
MOST_SPARES = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What the choices of one part on one boat are weighed with. Money in the plan's currency.

    Parameters
    ----------
    floor
        Fewest spares to carry.
    pin
        Carry exactly so many; None to choose. Never below the floor.
    on_hand
        Pieces of her own in date.
    credit
        Worth at the end of one unused piece, or of one unspent life.
    failing_cost
        Of one failure under way, even with the spare aboard.
    fitting_cost
        Of changing one piece before departure.
    shortage_costs
        (S,): of one piece short, by stretch.
    restock_prices
        (S,): of one piece where the stretch ends, NaN where it is not to be had.
    stops
        True where a shortage stops the boat, so that its chance counts for readiness.
    bulky
        True where a spare has mass or takes room.
    used_up_costs
        Of a part with which others are used up, (F,): what those cost more later with f replaced
        now than with the number they are weighed with; None where nothing is used up with it.
    """

    floor: int
    pin: int | None = None
    on_hand: int
    credit: float
    failing_cost: float
    fitting_cost: float
    shortage_costs: Floats
    restock_prices: Floats
    stops: bool
    bulky: bool
    used_up_costs: Floats | None = None

    @property
    def feeds(self) -> bool:
        """True where a piece replaced now uses up another part."""
        return self.used_up_costs is not None

    def find_used_up_cost(self, replace_now: int) -> float:
        """Return what parts used up with it cost more later."""
        return 0.0 if self.used_up_costs is None else float(self.used_up_costs[replace_now])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Outcome:
    """What carrying n does, with or without restocking; each of shape (F, levels of n)."""

    shortage_cost: Floats
    restock_cost: Floats
    left: Floats
    chance: Floats
    short: Floats


def list_choices(need: PartDemand, terms: Terms) -> tuple[Choice, ...]:
    """List the choices worth looking at, by pieces, carry, replace_now, restock.

    Parameters
    ----------
    need
        Pieces needed.
    terms
        Costs, floor and stock.

    Returns
    -------
    tuple of Choice
        At least one. Every number carried is at least the floor, and the pin where there is
        one; levels stop where one more piece brings nothing, and choices that another beats in
        everything are left out.
    """
    expected_need = need.whole @ np.arange(need.whole.shape[-1])
    most = max(MOST_SPARES, math.ceil(2.0 * float(expected_need.max())))
    carried = np.arange(terms.floor, terms.floor + min(need.whole.shape[-1] - 1, most) + 1)
    if terms.pin is not None:
        carried = np.array([terms.pin])
    outcomes = [(False, _keep_to_spares(need, terms, carried))]
    if len(need.stretches) > 1 and not np.isnan(terms.restock_prices[:-1]).any():
        outcomes.append((True, _restock(need, terms, carried)))

    table = np.concatenate(
        [_tabulate(need, terms, carried, restock, outcome) for restock, outcome in outcomes]
    )
    table = table[np.lexsort((table[:, 2], table[:, 1], table[:, 0], table[:, 0] + table[:, 1]))]
    return tuple(
        Choice(
            carry=int(carry),
            replace_now=int(replace_now),
            restock=bool(restock),
            later_cost=later_cost,
            shortage_chance=chance,
            expected_shortages=short,
            expected_need=float(expected_need[int(replace_now)]),
            restock_cost=restock_cost,
            used_up_cost=terms.find_used_up_cost(int(replace_now)),
        )
        for carry, replace_now, restock, later_cost, chance, short, restock_cost in table[
            find_undominated(_criteria(table, terms))
        ].tolist()
    )


def _criteria(table: Floats, terms: Terms) -> Floats:
    """Return what the program can weigh against each other; noise of rounding is no difference."""
    columns = [table[:, 0] + table[:, 1], np.round(table[:, 3], 6)]
    if terms.bulky:
        columns.append(table[:, 0])
    if terms.feeds:  # what others cost hangs on the number: only those of the same are compared
        columns += [table[:, 1], -table[:, 1]]
    if terms.stops:
        columns.append(np.round(table[:, 4], 9))
    return np.column_stack(columns)


def _tabulate(
    need: PartDemand, terms: Terms, carried: Floats, restock: bool, outcome: _Outcome
) -> Floats:
    """Return one row a choice: n, f, restock, later cost, chance, pieces short, restock cost."""
    replaced = np.arange(need.positions + 1)[:, None]
    ashore = np.maximum(terms.on_hand - carried - replaced, 0)
    later_cost = (
        terms.failing_cost * need.failures[:, None]
        + outcome.shortage_cost
        + outcome.restock_cost
        + terms.fitting_cost * replaced
        - terms.credit * (outcome.left + ashore - terms.on_hand)
        - terms.credit * (need.remaining[:, None] - need.remaining_now)
    )
    if terms.used_up_costs is not None:
        later_cost = later_cost + terms.used_up_costs[:, None]
    net_cost = later_cost + terms.credit * (ashore + carried)
    last = find_last_useful(net_cost, outcome.chance if terms.stops else None)
    looked_at = np.arange(len(carried)) <= last[:, None]
    if restock:  # nothing carried, nothing to make up: that is the choice without restocking
        looked_at &= carried > 0
    f, level = np.nonzero(looked_at)
    table = np.empty((len(f), 7))
    table[:, 0], table[:, 1], table[:, 2] = carried[level], f, restock
    table[:, 3] = later_cost[f, level]
    table[:, 4] = outcome.chance[f, level]
    table[:, 5] = outcome.short[f, level]
    table[:, 6] = outcome.restock_cost[f, level]
    return table


def _keep_to_spares(need: PartDemand, terms: Terms, carried: Floats) -> _Outcome:
    """Carry n for the whole plan."""
    level = np.minimum(carried, need.whole.shape[-1] - 1)
    beyond = find_chance_beyond(need.whole)
    expected_short = find_expected_short(beyond)
    short = expected_short[:, level]
    return _Outcome(
        shortage_cost=_cost_short(need, terms, expected_short)[:, level],
        restock_cost=np.zeros_like(short),
        left=carried - (expected_short[:, :1] - short),
        chance=beyond[:, level],
        short=short,
    )


def _cost_short(need: PartDemand, terms: Terms, expected_short: Floats) -> Floats:
    """Return the cost of the pieces short on the whole plan, which fall late in it: (F, K+1)."""
    costs = terms.shortage_costs
    if (costs == costs[0]).all():
        return np.asarray(costs[0] * expected_short)
    return np.stack(
        [
            costs @ share_out_short(by_stretch, whole)
            for by_stretch, whole in zip(need.by_stretch, need.whole, strict=True)
        ]
    )


def _restock(need: PartDemand, terms: Terms, carried: Floats) -> _Outcome:
    """Make up to n again at the end of every stretch but the last.

    After the last stretch nothing is bought, so what is left is n less what it used.
    """
    level = np.minimum(carried, need.within.shape[-1] - 1)
    expected_short = find_expected_short(find_chance_beyond(need.by_stretch))
    short = expected_short[:, :, level]
    used = expected_short[:, :, :1] - short
    return _Outcome(
        shortage_cost=terms.shortage_costs @ short,
        restock_cost=terms.restock_prices[:-1] @ used[:, :-1],
        left=carried - used[:, -1],
        chance=np.clip(1.0 - need.within[:, level], 0.0, 1.0),
        short=short.sum(axis=1),
    )
