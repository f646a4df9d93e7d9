"""Errors in words: all of them, and what to do next."""

from stockopt.errors import (
    Change,
    Clash,
    InputError,
    NoPlanError,
    Problem,
    SolverError,
    StockoptError,
)
from stockopt.report.explain import explain, explain_bug, explain_file_error


def problem(row):
    return Problem(
        table="parts.csv", row=row, column="kg", value="-3", expected="must be 0 or more"
    )


def test_every_problem_is_listed_and_counted():
    text = explain(InputError([problem(5), problem(9)]))
    assert text.startswith("2 things in the tables need mending:")
    assert "  parts.csv, row 5, column kg: '-3' must be 0 or more" in text
    assert "row 9" in text
    assert "Nothing was written." in text
    assert explain(InputError([problem(5)])).startswith("1 thing in the tables needs mending:")


def test_many_days_written_otherwise_are_mended_at_once():
    def day(row):
        expected = "may be two days: write 2031-05-03 or 2031-03-05"
        return Problem(
            table="legs.csv", row=row, column="departs_on", value="3/5/2031", expected=expected
        )

    assert "format their columns as yyyy-mm-dd" in explain(InputError([*map(day, range(2, 5))]))
    assert "yyyy-mm-dd" not in explain(InputError([*map(day, range(2, 4))]))


def test_hundreds_of_problems_are_cut_and_counted():
    error = InputError([problem(row) for row in range(2, 1202)])
    text = explain(error, 50)
    assert text.startswith("1,200 things in the tables need mending:")
    assert text.count("must be 0 or more") == 50
    assert "row 51," in text
    assert "row 52," not in text
    assert "... and 1,150 more; to list them all: stockopt check FLEET --all" in text
    assert explain(error).count("must be 0 or more") == 1200
    few = InputError([problem(5)] * 50)
    assert "more" not in explain(few, 50).replace("0 or more", "")


def test_the_least_change_leads_then_why_then_what_else_would_do():
    more, fewer, raised = (
        Change(limit="kg", unit="kg", value=1.0, needed=2.0, text=text)
        for text in ("let her carry 2 kg", "carry fewer", "spend more")
    )
    floors = Clash(text="the floors are too heavy", remedies=((more,), (fewer, raised)))
    text = explain(NoPlanError([floors]))
    assert text.splitlines()[:6] == [
        "No plan keeps all the limits. The least change that mends it:",
        "",
        "  Let her carry 2 kg.",
        "    Why: The floors are too heavy.",
        "    Or carry fewer and spend more.",
        "",
    ]
    assert "all of these together" in explain(NoPlanError([floors, floors]))


def change_of(text, limit="kg", **more):
    return Change(limit=limit, unit="kg", value=1.0, needed=2.0, text=text, **more)


def test_remedies_that_were_not_checked_say_so():
    remedies = (
        (change_of("give her 2 kg"),),
        (change_of("carry fewer", checked=False),),
        (change_of("leave later", "departs_on", checked=False),),
    )
    text = explain(NoPlanError([Clash(text="too heavy", remedies=remedies)]))
    assert "  Give her 2 kg.\n" in text
    assert "Or carry fewer (not checked against the limits of the whole fleet)." in text
    assert "Or leave later (not checked: what she needs changes with the day; try it with" in text


def test_many_changes_are_cut_and_counted():
    changes = tuple(change_of(f"let B{number} carry more") for number in range(9))
    text = explain(NoPlanError([Clash(text="too heavy", remedies=(changes,))]))
    assert "Let B0 carry more and let B1" in text
    assert "and let B4 carry more and 4 more changes (--json FILE lists them all)." in text
    assert "B5" not in text


def test_clashes_that_nothing_is_known_to_mend_are_not_said_to_be_mended():
    known = Clash(text="too heavy", remedies=((change_of("give her 2 kg"),),))
    text = explain(NoPlanError([known, Clash(text="more may clash")]))
    assert "What clashes, as far as it is known, and the least change that mends each:" in text
    assert "  More may clash.\n" in text


def test_other_errors():
    assert "--seconds" in explain(SolverError("the time was up"))
    assert explain(StockoptError("as it is")) == "as it is"
    assert explain_file_error(PermissionError(13, "Permission denied", "r.xlsx")).startswith(
        "r.xlsx: Permission denied."
    )
    assert "bug in stockopt: ValueError: x" in explain_bug(ValueError("x"))
