"""Which parts are fitted to which machine, and how many of each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import NamedTuple

from stockopt.fleet.fleet import Fleet
from stockopt.lives.machines import Machines


class Fitted(NamedTuple):
    """One part on one machine: its positions are slots 1 to `quantity`."""

    quantity: int
    clock: str
    consequence: str
    wear: str
    expected_life: float  # NaN where not told


class _Line(NamedTuple):
    """One row of the fitted table."""

    boat: str
    machine: str
    part: str
    fitted: Fitted


def list_positions(fleet: Fleet, machines: Machines) -> Mapping[tuple[int, str], Fitted]:
    """Return what is fitted to each machine, by machine index and part.

    Where several rows of the fitted table match one machine, one that names boat and machine
    holds before one that names the boat, that before one that names the machine, and that before
    one that names neither.
    """
    by_model = _lines_by_model(fleet)
    return {
        (index, line.part): line.fitted  # a later line takes the place of an earlier one
        for index, machine in enumerate(machines.all)
        for line in by_model.get(machine.model, ())
        if line.boat in ("", machine.boat) and line.machine in ("", machine.machine)
    }


def _lines_by_model(fleet: Fleet) -> Mapping[str, list[_Line]]:
    """Return the lines of each model, those that name less before those that name more."""
    parts = fleet.parts
    columns = (parts[name] for name in ("clock", "consequence", "wear", "expected_life"))
    usual = dict(zip(parts["part"], zip(*columns, strict=True), strict=True))
    by_model: dict[str, list[_Line]] = defaultdict(list)
    table = fleet.fitted
    for model, part, quantity, boat, machine, consequence in zip(
        table["model"],
        table["part"],
        table["quantity"].tolist(),
        table["boat"],
        table["machine"],
        table["consequence"],
        strict=True,
    ):
        clock, usual_consequence, *rest = usual[part]
        fitted = Fitted(quantity, clock, consequence or usual_consequence, *rest)
        by_model[model].append(_Line(boat, machine, part, fitted))
    for lines in by_model.values():
        lines.sort(key=lambda line: (line.boat != "", line.machine != ""))
    return by_model
