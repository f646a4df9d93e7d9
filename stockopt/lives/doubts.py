"""Notes on what ends no life, and on what had to be assumed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pandas as pd

from stockopt.errors import Note
from stockopt.lives.cut import BEFORE, BEYOND, NOT_RUN, SAME_DAY
from stockopt.lives.histories import HOURS_UNKNOWN, NOT_FITTED
from stockopt.lives.machines import Machines
from stockopt.lives.positions import Fitted
from stockopt.lives.records import AFTER_PLAN, BOAT_LEFT, NO_MACHINE
from stockopt.lives.watches import Watched

#: Why pieces end no life, and what to say of each such row; the rest is said once a machine.
_EACH_ROW: Mapping[str, tuple[str, str]] = {
    NO_MACHINE: ("on", "changed before the machine was fitted; left out"),
    BOAT_LEFT: ("on", "changed after the boat left; left out"),
    NOT_FITTED: ("part", "not fitted to that machine; left out"),
    BEYOND: ("quantity", "beyond the positions fitted; left out"),
    SAME_DAY: ("on", "failed at fitting or typed twice in one slot on one day; counted once"),
    NOT_RUN: ("on", "failed without running since it was fitted; left out"),
}


def note_left_out(left_out: pd.DataFrame, planned_on: str) -> list[Note]:
    """Say which pieces end no life, and why.

    Planned changes before the watch, or of a piece that never ran, are nothing to doubt.
    """
    telling = left_out[left_out["failed"] | ~left_out["why"].isin([BEFORE, NOT_RUN])]
    notes = []
    late = telling.loc[telling["why"] == AFTER_PLAN, "pieces"].sum()
    if late:
        text = f"pieces changed after {planned_on}, the day of the plan, and left out: {late}"
        notes.append(Note(table="replacements", column="on", text=text))
    for why, text in (
        (BEFORE, "failures by the day its watch begins, which set ages but end no life"),
        (HOURS_UNKNOWN, "pieces changed while its hours are not known, and left out"),
    ):
        rows = telling[telling["why"] == why]
        by_machine: Counter[tuple[str, str]] = Counter()
        for boat, machine, pieces in zip(
            rows["boat"], rows["machine"], rows["pieces"], strict=True
        ):
            by_machine[boat, machine] += pieces
        for (boat, machine), pieces in by_machine.items():
            said = f"{boat}, {machine}: {text}: {pieces}"
            notes.append(Note(table="replacements", column="on", text=said))
    each = telling[telling["why"].isin(list(_EACH_ROW))]
    for row, part, boat, machine, pieces, why in zip(
        each["row"],
        each["part"],
        each["boat"],
        each["machine"],
        each["pieces"],
        each["why"],
        strict=True,
    ):
        column, text = _EACH_ROW[why]
        said = f"{boat}, {machine}: {pieces} of {part} {text}"
        notes.append(Note(table="replacements", row=row, column=column, text=said))
    return notes


def note_first_ages(
    machines: Machines,
    fitted: Mapping[tuple[int, str], Fitted],
    watched: Mapping[tuple[int, str], Watched],
) -> list[Note]:
    """Say of how many parts of a machine it is not known whether they are as old as it."""
    unknown: Counter[int] = Counter()
    for (index, _), part in fitted.items():
        seen = watched[index, part.clock]
        unknown[index] += (
            seen.zero is not None and not seen.first_piece(part.expected_life).age_known
        )
    text = "its records do not reach back to when it was new; parts taken to be of unknown age, "
    text += "as it had run more than half of their expected life"
    return [
        Note(
            table="machines",
            column="fitted_on",
            text=f"{machines.all[index].name}: {text}: {parts}",
        )
        for index, parts in unknown.items()
        if parts
    ]


def note_assumed(slots_assumed: Mapping[str, int], lives: pd.DataFrame) -> list[Note]:
    """Say, once a part, how many slots were assumed and how many reasons were unknown."""
    notes = [
        Note(
            table="replacements",
            column="slot",
            text=f"{part}: slot not given for {count} of the pieces changed; those failed were "
            "drawn by age, of others the oldest were taken",
        )
        for part, count in slots_assumed.items()
        if count
    ]
    unknown = lives.loc[lives["reason"] == "unknown", "part"].value_counts()
    notes += [
        Note(
            table="replacements",
            column="reason",
            text=f"{part}: reason unknown for {count} of the pieces changed; counted as failures",
        )
        for part, count in unknown.items()
    ]
    return notes
