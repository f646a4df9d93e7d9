"""Every name in a table is defined where names of its kind are."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import pandas as pd

from stockopt.errors import Problem
from stockopt.fleet.columns import Holds
from stockopt.fleet.faults import Meant, find_faults
from stockopt.fleet.spelling import Tables
from stockopt.fleet.tables import TABLES

#: Where a part number may be one of a set that is sold under one number.
_SETS_ALLOWED = ("prices", "stock", "replacements", "kits", "aliases")

#: Which table defines each kind of name.
_DEFINED_IN: dict[Holds, str] = {
    "boat": "boats",
    "model": "machines",
    "part": "parts",
    "source": "sources",
    "place": "boats",
}


def check_references(tables: Tables, broken: Collection[str]) -> Iterator[Problem]:
    """Yield every boat, model, part, source or place that is named but not defined.

    Parameters
    ----------
    tables
        The tables.
    broken
        Those that are missing or miss a column: what they would define is passed over, for that
        is one problem and not hundreds.
    """
    empty = list(_find_empty(tables, broken))
    yield from empty
    broken = {*broken, *(problem.table for problem in empty)}
    boats, stores = set(tables["boats"]["boat"]), set(tables["boats"]["store"]) - {""}
    parts = set(tables["parts"]["part"])
    others, sets = set(tables["aliases"]["other"]), set(tables["kits"]["kit"])
    meant: dict[Holds, Meant] = {
        "boat": Meant(boats, "boats"),
        "model": Meant(set(tables["machines"]["model"]), "machines"),
        "part": Meant(parts | others, "parts"),
        "source": Meant(set(tables["sources"]["source"]), "sources"),
        "place": Meant(boats | stores, "boats, neither as boat nor as store"),
    }
    with_sets = Meant(parts | others | sets, "parts")
    for name, frame in tables.items():
        for column in TABLES[name].columns:
            known = meant.get(column.holds)
            if (
                known is None
                or _DEFINED_IN[column.holds] in broken
                or (name, column.name) == ("aliases", "other")
            ):
                continue
            if column.holds == "part" and name in _SETS_ALLOWED:
                known = with_sets
            yield from _unknown(name, frame, column.name, known)
    if "machines" not in broken:
        yield from _check_machines(tables)
    if "legs" not in broken:
        yield from _check_legs(tables)
    if not {"ports", "boats", "sources"} & set(broken):
        yield from _check_ports(tables)


def _find_empty(tables: Tables, broken: Collection[str]) -> Iterator[Problem]:
    """Yield the tables without a row that others refer to: one problem, not one a reference."""
    refer: dict[str, list[str]] = {}
    for name, frame in tables.items():
        for column in TABLES[name].columns:
            where = _DEFINED_IN.get(column.holds, name)
            if where != name and frame[column.name].ne("").any():
                refer.setdefault(where, []).append(name)
    for where, names in refer.items():
        if tables[where].empty and where not in broken:
            named = ", ".join(dict.fromkeys(names))
            expected = f"has no row, but is referred to by {named}: fill it in first"
            yield Problem(table=where, expected=expected)


def _unknown(name: str, frame: pd.DataFrame, column: str, known: Meant) -> Iterator[Problem]:
    values = frame[column]
    wrong = values.ne("") & ~values.isin(known.known)
    yield from find_faults(name, frame, wrong, column, known)


def _check_machines(tables: Tables) -> Iterator[Problem]:
    """Yield machines that their boat has not; a boat that is not known was named already."""
    machines = tables["machines"]
    boats = set(machines["boat"]) & set(tables["boats"]["boat"])
    for name in ("readings", "replacements", "leg_hours", "fitted"):
        frame = tables[name]
        for boat, rows in frame[frame["machine"].ne("")].groupby("boat"):
            if boat in boats:
                has = machines.loc[machines["boat"].eq(boat), "machine"]
                yield from _unknown(name, rows, "machine", Meant(set(has), f"machines of {boat}"))
            elif boat == "":
                anywhere = Meant(set(machines["machine"]), "machines")
                yield from _unknown(name, rows, "machine", anywhere)
            elif boat in set(tables["boats"]["boat"]):
                expected = f"is not in machines, which have no row of {boat}"
                yield from find_faults(name, rows, rows["machine"].ne(""), "machine", expected)


def _check_legs(tables: Tables) -> Iterator[Problem]:
    """Yield hours of legs that no boat has."""
    legs, frame = tables["legs"], tables["leg_hours"]
    known = pd.MultiIndex.from_frame(legs[["boat", "departs_on"]])
    asked = pd.MultiIndex.from_frame(frame[["boat", "departs_on"]])
    wrong = pd.Series(~asked.isin(known), index=frame.index)
    wrong &= frame["departs_on"].notna() & frame["boat"].isin(tables["boats"]["boat"])
    for boat, rows in frame[wrong].groupby("boat"):
        expected = f"is no day on which a leg of {boat} departs"
        yield from find_faults(
            "leg_hours", rows, rows["departs_on"].notna(), "departs_on", expected
        )


def _check_ports(tables: Tables) -> Iterator[Problem]:
    """Yield ports where a leg ends that nothing is known of, if any port is known at all."""
    legs = tables["legs"]
    known = {
        *tables["ports"]["port"],
        *tables["boats"]["home_port"],
        *tables["sources"]["delivers_to"],
    } - {""}
    if len(tables["ports"]):
        yield from _unknown("legs", legs, "to_port", Meant(known, "ports"))
