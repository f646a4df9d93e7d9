"""Errors as the person at the dock reads them: what is wrong, all of it, and what to do next."""

from __future__ import annotations

from collections.abc import Iterable

from stockopt.errors import CommandError, InputError, NoPlanError, SolverError, StockoptError

#: So many problems are listed unless all are asked for: a screen or two.
MOST_PROBLEMS = 50


def explain(error: StockoptError, most: int | None = None) -> str:
    """Return an error in words.

    Parameters
    ----------
    error
        What to explain.
    most
        Number of problems in the tables to list, the rest counted; None for all.

    Examples
    --------
    >>> print(explain(NoPlanError(["The floor of Heron needs 80 kg, her limit is 60 kg"])))
    No plan keeps all the limits:
    <BLANKLINE>
      The floor of Heron needs 80 kg, her limit is 60 kg
    <BLANKLINE>
    Loosen a limit and run the command again.
    """
    if isinstance(error, InputError):
        return _explain_input(error, most)
    if isinstance(error, CommandError):
        return f"Wrong command line:\n\n{_listed(error.wrong)}\n\nNothing was written."
    if isinstance(error, NoPlanError):
        return (
            f"No plan keeps all the limits:\n\n{_listed(error.clashes)}\n\n"
            "Loosen a limit and run the command again."
        )
    if isinstance(error, SolverError):
        return (
            f"No plan found: {error}.\n\n"
            "Allow more time (--seconds) or a wider gap (--gap). Nothing was written."
        )
    return str(error)


def _explain_input(error: InputError, most: int | None) -> str:
    count = len(error.problems)
    needs = "1 thing in the tables needs" if count == 1 else f"{count:,} things in the tables need"
    shown = error.problems[:most]
    more = count - len(shown)
    rest = (
        f"  ... and {more:,} more; to list them all: stockopt check FLEET --all\n" if more else ""
    )
    return (
        f"{needs} mending:\n\n{_listed(str(problem) for problem in shown)}\n{rest}\n"
        "Mend the tables and run the command again. Nothing was written."
    )


def explain_file_error(error: OSError) -> str:
    """Return why a file could not be read or written."""
    what = error.filename or "A file"
    return (
        f"{what}: {error.strerror or error}.\n"
        "No file was replaced. Mend that and run the command again."
    )


def explain_bug(error: Exception) -> str:
    """Return that stockopt itself is at fault, and how to report it."""
    return (
        f"This is a bug in stockopt: {type(error).__name__}: {error}\n"
        "It is not your command. Please report it with what the same command prints with --debug."
    )


def _listed(lines: Iterable[str]) -> str:
    return "\n".join(f"  {line}" for line in lines)
