"""Errors as the person at the dock reads them: what is wrong, all of it, and what to do next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stockopt.errors import (
    Change,
    CommandError,
    InputError,
    NoPlanError,
    SolverError,
    StockoptError,
)

#: So many problems are listed unless all are asked for: a screen or two.
MOST_PROBLEMS = 50
#: So many changes of one remedy are told in one sentence.
MOST_CHANGES = 5

#: From so many days on that are not written year first, the way to mend them all is told.
MANY_DAYS = 3
_OTHER_DAYS = ("may be two days", "is not written year first")
_MEND_DAYS = (
    "\n  All days of a file at once: in the spreadsheet program format their columns as "
    "yyyy-mm-dd and save again.\n"
)


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
    >>> from stockopt.errors import Clash
    >>> print(explain(NoPlanError([Clash(text="the floors of Heron weigh 80 kg")])))
    No plan keeps all the limits:
    <BLANKLINE>
      The floors of Heron weigh 80 kg.
    <BLANKLINE>
    Change that and run the command again. Nothing was planned.
    """
    if isinstance(error, InputError):
        return _explain_input(error, most)
    if isinstance(error, CommandError):
        return f"Wrong command line:\n\n{_listed(error.wrong)}\n\nNothing was written."
    if isinstance(error, NoPlanError):
        return _explain_no_plan(error)
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
    days = sum(one.expected.startswith(_OTHER_DAYS) for one in error.problems)
    rest += _MEND_DAYS if days >= MANY_DAYS else ""
    return (
        f"{needs} mending:\n\n{_listed(str(problem) for problem in shown)}\n{rest}\n"
        "Mend the tables and run the command again. Nothing was written."
    )


def _explain_no_plan(error: NoPlanError) -> str:
    """Lead with the least change, then why, then what else would mend it."""
    mended = [bool(clash.remedies) for clash in error.clashes]
    head = "No plan keeps all the limits"
    if any(mended) and not all(mended):
        head += ". What clashes, as far as it is known, and the least change that mends each"
    elif any(mended):
        head += ". The least change that mends it"
        if len(error.clashes) > 1:
            head += " is all of these together"
    lines: list[str] = []
    for clash in error.clashes:
        if not clash.remedies:
            lines += [_sentence(clash.text)]
            continue
        least, *others = clash.remedies
        lines += [_sentence(_say_remedy(least))]
        lines += [f"  Why: {_sentence(clash.text)}"]
        lines += [f"  Or {_say_remedy(remedy)}." for remedy in others]
    return (
        f"{head}:\n\n{_listed(lines)}\n\n"
        "Change that and run the command again. Nothing was planned."
    )


def _say_remedy(remedy: Sequence[Change]) -> str:
    """Say what is changed together: of many changes the first, and where to find the rest."""
    told = [change.text for change in remedy[:MOST_CHANGES]]
    if more := len(remedy) - len(told):
        told.append(f"{more:,} more changes (--json FILE lists them all)")
    text = " and ".join(told)
    if all(change.checked for change in remedy):
        return text
    if any(change.limit == "departs_on" for change in remedy):
        return f"{text} (not checked: what she needs changes with the day; try it with --departs)"
    return f"{text} (not checked against the limits of the whole fleet)"


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


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
