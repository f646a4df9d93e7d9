"""What counts as a piece needed."""

from lookback_builders import change, make_history, make_past, on

PARTS = [
    {"part": "seal", "price": 10, "clock": "hours"},
    {"part": "belt", "price": 10, "clock": "hours", "replace_every": 400},
    {"part": "gasket", "price": 1},
]
TABLES = {
    "parts": PARTS,
    "fitted": [{"model": "M", "part": "seal"}, {"model": "M", "part": "belt"}],
    "used_with": [{"part": "gasket", "with_part": "belt", "quantity": 2}],
}


def history(*rows, **tables):
    return make_history(*make_past(replacements=list(rows), **TABLES, **tables))


def test_failures_and_changes_by_schedule_need_a_piece_others_do_not():
    found = history(
        change(-10),
        change(0, reason="worn"),
        change(5),
        change(20, reason="worn"),
        change(30, reason="unknown"),
        change(35, reason="scheduled"),
        change(36, reason="swapped"),
        change(37, reason="borrowed"),
        change(40, part="belt", reason="scheduled"),
        change(41, part="gasket", reason="failed"),
    )
    needed = [(one.part, one.day, one.failed) for one in found.changes]
    assert needed == [
        ("seal", 5.0, True),
        ("seal", 20.0, True),
        ("seal", 30.0, True),
        ("belt", 40.0, False),
    ]
    assert (found.planned, found.proved, found.not_fitted) == (1, 2, 1)


def test_only_the_piece_that_was_there_on_the_day_is_the_first():
    found = history(change(5), change(20))
    assert [(one.first, one.ran) for one in found.changes] == [(True, 50.0), (False, 200.0)]


def test_a_piece_swapped_first_is_not_there_any_more():
    found = history(change(5, reason="swapped"), change(20))
    assert [one.first for one in found.changes] == [False]


def test_pieces_of_one_row_are_told_apart():
    tables = {"fitted": [{"model": "M", "part": "seal", "quantity": 3}]}
    now, past = make_past(replacements=[change(5, quantity=2)], parts=PARTS, **tables)
    found = make_history(now, past)
    assert len({one.slot for one in found.changes}) == 2
    assert {one.on for one in found.changes} == {on(5)}
