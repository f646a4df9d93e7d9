"""Sets that are sold under one number, taken apart."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping

import pandas as pd

from stockopt.errors import Note, Problem
from stockopt.fleet.spelling import Tables

Contents = Mapping[str, Mapping[str, int]]


def check_kits(tables: Tables) -> Iterator[Problem]:
    """Yield sets that hold themselves."""
    kits = tables["kits"]
    inside = _listed(kits)
    for row, kit, part in zip(kits.index, kits["kit"], kits["part"], strict=True):
        if kit and kit in _all_inside(part, inside):
            yield Problem(
                table="kits",
                row=int(row),
                column="part",
                value=part,
                expected=f"leads back to {kit}: no set can hold itself",
            )


def take_kits_apart(tables: Tables) -> tuple[dict[str, pd.DataFrame], list[Note]]:
    """Write stock and replacements of a set as those of its parts; rows keep their numbers.

    A set that has a row in parts is a part like others, and stays whole. Its pieces in a set
    within the set are multiplied out.
    """
    whole = set(tables["parts"]["part"])
    contents = list_contents(tables["kits"], whole)
    taken, notes = dict(tables), list[Note]()
    for name, counted in (
        ("stock", ("on_hand", "on_order", "received")),
        ("replacements", ("quantity",)),
    ):
        frame = tables[name]
        for kit in frame.loc[frame["part"].isin(contents.keys()), "part"].unique():
            pieces = ", ".join(f"{count} x {part}" for part, count in contents[kit].items())
            notes.append(Note(table=name, column="part", text=f"{kit} was counted as {pieces}"))
        taken[name] = _take_apart(frame, contents, counted)
    return taken, notes


def list_contents(kits: pd.DataFrame, whole: Collection[str]) -> Contents:
    """Return by set the single parts it holds, sets within sets taken apart too.

    Parameters
    ----------
    kits
        The kits table.
    whole
        The numbers of the parts table: a set among them is a part like others.
    """
    return {kit: parts for kit, parts in _contents(kits).items() if kit not in whole}


def _take_apart(frame: pd.DataFrame, contents: Contents, counted: tuple[str, ...]) -> pd.DataFrame:
    is_kit = frame["part"].isin(contents.keys())
    if not is_kit.any():
        return frame
    pieces = [frame[~is_kit]]
    for kit, parts in contents.items():
        rows = frame[frame["part"].eq(kit)]
        for part, count in parts.items():
            more = {column: rows[column] * count for column in counted}
            pieces.append(rows.assign(part=part, **more).astype(frame.dtypes.to_dict()))
    return pd.concat(pieces).sort_index(kind="stable").rename_axis("row")


def _listed(kits: pd.DataFrame) -> dict[str, Counter[str]]:
    listed: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for kit, part, quantity in zip(kits["kit"], kits["part"], kits["quantity"], strict=True):
        listed[kit][part] += int(quantity)
    return dict(listed)


def _all_inside(part: str, inside: Mapping[str, Counter[str]]) -> set[str]:
    """Return the part and everything inside it."""
    found, waiting = set[str](), [part]
    while waiting:
        if (one := waiting.pop()) not in found:
            found.add(one)
            waiting += inside.get(one, ())
    return found


def _contents(kits: pd.DataFrame) -> dict[str, Counter[str]]:
    """Return the single parts in each set; no set may hold itself."""
    inside = _listed(kits)

    def single(kit: str) -> Counter[str]:
        total: Counter[str] = Counter()
        for part, count in inside[kit].items():
            for one, pieces in (single(part) if part in inside else {part: 1}).items():
                total[one] += count * pieces
        return total

    return {kit: single(kit) for kit in inside}
