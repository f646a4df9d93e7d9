"""The plan as one self-contained page for a phone: lists to tick, search, nothing from the net."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from datetime import date
from html import escape
from importlib.resources import files
from itertools import groupby
from pathlib import Path

from stockopt.report.buy import buy_sheet
from stockopt.report.glance import glance_sheet
from stockopt.report.phone_charts import draw_charts
from stockopt.report.replace_now import replace_now_sheet
from stockopt.report.run import Run
from stockopt.report.sheet import Cell, Column, Kind, Row, Sheet, Table
from stockopt.report.stow import stow_sheets
from stockopt.report.styles import TEXT_KINDS
from stockopt.report.words import share_text, what_if_mark

_CAUTION = (
    "Work on engines, raw-water inlets and batteries only when they are stopped, closed "
    "and disconnected, and as the maker and local rules say."
)
_NO_SCRIPT = (
    "Without scripts the boxes cannot be ticked here and the search is off; print the page."
)

_LEVELS = (
    "How many are on the shelf once the boats have taken theirs. Anything else is bought when "
    "needed."
)
#: More columns than this do not fit beside each other on a phone.
MOST_COLUMNS = 2

Line = tuple[tuple[Column, ...], Row]


def write_phone_page(run: Run, path: Path) -> None:
    """Write the page to `path`; see :func:`make_phone_page`."""
    path.write_text(make_phone_page(run), encoding="utf-8")


def make_phone_page(run: Run) -> str:
    """Return the page: a summary, stow and replace-now lists of each boat, orders.

    It loads nothing, so it works from a file and at sea. Every text from the tables is escaped.
    """
    title = f"{what_if_mark(run.plan)}{run.plan.fleet}, {run.plan.planned_on.isoformat()}"
    boats = [boat.boat for boat in run.plan.boats]
    body = "".join((*_summary(run, title), *_boats(run), *_orders(run), *_stores(run)))
    plan = hashlib.sha256(body.encode()).hexdigest()[:16]
    links = "".join(f'<a href="#boat{k}">{escape(boat)}</a>' for k, boat in enumerate(boats))
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>\n{_own_text('phone.css')}</style></head>\n"
        f'<body data-plan="{plan}">\n<nav><input type="search" aria-label="Search by part" '
        'placeholder="Search by part or name"><span id="count" class="soft" aria-live="polite">'
        f"</span><div>{links}</div></nav>\n<noscript><p>{_NO_SCRIPT}</p></noscript>\n"
        f"<main>\n{body}</main>\n<script>\n{_own_text('phone.js')}</script></body></html>\n"
    )


def _own_text(name: str) -> str:
    return files("stockopt.report").joinpath(name).read_text(encoding="utf-8")


def _summary(run: Run, title: str) -> Iterator[str]:
    glance = glance_sheet(run)
    yield f"<h1>{escape(title)}</h1>\n"
    yield from (f"<p>{escape(line)}</p>\n" for line in (*glance.lead, _CAUTION))
    for table in glance.tables:
        yield f"<section><h2>{escape(table.heading)}</h2>\n"
        yield from (f'<p class="soft">{escape(line)}</p>\n' for line in table.lead)
        yield f'<div class="scroll">{"".join(_table(table))}</div></section>\n'
    charts = "".join(draw_charts(run))
    if charts:
        yield f"<section><h2>What the money buys</h2>\n{charts}</section>\n"


def _boats(run: Run) -> Iterator[str]:
    changes = _by_boat(replace_now_sheet(run))
    for number, (boat, sheet) in enumerate(zip(run.plan.boats, stow_sheets(run), strict=True)):
        departs, ready = boat.departs_on.isoformat(), share_text(boat.readiness)
        yield f'<section id="boat{number}"><h2>{escape(boat.boat)}</h2>\n'
        yield f'<p class="soft">Departs {departs}; readiness {escape(ready)}.</p>\n'
        if boat.boat in changes:
            yield "<div><h3>Replace before departure</h3>\n"
            yield f"<ul>{''.join(_lines(changes[boat.boat], hide={'Boat'}))}</ul></div>\n"
        for table in sheet.tables:
            yield from _groups(table)
        yield "</section>\n"


def _by_boat(sheet: Sheet) -> dict[str, list[Line]]:
    found: dict[str, list[Line]] = {}
    for table in sheet.tables:
        titles = [column.title for column in table.columns]
        if "Boat" in titles:
            where = titles.index("Boat")
            for row in table.rows:
                found.setdefault(str(row.cells[where]), []).append((table.columns, row))
    return found


def _orders(run: Run) -> Iterator[str]:
    if not run.orders.orders:
        return
    yield "<section><h2>Buy</h2>\n"
    for table in buy_sheet(run).tables:
        yield from _groups(table)
    yield "</section>\n"


def _stores(run: Run) -> Iterator[str]:
    """Write what each store keeps: how many, and when to order how many from whom."""
    for store, lines in groupby(run.plan.stores, key=lambda line: line.store):
        kept = [line for line in lines if line.level or line.source]
        yield f"<section><h2>{escape(store)}: levels</h2>\n"
        yield f'<p class="soft">{_LEVELS if kept else "Nothing is kept: bought when needed."}</p>\n'
        yield "<ul>"
        for line in kept:
            rule = "no reordering"
            if line.source:
                rule = (
                    f"at {line.reorder_point} left order {line.order_quantity} from {line.source}"
                )
                rule += f", until {line.last_order_on}" if line.last_order_on else ""
            name, part = escape(line.name), escape(line.part)
            yield (
                f'<li class="plain"><b>{line.level}</b> <u>{name}</u><i>{part}</i>'
                f"<s>{escape(rule)}</s>\n"
            )
        yield "</ul></section>\n"


def _groups(table: Table) -> Iterator[str]:
    """Write the rows of a table as lists to tick, each under the heading it stands under."""
    heading = table.heading or "Aboard"
    for look, rows in groupby(table.rows, key=lambda row: row.look):
        if look == "group":
            heading = str([*rows][-1].cells[0])
        elif look == "plain":
            yield f"<div><h3>{escape(heading)}</h3>\n"
            yield f"<ul>{''.join(_lines((table.columns, row) for row in rows))}</ul></div>\n"
        else:
            yield from (f"<p>{escape(_sum(table.columns, row))}</p>\n" for row in rows)


def _lines(lines: Iterable[Line], hide: frozenset[str] | set[str] = frozenset()) -> Iterator[str]:
    """Write each row as one line: how many, what, its number, and the rest in small print."""
    for columns, row in lines:
        cells = dict(zip(columns, row.cells, strict=True))
        told = {
            column: cell
            for column, cell in cells.items()
            if cell not in (None, "") and column.kind not in ("tick", "blank")
        }
        told = {column: cell for column, cell in told.items() if column.title not in hide}
        # What a line is about: a part by its name; where there is none, its first words.
        named = {column.title: cell for column, cell in told.items()}
        head = "Name" if "Name" in named else next(iter(named), "")
        whole = (column for column in told if column.kind == "whole" and head == "Name")
        first = next(whole, None)
        rest = " · ".join(
            _told(column, cell)
            for column, cell in told.items()
            if column is not first and column.title not in (head, "Part")
        )
        many = "" if first is None else _text(told[first], first.kind)
        name, part = (escape(str(named.get(title, ""))) for title in (head, "Part"))
        small = f"<s>{escape(rest)}</s>" if rest else ""
        box = "" if _has_box(cells) else ' class="plain"'
        yield f"<li{box}><b>{many}</b> <u>{name}</u><i>{part}</i>{small}\n"


def _told(column: Column, cell: Cell) -> str:
    """Return a cell with its title before and its unit behind: "Mass 0.50 kg"."""
    title, unit = column.title.partition(", ")[0], _unit(column)
    colon = ":" if column.kind == "prose" else ""
    return f"{title}{colon} {_text(cell, column.kind)} {unit}".rstrip()


def _unit(column: Column) -> str:
    unit = column.title.partition(", ")[2]
    return "" if " " in unit else unit  # no unit, but more of the title


def _has_box(cells: dict[Column, Cell]) -> bool:
    """Return whether a row is one to tick: "" in a column of boxes means none.

    A space to write in by hand, such as what was bought, is a box on a phone.
    """
    boxes = [cell for column, cell in cells.items() if column.kind in ("tick", "blank")]
    return bool(boxes) and all(cell != "" for cell in boxes)


def _sum(columns: tuple[Column, ...], row: Row) -> str:
    """Return a row of sums in words."""
    told = [
        f"{_text(cell, column.kind)} {_unit(column)}".rstrip()
        for column, cell in zip(columns, row.cells, strict=True)
        if cell not in (None, "")
    ]
    return ": ".join((told[0], ", ".join(told[1:]))) if len(told) > 1 else "".join(told)


def _table(table: Table) -> Iterator[str]:
    columns = [column for column in table.columns if column.kind not in ("tick", "blank")]
    wide = ' class="wide"' if len(columns) > MOST_COLUMNS else ""
    yield f"<table{wide}><thead><tr>"
    yield from (f"<th>{escape(column.title)}" for column in columns)
    yield "</thead><tbody>\n"
    for row in table.rows:
        yield f'<tr class="{row.look}">'
        for column, cell in zip(table.columns, row.cells, strict=False):
            if column in columns:
                kind = "" if column.kind in TEXT_KINDS else ' class="n"'
                of = f' data-of="{escape(column.title)}"' if wide else ""
                yield f"<td{kind}{of}>{escape(_text(cell, column.kind))}"
        yield "</tr>\n"
    yield "</tbody></table>"


def _text(cell: Cell, kind: Kind) -> str:
    """Return a cell as a person reads it."""
    if cell is None:
        return ""
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, str):
        return cell
    if kind == "share":
        return share_text(float(cell))
    return f"{cell:,.0f}" if kind == "whole" else f"{cell:,.2f}"
