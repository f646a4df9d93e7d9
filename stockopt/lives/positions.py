"""Which parts are fitted to which machine, and how many of each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet
from stockopt.lives.machines import Machines
from stockopt.units import CONSEQUENCES


class Fitted(NamedTuple):
    """One part on one machine: its positions are slots 1 to `quantity`."""

    quantity: int
    clock: str
    consequence: str


class _Row(NamedTuple):
    """One row of the fitted table, the one to prefer first in sorted order."""

    unspecific: tuple[bool, bool]  # no boat and no machine named; no boat named
    fewer: int
    lighter: int
    row: int
    part: str
    boat: str
    machine: str


def list_positions(
    fleet: Fleet, machines: Machines
) -> tuple[Mapping[tuple[int, str], Fitted], list[Note]]:
    """Return what is fitted to each machine, by machine index and part.

    Where several rows of the fitted table match one machine, one that names boat and machine
    holds before one that names the boat, that before one that names the machine, and that before
    one that names neither. Of two rows equal in that, the one with more pieces holds, with a note.
    """
    by_model = _rows_by_model(fleet)
    parts = dict(zip(fleet.parts["part"], fleet.parts["clock"], strict=True))
    fitted: dict[tuple[int, str], Fitted] = {}
    doubled: dict[int, str] = {}
    for index, machine in enumerate(machines.all):
        holding: dict[str, _Row] = {}
        for row in by_model.get(machine.model, []):
            if row.boat not in ("", machine.boat) or row.machine not in ("", machine.machine):
                continue
            first = holding.setdefault(row.part, row)
            if first is not row and first.unspecific == row.unspecific:
                doubled[row.row] = (
                    f"{row.part} is fitted to {machine.model} by row {first.row} already; "
                    f"the row with more pieces holds"
                )
        for part, row in holding.items():
            consequence = CONSEQUENCES[row.lighter]
            fitted[index, part] = Fitted(-row.fewer, parts[part], consequence)
    return fitted, [
        Note(table="fitted", row=row, column="part", text=text) for row, text in doubled.items()
    ]


def _rows_by_model(fleet: Fleet) -> dict[str, list[_Row]]:
    usual = dict(zip(fleet.parts["part"], fleet.parts["consequence"], strict=True))
    table = fleet.fitted
    by_model: dict[str, list[_Row]] = {}
    for row, model, part, quantity, boat, machine, consequence in zip(
        table.index,
        table["model"],
        table["part"],
        table["quantity"],
        table["boat"],
        table["machine"],
        table["consequence"],
        strict=True,
    ):
        by_model.setdefault(model, []).append(
            _Row(
                unspecific=((not boat, not machine)),
                fewer=-int(quantity),
                lighter=CONSEQUENCES.index(consequence or usual[part]),
                row=row,
                part=part,
                boat=boat,
                machine=machine,
            )
        )
    for rows in by_model.values():
        rows.sort()
    return by_model
