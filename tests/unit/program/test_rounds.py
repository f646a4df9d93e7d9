"""The time of the rounds of boats and stores, and which round's plan is kept."""

from dataclasses import replace

import pytest
from program_builders import make_choice, make_choices, make_part

from stockopt.choices.settled import Settled
from stockopt.errors import NoPlanError, SolverError
from stockopt.program import in_turn
from stockopt.program.in_turn import solve_in_turn
from stockopt.program.solve import solve_program

#: A part replaced now that uses up another: what is told may always be another number.
IMPELLER = make_part(
    make_choice(0, 50.0, replace_now=0),
    make_choice(0, 20.0, replace_now=1),
    part="impeller",
    uses=(("seal", 1),),
)


class Rounds:
    """Stands for the program: each round takes so many seconds and ends with such a gap."""

    def __init__(self, monkeypatch, *rounds):
        self.rounds = list(rounds)
        self.given, self.starts = [], []
        monkeypatch.setattr(in_turn, "solve_program", self.solve)

    def solve(self, choices, *, gap, seconds, start=None):
        self.given.append(seconds)
        self.starts.append(start)
        taken, reached = self.rounds.pop(0)
        if isinstance(reached, Exception):
            raise reached
        # Every round another number is replaced, so that no two agree until the line is held.
        (part,) = choices.parts
        number = min((len(self.given) + 1) % 2, len(part.choices) - 1)
        only = replace(part, choices=(part.choices[number],))
        solution = solve_program(make_choices(only), gap=0.0, seconds=10.0)
        (pick,) = solution.picked
        bound = solution.objective * (1.0 - reached)
        pick = replace(pick, choice=number)
        return replace(solution, picked=(pick,), gap=reached, bound=bound, seconds=taken)


def weigh(settled: Settled):
    return make_choices(IMPELLER)


def test_first_round_has_half_of_the_time_and_later_ones_what_is_left(monkeypatch):
    rounds = Rounds(monkeypatch, (10.0, 0.0), (12.0, 0.0), (20.0, 0.0))
    _, solution = solve_in_turn(weigh, gap=1e-4, seconds=60.0)
    assert rounds.given == pytest.approx([30.0, 50.0, 38.0])
    assert solution.seconds == pytest.approx(42.0)
    assert (solution.rounds.number, solution.rounds.agreed) == (3, True)


def test_later_rounds_begin_from_the_plan_before(monkeypatch):
    rounds = Rounds(monkeypatch, (1.0, 0.0), (1.0, 0.0), (1.0, 0.0))
    solve_in_turn(weigh, gap=1e-4, seconds=60.0)
    first, *later = rounds.starts
    assert first is None
    assert len(later) == 2
    assert None not in later


def test_no_round_is_begun_without_time_for_one_like_the_last(monkeypatch):
    rounds = Rounds(monkeypatch, (25.0, 0.0), (20.0, 0.0))
    _, solution = solve_in_turn(weigh, gap=1e-4, seconds=60.0)
    assert len(rounds.given) == 2
    assert solution.seconds == pytest.approx(45.0)


def test_round_that_runs_out_of_time_far_from_the_best_does_not_replace_a_proven_one(monkeypatch):
    Rounds(monkeypatch, (2.0, 5e-5), (58.0, 0.5))
    _, solution = solve_in_turn(weigh, gap=1e-4, seconds=60.0)
    assert (solution.gap, solution.rounds.number) == (5e-5, 1)
    assert solution.seconds == pytest.approx(60.0)
    assert not solution.rounds.agreed


def test_later_round_within_the_gap_replaces_one_that_is_nearer(monkeypatch):
    Rounds(monkeypatch, (2.0, 1e-6), (30.0, 9e-5), (29.0, 3e-4))
    _, solution = solve_in_turn(weigh, gap=1e-4, seconds=60.0)
    assert (solution.gap, solution.rounds.number) == (9e-5, 2)


@pytest.mark.parametrize("error", [SolverError("no time"), NoPlanError(())])
def test_later_round_without_a_plan_leaves_the_one_before(monkeypatch, error):
    Rounds(monkeypatch, (2.0, 0.0), (2.0, 0.0), (2.0, error))
    _, solution = solve_in_turn(weigh, gap=1e-4, seconds=60.0)
    assert solution.rounds.number == 2


def test_first_round_without_a_plan_is_told(monkeypatch):
    Rounds(monkeypatch, (2.0, SolverError("no time")))
    with pytest.raises(SolverError, match="no time"):
        solve_in_turn(weigh, gap=1e-4, seconds=60.0)


def test_fleet_that_settles_at_once_has_all_the_time(monkeypatch):
    plain = make_choices(make_part(make_choice(0, 5.0)))
    given = []

    def solve(choices, *, gap, seconds, start=None):
        given.append(seconds)
        return solve_program(choices, gap=gap, seconds=seconds, start=start)

    monkeypatch.setattr(in_turn, "solve_program", solve)
    _, solution = solve_in_turn(lambda settled: plain, gap=1e-4, seconds=60.0)
    assert given == [60.0]
    assert solution.rounds.agreed
