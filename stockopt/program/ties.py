"""Which of several plans is taken that cost the same: the one that asks for less.

Every piece carried, replaced or sent ahead, and every order, counts as if it cost a little more
than it does. So of plans of one cost that with the fewest pieces and orders is found. What is
still the same goes by the order of the columns, which is that of the names of boats, parts and
sources, as the solver takes one path only.
"""

from __future__ import annotations

from stockopt.program.rows import Program, Term

#: What a piece or an order counts for, in the plan's currency: a thousand of them far below a cent.
TIE = 5e-8
#: What the solver is given is so many times the cost: it tells millionths apart, and no less.
SCALE = 100.0


def list_tie_costs(program: Program) -> list[Term]:
    """List what pieces and orders count for beside what they cost."""
    terms = [
        (column, TIE * pieces)
        for (i, j), column in program.columns.take.items()
        if (pieces := _count_pieces(program, i, j))
    ]
    return terms + [(column, TIE) for column in program.columns.order.values()]


def find_most_ties(program: Program) -> float:
    """Return the most that all of it can count for: a plan without it may cost so much less."""
    pieces = sum(
        max((_count_pieces(program, i, j) for j in range(len(need.options))), default=0)
        for i, need in enumerate(program.needs)
    )
    return TIE * (pieces + len(program.columns.order))


def _count_pieces(program: Program, i: int, j: int) -> int:
    choice = program.needs[i].options[j].choice
    return choice.pieces + choice.ahead
