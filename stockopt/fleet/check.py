"""What must hold across rows and tables; one question a check."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterator
from datetime import date

import numpy as np
import pandas as pd

from stockopt.errors import Problem
from stockopt.fleet.faults import find_faults, shown
from stockopt.fleet.kits import check_kits
from stockopt.fleet.part_numbers import check_numbers, list_numbers
from stockopt.fleet.references import check_references
from stockopt.fleet.spelling import Tables
from stockopt.fleet.tables import TABLES
from stockopt.settings import Settings


def check_tables(tables: Tables, settings: Settings, broken: Collection[str]) -> Iterator[Problem]:
    """Yield everything across the tables that would change the answer.

    Cells that could not be read are blank by now; the checks pass over blanks.

    Parameters
    ----------
    tables
        The tables.
    settings
        In force.
    broken
        Tables that are missing or miss a column, which was told; what follows from it is not.
    """
    whole = {name: frame for name, frame in tables.items() if name not in broken}
    yield from _check_keys(whole, list_numbers(tables).spell)
    yield from check_references(tables, broken)
    yield from check_numbers(tables)
    yield from check_kits(tables)
    yield from _check_fitted(tables)
    if not {"readings", "machines", "parts", "fitted"} & set(broken):
        yield from _check_hours_known(tables, settings.planned_on)
    yield from _check_boats(tables)
    yield from _check_replacements(tables)
    yield from _check_legs(tables)
    yield from _check_sources(tables, settings)
    yield from _check_used_with(tables)


def _check_keys(tables: Tables, spell: Callable[[str], str]) -> Iterator[Problem]:
    """Yield rows that say again what an earlier row says, other spellings of parts counted.

    A row whose key could not be read is passed over: that was told.
    """
    for name, frame in tables.items():
        key = list(TABLES[name].key)
        if not key or frame.empty:
            continue
        named = frame[key]
        needed = [column.name for column in TABLES[name].columns if column.required]
        unread = pd.Series(False, index=named.index)
        for column in set(key) & set(needed):
            unread |= named[column].isna() | named[column].eq("")
        if "part" in key and name != "parts":
            named = named.assign(part=named["part"].map(spell))
        again = named.duplicated(keep="first") & ~unread
        if not again.any():
            continue
        numbered = named.assign(first=named.index.to_numpy())
        first = numbered.groupby(key, dropna=False)["first"].transform("first")
        rows = frame.loc[again, key].itertuples(index=True, name=None)
        for (row, *values), earlier in zip(rows, first[again], strict=True):
            yield Problem(
                table=name,
                row=int(row),
                column=", ".join(key),
                value=", ".join(filter(None, map(shown, values))),
                expected=f"stands already in row {earlier}: each may stand once",
            )


def _check_fitted(tables: Tables) -> Iterator[Problem]:
    """Yield lines for a boat or machine that has no such model."""
    fitted, machines = tables["fitted"], tables["machines"]
    there = {
        (model, boat, machine)
        for one in zip(machines["model"], machines["boat"], machines["machine"], strict=True)
        for model in one[:1]
        for boat in ("", one[1])
        for machine in ("", one[2])
    }
    known = set(machines["boat"]) | {""}, set(machines["machine"]) | {""}, set(machines["model"])
    lines = list(zip(fitted["model"], fitted["boat"], fitted["machine"], strict=True))
    wrong = [
        line not in there and line[1] in known[0] and line[2] in known[1] and line[0] in known[2]
        for line in lines
    ]
    yield from find_faults(
        "fitted",
        fitted,
        pd.Series(wrong, index=fitted.index, dtype=bool),
        "model",
        "is not the model of that boat and machine in machines: the line would never apply",
    )


def _check_hours_known(tables: Tables, planned_on: date) -> Iterator[Problem]:
    """Yield machines without any meter that hold parts which age by hours.

    A machine new on a known day needs no reading yet; nor does one of a boat that has left.
    """
    machines, boats = tables["machines"], tables["boats"]
    parts, fitted = tables["parts"], tables["fitted"]
    by_hours = set(parts.loc[parts["clock"].eq("hours"), "part"])
    numbers = list_numbers(tables)
    lines = fitted[fitted["part"].map(numbers.current).isin(by_hours)]
    seen = tables["replacements"]
    read = {
        *zip(tables["readings"]["boat"], tables["readings"]["machine"], strict=True),
        *zip(
            seen.loc[seen["hours"].notna(), "boat"],
            seen.loc[seen["hours"].notna(), "machine"],
            strict=True,
        ),
    }
    left = set(boats.loc[boats["left_on"].notna(), "boat"])
    started = machines["fitted_on"].notna() & machines["hours_at_fitting"].notna()
    for row, boat, machine, model in zip(
        machines.index[~started],
        machines.loc[~started, "boat"],
        machines.loc[~started, "machine"],
        machines.loc[~started, "model"],
        strict=True,
    ):
        if (boat, machine) in read or boat in left or not boat or not machine:
            continue
        here = (
            lines["model"].eq(model)
            & lines["boat"].isin(["", boat])
            & lines["machine"].isin(["", machine])
        )
        names = list(dict.fromkeys(lines.loc[here, "part"]))
        if names:
            some = ", ".join(names[:3]) + (f" and {len(names) - 3} more" if names[3:] else "")
            yield Problem(
                table="machines",
                row=int(row),
                column="machine",
                value=machine,
                expected=f"has no row in readings by {planned_on}, the day of the plan, but ages "
                f"{some} by hours: add a reading, or set their clock to days in parts",
            )


def _check_boats(tables: Tables) -> Iterator[Problem]:
    """Yield boats that left before they joined, and stores called like a boat."""
    boats = tables["boats"]
    wrong = boats["left_on"] < boats["joined_on"]
    yield from find_faults("boats", boats, wrong, "left_on", "is before joined_on")
    wrong = boats["store"].ne("") & boats["store"].isin(boats["boat"])
    yield from find_faults(
        "boats", boats, wrong, "store", "is the name of a boat: give the store another"
    )


def _check_replacements(tables: Tables) -> Iterator[Problem]:
    """Yield pieces that were seen sound after they had been changed."""
    frame = tables["replacements"]
    wrong = frame["sound_on"] > frame["on"]
    yield from find_faults(
        "replacements", frame, wrong, "sound_on", "is after the day on which it was changed"
    )


def _check_legs(tables: Tables) -> Iterator[Problem]:
    """Yield legs that begin before the one before them ends, or after the boat has left.

    She may end a leg and begin the next on one day, so part of a day is no overlap.
    """
    legs = tables["legs"].dropna(subset=["departs_on", "days"])
    legs = legs[legs["boat"].ne("")].sort_values(["boat", "departs_on"], kind="stable")
    days = np.floor((legs["days"] * legs["times"]).clip(upper=100_000))
    ends = legs["departs_on"] + pd.to_timedelta(days, unit="D")
    ends = ends.groupby(legs["boat"]).cummax().groupby(legs["boat"]).shift()
    for row in legs.index[legs["departs_on"] < ends]:
        yield _fault(
            "legs",
            row,
            "departs_on",
            legs.at[row, "departs_on"],
            f"is before {shown(ends[row])}, when the leg before it ends",
        )
    boats = tables["boats"].drop_duplicates("boat")
    left = legs[["boat"]].merge(boats[["boat", "left_on"]], on="boat", how="left")["left_on"]
    left.index = legs.index
    yield from find_faults(
        "legs", legs, legs["departs_on"] >= left, "departs_on", "is not before she left the fleet"
    )


def check_lead_days(sources: pd.DataFrame) -> Iterator[Problem]:
    """Yield mail order that does not say how long it takes.

    Parameters
    ----------
    sources
        The table before its defaults are filled in: a shop's blank means at once.
    """
    wrong = sources["kind"].eq("mail") & sources["lead_days"].isna()
    yield from find_faults(
        "sources", sources, wrong, "lead_days", "is blank: days from order to hand, by mail"
    )


def _check_sources(tables: Tables, settings: Settings) -> Iterator[Problem]:
    """Yield money without a rate, and lead times that contradict themselves."""
    sources = tables["sources"]
    known = {"", settings.currency, *settings.rates}
    for row, source, currency in zip(
        sources.index, sources["source"], sources["currency"], strict=True
    ):
        if currency not in known:
            yield _fault(
                "sources",
                row,
                "currency",
                currency,
                f"has no rate, and {source} asks it: add {currency} to the rates in settings",
            )
    wrong = sources["late_days"] < sources["lead_days"]
    yield from find_faults(
        "sources", sources, wrong, "late_days", "is less than lead_days, the usual time"
    )
    first = sources.groupby("source")["currency"].transform("first")
    yield from find_faults(
        "sources",
        sources,
        sources["currency"].ne(first) & sources["source"].ne(""),
        "currency",
        "is not the currency of the source's first row: its prices can be in one only",
    )


def _check_used_with(tables: Tables) -> Iterator[Problem]:
    """Yield parts used up at their own change."""
    frame = tables["used_with"]
    wrong = frame["part"].eq(frame["with_part"]) & frame["part"].ne("")
    yield from find_faults(
        "used_with", frame, wrong, "with_part", "is the part itself: name the part it goes with"
    )


def _fault(table: str, row: Hashable, column: str, value: object, expected: str) -> Problem:
    return Problem(
        table=table, row=int(str(row)), column=column, value=shown(value), expected=expected
    )
