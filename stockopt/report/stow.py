"""Sheets "Stow <boat>": what goes aboard each boat, sorted by locker, to print and tick."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import pandas as pd

from stockopt.plan import BoatLine, CarryLine
from stockopt.report.moves import tell_moves, way_tables
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Row, Sheet, Table
from stockopt.report.words import share_text, what_if_mark
from stockopt.units import Measures


def _columns(measures: Measures) -> tuple[Column, ...]:
    return (
        Column(title="Done", width=6, kind="tick"),
        Column(title="Locker", width=14, kind="prose"),
        Column(title="Part", width=12),
        Column(title="Name", width=42, kind="prose"),
        Column(title="Carry", width=7, kind="whole"),
        Column(title="Fit now", width=6, kind="whole"),
        Column(title="Aboard or due", width=8, kind="whole"),
        Column(title="From store", width=7, kind="whole"),
        Column(title="From order", width=7, kind="whole"),
        Column(title="To shore", width=7, kind="whole"),
        Column(title=f"Mass, {measures.mass}", width=8, kind="number"),
        Column(title="Use by", width=11, kind="date"),
        Column(title="Counted", width=9, kind="blank"),
    )


#: With fewer lockers than this, the total says enough.
FEWEST_LOCKERS = 2
NO_LOCKER = "what the list above has no locker for: write it in, and count it in (stock, locker)"
HOW_TO_READ = (
    "Aboard or due + from store + from order = carry + fit now + to shore, and what the name says "
    "is used up or for others. 'Fit now' pieces are changed before she leaves (sheet Replace "
    "now); 'from store' pieces come from a store or another boat of the harbour; 'to shore' pieces "
    "need not go along."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stowed:
    """Where the pieces of one part lie on one boat, and the earliest date to use them by."""

    locker: str = ""
    use_by: date | None = None


def stow_sheets(run: Run) -> list[Sheet]:
    """Return one sheet for each boat of the plan."""
    stowed = _stowed(run.fleet.stock)
    lines = defaultdict(list)
    for line in run.plan.carry:
        lines[line.boat].append(line)
    return [_stow_sheet(boat, lines[boat.boat], stowed, run) for boat in run.plan.boats]


def _stow_sheet(
    boat: BoatLine, lines: list[CarryLine], stowed: dict[tuple[str, str], Stowed], run: Run
) -> Sheet:
    limited = run.choices.boats.get(boat.boat)
    place = boat.boat if limited is None else limited.place
    kept = [
        line for line in lines if line.carry or line.on_hand or line.buy or line.moved or line.ahead
    ]
    shown = [tell_moves(line, place) for line in kept]
    measures = run.fleet.settings.measures
    limits = [
        _limit("mass", boat.kg, boat.kg_limit, measures.of_mass, measures.mass),
        _limit("room", boat.litres, boat.litres_limit, measures.of_room, measures.room),
    ]
    return Sheet(
        name=f"Stow {boat.boat}",
        title=f"{what_if_mark(run.plan)}Stow list: {boat.boat}",
        lead=(
            f"Departs {boat.departs_on.isoformat()}. Spares aboard: {', '.join(limits)}. "
            f"Chance of no shortage that stops her: {share_text(boat.readiness)}.",
            HOW_TO_READ,
        ),
        tables=(
            Table(columns=_columns(measures), rows=tuple(_rows(shown, boat, stowed, measures))),
            *_locker_tables(shown, stowed, measures),
            *way_tables(kept, run.plan.orders, run.plan.currency),
        ),
        after=(
            f"{run.fleet.name}, planned on {run.plan.planned_on.isoformat()}. Heavy pieces low and "
            "secured. Compare each new piece with the one it replaces.",
            "Stowed by (initials): ______________    Date: ______________    "
            "Checked by (initials): ______________",
        ),
        portrait=True,
    )


def _limit(
    what: str, value: float, limit: float | None, shown: Callable[[float], float], unit: str
) -> str:
    of = f" of {shown(limit):,.0f}" if limit is not None else ""
    return f"{what} {shown(value):,.1f}{of} {unit}"


def _rows(
    lines: list[CarryLine],
    boat: BoatLine,
    stowed: dict[tuple[str, str], Stowed],
    measures: Measures,
) -> list[Row]:
    """Return safety items first, then the rest by locker and part, then the total."""
    floor = [line for line in lines if line.floor]
    others = [line for line in lines if not line.floor]
    rows: list[Row] = []
    for heading, group in (
        ("SAFETY: never carry fewer than shown in brackets", floor),
        ("Other spares", others),
    ):
        if not group:
            continue
        if floor:
            rows.append(Row(cells=(heading,), look="group"))
        group.sort(key=lambda line: _place_order(line, stowed))
        rows += [
            _row(line, stowed.get((line.boat, line.part), Stowed()), measures) for line in group
        ]
    mass = measures.of_mass(boat.kg)
    total = (None, None, None, "Total mass of spares") + (None,) * 6 + (mass, None, None)
    return [*rows, Row(cells=total, look="total")]


def _locker_tables(
    lines: list[CarryLine], stowed: dict[tuple[str, str], Stowed], measures: Measures
) -> tuple[Table, ...]:
    """Return what lies in each locker and how heavy that is; nothing for fewer than two."""
    by_locker: dict[str, list[CarryLine]] = defaultdict(list)
    for line in lines:
        if line.carry:
            by_locker[stowed.get((line.boat, line.part), Stowed()).locker].append(line)
    if sum(bool(locker) for locker in by_locker) < FEWEST_LOCKERS:
        return ()
    rows = tuple(
        Row(
            cells=(
                locker or "no locker yet",
                len(own),
                ", ".join(f"{line.carry} x {line.part}" for line in own) if locker else NO_LOCKER,
                measures.of_mass(sum(line.kg for line in own)),
                None,
            )
        )
        for locker, own in sorted(by_locker.items(), key=lambda item: (not item[0], item[0]))
    )
    columns = (
        Column(title="Locker", width=20, kind="prose", span=2),
        Column(title="Kinds of part", width=12, kind="whole"),
        Column(title="What lies there", width=76, kind="prose", span=7),
        Column(title=f"Mass, {measures.mass}", width=8, kind="number"),
        Column(title="Checked", width=20, kind="blank", span=2),
    )
    return (Table(heading="Locker by locker", columns=columns, rows=rows),)


def _place_order(line: CarryLine, stowed: dict[tuple[str, str], Stowed]) -> tuple[bool, str, str]:
    """Return the sorting key: by locker, then part; those without a locker last."""
    locker = stowed.get((line.boat, line.part), Stowed()).locker
    return (not locker, locker, line.part)


def _row(line: CarryLine, where: Stowed, measures: Measures) -> Row:
    needed = line.carry + line.replace_now + line.used_up + line.given
    ashore = max(line.on_hand + line.moved + line.buy - needed, 0)
    name = f"{line.name} (at least {line.floor})" if line.floor else line.name
    cells: tuple[Cell, ...] = (
        None,
        where.locker,
        line.part,
        name,
        line.carry,
        line.replace_now or None,
        line.on_hand or None,
        line.moved or None,
        line.buy or None,
        ashore or None,
        measures.of_mass(line.kg),
        where.use_by if line.on_hand > line.own_left else None,
        None,
    )
    return Row(cells=cells)


def _stowed(stock: pd.DataFrame) -> dict[tuple[str, str], Stowed]:
    """Return lockers and earliest use-by date by (place, part)."""
    found: dict[tuple[str, str], Stowed] = {}
    for (place, part), rows in stock.groupby(["place", "part"], sort=True):
        lockers = sorted({locker for locker in rows["locker"] if locker})
        in_hand = rows.loc[rows["on_hand"] > 0, "expires_on"].dropna()
        use_by = in_hand.min().date() if len(in_hand) else None
        found[str(place), str(part)] = Stowed(locker=", ".join(lockers), use_by=use_by)
    return found
