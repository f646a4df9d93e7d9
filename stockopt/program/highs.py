"""HiGHS through PuLP: quiet, on one thread, and the same every time."""

from __future__ import annotations

import highspy
import pulp


class SilentHighs(highspy.Highs):
    """HiGHS without the banner that it prints while its callbacks are being set."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the solver's own name
        """Be quiet first; the solver does this while it is made."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]  # highspy has no types


class QuietHiGHS(pulp.HiGHS):  # type: ignore[misc]  # PuLP has no types
    """PuLP's HiGHS with the options that make a run repeatable.

    Parameters
    ----------
    gap
        Share of the objective, or amount where the objective is below 1, at which to stop.
    seconds
        Time limit; None for none.
    mip
        False to let whole columns take broken values.
    """

    def __init__(
        self,
        *,
        gap: float = 0.0,
        seconds: float | None = None,
        mip: bool = True,
    ) -> None:
        super().__init__(
            mip=mip, gapRel=gap, gapAbs=gap, timeLimit=seconds, threads=1, random_seed=0
        )

    def createAndConfigureSolver(self, lp: pulp.LpProblem) -> None:  # noqa: N802 - PuLP's name
        """Make the solver; PuLP's own way prints the banner."""
        lp.solverModel = SilentHighs()  # type: ignore[no-untyped-call]  # highspy has no types
        options = {
            "mip_rel_gap": self.gapRel,
            "mip_abs_gap": self.gapAbs,
            "threads": self.threads,
            "time_limit": self.timeLimit,
            **self.optionsDict,
        }
        for name, value in options.items():
            if value is not None:
                lp.solverModel.setOptionValue(name, value)


def hand_over(problem: pulp.LpProblem) -> highspy.Highs:
    """Hand a program over to a solver of its own, and number its columns."""
    handing = QuietHiGHS()
    handing.createAndConfigureSolver(problem)
    handing.buildSolverModel(problem)
    solver: highspy.Highs = problem.solverModel
    solver.setOptionValue("output_flag", False)
    return solver
