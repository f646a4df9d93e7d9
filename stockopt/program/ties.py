"""Which of several plans is taken that cost the same: the one that asks for less.

Every piece carried, replaced or sent ahead, and every order, counts as if it cost a little more
than it does. So of plans of one cost that with the fewest pieces and orders is found. What is
still the same goes by the order of the columns, which is that of the names of boats, parts and
sources, as the solver takes one path only; or by the plan it begins from, which is that of the
round before.
"""

from __future__ import annotations

import numpy as np

from stockopt.program.arrays import Values
from stockopt.program.shared import SharedProgram

#: What a piece or an order counts for, in the plan's currency: a thousand of them far below a cent.
TIE = 5e-8
#: What the solver is given is so many times the cost: it tells millionths apart, and no less.
SCALE = 100.0


def list_tie_costs(program: SharedProgram) -> Values:
    """List by column what pieces and orders count for beside what they cost."""
    costs = np.zeros(len(program.arrays.cost))
    costs[list(program.order.values())] = TIE
    costs[program.first_option :] = TIE * _count_pieces(program)
    return costs


def find_most_ties(program: SharedProgram) -> float:
    """Return the most that all of it can count for: a plan without it may cost so much less."""
    most = np.zeros(len(program.needs))
    np.maximum.at(most, program.need, _count_pieces(program))
    return TIE * float(most.sum() + len(program.order))


def _count_pieces(program: SharedProgram) -> Values:
    """Count by option the pieces that it asks for."""
    taken = (
        program.needs[need].part.choices[choice]
        for need, choice in zip(program.need, program.choice, strict=True)
    )
    return np.array([choice.pieces + choice.ahead for choice in taken], float)
