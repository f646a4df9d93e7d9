"""Laws of the reasons given, on small random programs solved to their optimum."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from program_features import make_instance
from why_builders import apply, check, ledger_of, relax, solve

from stockopt.plan_check import PlanCheckError
from stockopt.why.lines import LEAST, are_alike, explain_lines, find_more
from stockopt.why.moves import list_moves

SEEDS = st.integers(0, 10**5)
LAW = settings(max_examples=60, deadline=None, derandomize=True)


def solved(seed):
    choices = make_instance(seed)
    solution = solve(choices)
    assume(solution is not None)
    return choices, solution, ledger_of(solution, choices)


def others(line):
    return [
        c for c in line.part.choices if c != line.choice and are_alike(line.part, c, line.choice)
    ]


@given(seed=SEEDS)
@LAW
def test_a_move_costs_what_the_changed_plan_costs_and_breaks_what_it_says(seed):
    choices, solution, ledger = solved(seed)
    for line in ledger.lines:
        for other in others(line):
            for move in list_moves(ledger, line, other):
                changed = apply(move, line, solution, choices)
                assert changed.objective == pytest.approx(solution.objective - move.gain, abs=1e-6)
                if buys_for_nobody(changed, choices):
                    continue  # dear, but no limit is broken; the check takes it for a mistake
                if move.breaks:
                    with pytest.raises(PlanCheckError):
                        check(changed, choices)
                else:
                    check(changed, choices)


def buys_for_nobody(solution, choices):
    """Return whether an order is left of which nobody uses a piece."""
    used = {
        (offer.source, choices.boats[pick.boat].place)
        for pick in solution.picked
        for offer, _ in pick.bought
    }
    return any((row.offer.source, row.place) not in used for row in solution.bought)


@given(seed=SEEDS)
@LAW
def test_no_move_betters_the_best_plan_within_its_limits(seed):
    _, _, ledger = solved(seed)
    for line in ledger.lines:
        for other in others(line):
            for move in list_moves(ledger, line, other):
                assert move.breaks or move.gain <= LEAST


@given(seed=SEEDS)
@LAW
def test_one_more_that_would_pay_is_stopped_by_a_limit_that_is_worth_money(seed):
    choices, solution, ledger = solved(seed)
    for line, why in zip(ledger.lines, explain_lines(ledger), strict=True):
        assert why.stopped_by
        assert "within the gap" not in why.stopped_by
        if why.stopped_by[0] in LIMITS:
            gain = best_gain(ledger, line)
            looser = solve(relax(choices, why.boat, why.stopped_by))
            assert looser.objective <= solution.objective - gain + 1e-6
            assert gain > LEAST
        elif why.more_cost is not None and why.stopped_by[0] == "not worth its price":
            assert why.more_saves <= why.more_cost + LEAST


LIMITS = {
    "most available",
    "her kilos",
    "her litres",
    "her budget",
    "the fleet's budget",
    "readiness",
}


def best_gain(ledger, line):
    more = find_more(line.part, line.choice)
    there = list_moves(ledger, line, more)
    best = [move for move in there if "most available" not in move.breaks and move.gain > LEAST]
    return (best or there)[0].gain


@given(seed=SEEDS)
@LAW
def test_without_the_last_piece_the_plan_is_no_cheaper(seed):
    _, _, ledger = solved(seed)
    for line, why in zip(ledger.lines, explain_lines(ledger), strict=True):
        if why.last_pieces:
            fewer = next(
                c
                for c in line.part.choices
                if c.later_cost == pytest.approx(line.choice.later_cost + why.last_saves)
                and c.carry == line.choice.carry - why.last_pieces
            )
            assert all(m.breaks or m.gain <= LEAST for m in list_moves(ledger, line, fewer))
