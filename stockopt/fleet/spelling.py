"""Names written with other capitals than where they are defined."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

import pandas as pd

from stockopt.errors import Note
from stockopt.fleet.columns import Holds
from stockopt.fleet.tables import TABLES

Tables = Mapping[str, pd.DataFrame]


def match_spelling(tables: Tables) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Write every name as it is defined, where it differs from that in capitals only.

    A name that is defined exactly so is left alone. Stores, ports and families are defined by
    being used: all their spellings become one, that of the ports table first.

    Returns
    -------
    tables
        Rewritten.
    notes
        One for each spelling that was changed.
    """
    defined = _defined_names(tables)
    notes: list[Note] = []
    matched = {}
    for name, frame in tables.items():
        columns = {}
        for column in TABLES[name].columns:
            values = frame[column.name]
            if column.holds in defined:
                change = _changes(values, defined[column.holds])
                notes += _note_changes(name, column.name, change)
                values = values.replace(change) if change else values
            columns[column.name] = values
        matched[name] = pd.DataFrame(columns, index=frame.index)
    return _match_machines(matched, notes)


def _defined_names(tables: Tables) -> dict[Holds, list[str]]:
    """Return the names of each kind, as they are to be written."""
    parts = [tables["parts"]["part"], tables["aliases"]["other"], tables["kits"]["kit"]]
    ports = [
        tables["ports"]["port"],
        tables["boats"]["home_port"],
        tables["sources"]["delivers_to"],
        tables["legs"]["to_port"],
    ]
    boats = _one_of_each([tables["boats"]["boat"]])
    stores = _one_spelling([tables["boats"]["store"]])
    return {
        "boat": boats,
        "model": _one_of_each([tables["machines"]["model"]]),
        "part": _one_of_each(parts),
        "source": _one_of_each([tables["sources"]["source"]]),
        "store": stores,
        "place": [*boats, *stores],
        "port": _one_spelling(ports),
        "family": _one_spelling([tables["parts"]["family"]]),
    }


def _one_of_each(columns: Iterable[pd.Series[str]]) -> list[str]:
    return [name for column in columns for name in column.unique() if name]


def _one_spelling(columns: Iterable[pd.Series[str]]) -> list[str]:
    """Return each name in one spelling: of the first column that has it, there the first sorted."""
    first: dict[str, str] = {}
    for column in columns:
        for name in sorted(_one_of_each([column])):
            first.setdefault(name.casefold(), name)
    return list(first.values())


def _changes(values: Iterable[str], defined: Iterable[str]) -> dict[str, str]:
    """Return for each name not defined so the only one that differs in capitals alone."""
    exact = set(defined)
    folded: defaultdict[str, set[str]] = defaultdict(set)
    for name in exact:
        folded[name.casefold()].add(name)
    change = {}
    for name in dict.fromkeys(values):
        meant = folded.get(name.casefold(), set())
        if name not in exact and len(meant) == 1:
            change[name] = next(iter(meant))
    return change


def _match_machines(
    tables: dict[str, pd.DataFrame], notes: list[Note]
) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Do the same for machines, which are named boat by boat; without a boat any one's."""
    machines = tables["machines"]
    by_boat: dict[str, set[str]] = {"": set(machines["machine"])}
    for boat, names in machines.groupby("boat")["machine"]:
        by_boat[str(boat)] = set(names)
    for name, frame in tables.items():
        if name == "machines" or "machine" not in frame:
            continue
        pairs = frame[["boat", "machine"]].drop_duplicates()
        values = frame["machine"].copy()
        for boat, names in pairs.groupby("boat")["machine"]:
            change = _changes(names, by_boat.get(str(boat), ()))
            notes += _note_changes(name, "machine", change)
            if change:
                here = frame["boat"] == boat
                values[here] = values[here].replace(change)
        tables[name] = frame.assign(machine=values)
    return tables, notes


def _note_changes(table: str, column: str, change: Mapping[str, str]) -> list[Note]:
    return [
        Note(table=table, column=column, text=f"'{found}' was taken for '{taken}'")
        for found, taken in change.items()
    ]
