"""The invented catalogues, and the parts tables made of them: without the true lives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from written_tables import WrittenTable, as_number, as_table

MADE_FROM = Path(__file__).parent / "made_from"

_TEXTS = frozenset({"part", "name", "family", "clock", "wear", "consequence", "replaced_by"})
_HIDDEN = frozenset({"true_mean", "true_shape"})


def parts_named(numbers: str) -> frozenset[str]:
    """Return the part numbers in a text, separated by blanks."""
    return frozenset(numbers.split())


def fitted_to(model: str, fitted: Sequence[Mapping[str, str]]) -> dict[str, int]:
    """Return the pieces of each part fitted to one machine of `model`."""
    return {row["part"]: int(row["quantity"]) for row in fitted if row["model"] == model}


def parts_table(catalogue: Sequence[Mapping[str, str]]) -> WrittenTable:
    """Return a catalogue as a parts table, as its owner would know it."""
    columns = [column for column in catalogue[0] if column not in _HIDDEN]
    return as_table(
        " ".join(columns),
        [
            tuple(
                (row[column] or None) if column in _TEXTS else as_number(row[column])
                for column in columns
            )
            for row in catalogue
        ],
    )
