"""Each purchase order as a CSV file of its own, ready to send."""

from __future__ import annotations

import csv
import re
from functools import partial
from pathlib import Path

from stockopt.landed.money import cents
from stockopt.orders.orders import PurchaseOrder
from stockopt.report.files import Write
from stockopt.report.run import Run
from stockopt.units import Measures

#: The unit of mass, kg or lb, stands last.
HEADINGS = (
    "source",
    "deliver_to",
    "for",
    "order_by",
    "needed_by",
    "part",
    "name",
    "packs",
    "pack",
    "pieces",
    "pack_price",
    "line_price",
    "currency",
)
#: What makes a spreadsheet program read a cell as a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def refuse_orders(fleet: Path, folder: Path, *, overwrite: bool) -> str | None:
    """Return why orders may not be written to a folder, None where they may.

    A folder that holds files is refused unless they may be replaced: orders of another day among
    today's would be sent along with them.
    """
    if folder.exists() and not folder.is_dir():
        return f"'{folder}' is a file: give a folder"
    if folder.resolve() == fleet.resolve():
        return f"'{folder}' holds the fleet's tables, among which orders would be read"
    if not folder.absolute().parent.is_dir():
        return f"there is no folder '{folder.parent}'"
    if folder.is_dir() and any(folder.iterdir()) and not overwrite:
        return f"'{folder}' holds files already; give a new folder, or add --overwrite"
    return None


def list_order_files(run: Run, folder: Path) -> list[tuple[str, Path, Write]]:
    """Return for each order what it is, where it goes, and what writes it."""
    files: list[tuple[str, Path, Write]] = []
    taken: set[str] = set()
    measures = run.fleet.settings.measures
    for order in run.orders.orders:
        name = "-".join(
            (_legal(order.source), _legal(order.place), run.plan.planned_on.isoformat())
        )
        unique, count = name, 1
        while unique.casefold() in taken:
            count += 1
            unique = f"{name}-{count}"
        taken.add(unique.casefold())
        files.append(("Order", folder / f"{unique}.csv", partial(write_order, order, measures)))
    return files


def write_order(order: PurchaseOrder, measures: Measures, path: Path) -> None:
    """Write one order as CSV: UTF-8 that spreadsheet programs know as such, every cell quoted.

    Text that a spreadsheet program would take for a formula has an apostrophe before it.
    """
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file, quoting=csv.QUOTE_ALL)
        writer.writerow((*HEADINGS, measures.mass))
        for line in order.lines:
            cells = (
                order.source,
                order.port,
                order.place,
                order.order_by.isoformat(),
                order.arrives_by.isoformat(),
                line.part,
                line.name,
                line.packs,
                line.pack,
                line.pieces,
                f"{line.asked:f}",
                f"{cents(line.asked * line.packs):f}",
                line.currency,
                _plain(measures.of_mass(float(line.kg))),
            )
            writer.writerow([harmless(str(cell)) for cell in cells])


def harmless(text: str) -> str:
    r"""Return a cell that no spreadsheet program reads as a formula.

    Examples
    --------
    >>> harmless("=1+1"), harmless("SEAL-7"), harmless(" @x\n")
    ("'=1+1", 'SEAL-7', "' @x ")
    """
    one_line = re.sub(r"[\r\n\t]+", " ", text)
    return f"'{one_line}" if one_line.lstrip().startswith(_FORMULA) else one_line


def _plain(mass: float) -> str:
    """Return a mass with no more digits than it needs."""
    return f"{mass:.6f}".rstrip("0").rstrip(".")


def _legal(text: str) -> str:
    """Return a text that may stand in a file's name anywhere."""
    return re.sub(r'[/\\:*?"<>|\x00-\x1f]', "-", text).strip(" .")[:60] or "order"
