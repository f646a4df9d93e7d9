"""Every piece in the replacements ends a life or is left out by name: failures in, failures out."""

from hypothesis import given, settings
from lives_builders import random_fleets

from stockopt.lives.build import build_lives
from stockopt.units import FAILURE_REASONS


@settings(max_examples=60, deadline=None, derandomize=True)
@given(random_fleets())
def test_pieces_in_are_pieces_out(fleet):
    lives, table = build_lives(fleet), fleet.replacements
    out = lives.left_out.groupby("row")["pieces"].sum()
    ended = lives.lives.loc[lives.lives["row"] > 0, "row"].value_counts()
    assert ended.add(out, fill_value=0).to_dict() == table["quantity"].to_dict()

    failed = table["reason"].isin(FAILURE_REASONS)
    failures_out = lives.left_out.loc[lives.left_out["failed"], "pieces"].sum()
    assert table.loc[failed, "quantity"].sum() == lives.lives["failed"].sum() + failures_out


@settings(max_examples=30, deadline=None, derandomize=True)
@given(random_fleets())
def test_every_failure_left_out_is_noted(fleet):
    lives = build_lives(fleet)
    noted = [note for note in lives.notes if note.table == "replacements"]
    rows = {note.row for note in noted}
    for row, boat, machine, failed, why in lives.left_out[
        ["row", "boat", "machine", "failed", "why"]
    ].itertuples(index=False):
        if failed and row not in rows:
            assert why in {
                "before the watch begins",
                "hours of the machine not known",
                "after the day of the plan",
            }
            where = "the day of the plan" if "plan" in why else f"{boat}, {machine}: "
            assert any(where in note.text for note in noted if note.row is None)
