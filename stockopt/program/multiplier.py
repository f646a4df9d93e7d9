"""The price of money at which the fleet, in broken pieces, spends its budget."""

from __future__ import annotations

from collections.abc import Callable

#: Money dearer than this many times itself is as good as none to spend.
DEAREST = 2.0**20
#: Share of the budget by which the spending may stay below it.
_NEAR = 1e-3
_MOST_STEPS = 40


def find_multiplier(spend: Callable[[float], float], budget: float) -> float:
    """Find the price of money, on top of itself, at which the budget is kept.

    Parameters
    ----------
    spend
        What is spent at a price; it falls as money gets dearer.
    budget
        Money to spend.

    Returns
    -------
    float
        0 where the budget is no limit; :data:`DEAREST` where it cannot be kept.

    Notes
    -----
    The price is doubled until it is enough, and then closed in on by false position and halving
    in turn.

    Examples
    --------
    >>> round(find_multiplier(lambda price: 100.0 / (1.0 + price), 40.0), 2)
    1.5
    >>> find_multiplier(lambda price: 30.0, 40.0)
    0.0
    """
    low, over = 0.0, spend(0.0) - budget
    if over <= 0.0:
        return 0.0
    high = 0.5
    while (under := spend(high) - budget) > 0.0:
        low, over = high, under
        high *= 2.0
        if high > DEAREST:
            return DEAREST
    for step in range(_MOST_STEPS):
        if under >= -_NEAR * budget or high - low <= 1e-6 * high:
            break
        share = 0.5 if step % 2 else over / (over - under)
        middle = low + (high - low) * share
        found = spend(middle) - budget
        if found > 0.0:
            low, over = middle, found
        else:
            high, under = middle, found
    return high
