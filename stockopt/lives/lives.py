"""What each piece did in each position, as one value."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from stockopt.errors import Note


@dataclass(frozen=True, slots=True, kw_only=True)
class Lives:
    """Every life seen, and every position as it stands on the day of the plan.

    Parameters
    ----------
    lives
        One row a life, sorted by part, boat, machine, fitted_on, slot, ended_on. Columns:

        ======================  ==========================================================
        part, boat, machine     where; the part's current number
        fitted_on               of the machine (NaT if blank): tells successive machines apart
        slot                    which piece of the machine, from 1
        clock                   hours or days
        entered                 age at which it entered observation, on its clock
        left                    age at which it left; at least `entered`
        sound                   age at which it was last seen sound: a failure came at some age
                                from `sound` to `left`; equals `left` where that was not told
        failed                  True for failed, worn, unknown; False for a suspension
        age_known               False for the first life of a position of unknown history:
                                its ages then count from the first record
        reason                  the record's reason, or running, machine replaced, boat left
        began_on, ended_on      dates; `began_on` is NaT where not seen
        row                     row of the replacements table that ended it (0 for none)
        ======================  ==========================================================
    positions
        One row a position of a machine still aboard a boat still in the fleet, sorted by boat,
        part, machine, slot. Columns: boat, machine, model, part, slot, clock, age (at
        `planned_on`, NaN if unknown), age_at_least (what was seen of it; equals `age` where that
        is known), consequence (with the override of `fitted`).
    notes
        What had to be assumed.
    left_out
        Pieces changed that end no life, so that none is lost from sight: every piece of the
        replacements table ends a life or is here. Columns: row (of the replacements table),
        part, boat, machine, pieces, failed, why.
    """

    lives: pd.DataFrame
    positions: pd.DataFrame
    notes: tuple[Note, ...]
    left_out: pd.DataFrame = field(default_factory=pd.DataFrame)
