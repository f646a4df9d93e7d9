"""A tiny fleet on disk: two boats, a store, five parts; plans in a moment."""

import csv
import json
import random
import tomllib
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
from click.testing import CliRunner, Result

from stockopt.cli.main import main

TABLES = {
    "boats": """
boat,home_port,store,spares_kg,budget,day_cost
Heron,Port Amber,Base,60,,600
Osprey,Port Amber,Base,60,,900
""",
    "machines": """
boat,machine,model,fitted_on,hours_at_fitting
Heron,engine,Diesel A,2028-01-10,0
Osprey,port engine,Diesel A,2028-02-01,0
Osprey,starboard engine,Diesel A,2028-02-01,0
""",
    "readings": """
boat,machine,read_on,hours
Heron,engine,2028-01-10,0
Heron,engine,2031-04-01,1380
Osprey,port engine,2028-02-01,0
Osprey,port engine,2031-04-01,1510
Osprey,starboard engine,2028-02-01,0
Osprey,starboard engine,2031-04-01,1495
""",
    "parts": """
part,name,clock,wear,expected_life,price,kg,litres,consequence,carry_at_least
IMP-1,"Impeller, raw-water pump",hours,wears,600,45,0.15,0.3,stops,
GSK-1,"Gasket, raw-water pump cover",hours,,,6,0.01,0.05,stops,
SEAL-7,"Shaft seal, raw-water pump",hours,wears,700,25,0.05,0.1,stops,
BILGE-2,"Bilge pump, electric",days,random,1100,70,0.8,1.2,limits,1
LAMP-3,"Lamp, navigation light",days,random,2200,60,0.3,0.4,nuisance,
""",
    "fitted": """
model,part,quantity
Diesel A,IMP-1,1
Diesel A,SEAL-7,1
Diesel A,BILGE-2,1
Diesel A,LAMP-3,2
""",
    "replacements": """
on,boat,machine,part,quantity,hours,reason
2029-04-02,Heron,engine,IMP-1,1,540,worn
2030-05-11,Heron,engine,IMP-1,1,1010,scheduled
2029-07-15,Osprey,port engine,SEAL-7,1,702,failed
2030-08-20,Osprey,starboard engine,SEAL-7,1,1210,failed
2030-02-10,Osprey,port engine,LAMP-3,1,,failed
""",
    "used_with": """
part,with_part,quantity
GSK-1,IMP-1,1
""",
    "sources": """
source,kind,delivers_to,lead_days,late_days,per_order,per_kg,duty,handling
Quayside,local,Port Amber,0,1,0,0,0,0
Far Parts,mail,Port Amber,10,18,20,4,5%,25
""",
    "prices": """
source,part,price,pack
Quayside,IMP-1,62,1
Quayside,GSK-1,9,1
Quayside,SEAL-7,39,1
Quayside,BILGE-2,95,1
Quayside,LAMP-3,81,1
Far Parts,IMP-1,34,1
Far Parts,GSK-1,30,10
Far Parts,SEAL-7,19,1
Far Parts,BILGE-2,60,1
""",
    "legs": """
boat,departs_on,days,to_port,hours,times
Heron,2031-05-03,7,Port Amber,25,8
Osprey,2031-05-03,7,Port Amber,25,8
""",
    "ports": """
port,price_factor,wait_days
Port Amber,1.5,1
""",
    "stock": """
place,part,on_hand,locker,counted_on
Heron,IMP-1,1,A2,2031-03-20
Base,LAMP-3,2,,2031-03-20
""",
}
SETTINGS = 'planned_on = 2031-04-01\ncurrency = "EUR"\n'


def run(*arguments: object) -> Result:
    """Run stockopt as from the command line."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def run_to_json(out: Path, *arguments: object) -> tuple[str, dict[str, Any]]:
    """Run a command that succeeds; return what it prints, and the keys that it writes to `out`."""
    result = run(*arguments, "--json", out, "--overwrite")
    assert result.exit_code == 0, result.output
    return result.stdout, json.loads(out.read_text(encoding="utf-8"))


def write_fleet(folder: Path, **changes: str) -> Path:
    """Write the fleet as CSV files; a table given as text replaces its own, "" leaves it out."""
    folder.mkdir(parents=True)
    for name, text in {**TABLES, **changes}.items():
        if text:
            (folder / f"{name}.csv").write_text(text.lstrip(), encoding="utf-8")
    (folder / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    return folder


def write_workbook_of(folder: Path, path: Path) -> Path:
    """Write the tables of a folder as one workbook, numbers as numbers and days as days."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for table in sorted(folder.glob("*.csv")):
        page = book.create_sheet(table.stem)
        with table.open(encoding="utf-8", newline="") as lines:
            for row in csv.reader(lines):
                page.append([_typed(cell) for cell in row])
    asked = tomllib.loads((folder / "settings.toml").read_text(encoding="utf-8"))
    asked |= {f"rates.{currency}": rate for currency, rate in asked.pop("rates", {}).items()}
    settings = book.create_sheet("settings")
    for row in (("setting", "value"), *asked.items()):
        settings.append(row)
    book.save(path)
    return path


def write_folder_of(book: Path, folder: Path) -> Path:
    """Write the sheets of a workbook as CSV files and its settings as settings.toml."""
    folder.mkdir(parents=True)
    for page in openpyxl.load_workbook(book):
        rows = [[_shown(cell) for cell in row] for row in page.iter_rows(values_only=True)]
        if page.title == "settings":
            told = [f"{name} = {_quoted(value)}\n" for name, value in rows[1:]]
            (folder / "settings.toml").write_text("".join(told), encoding="utf-8")
        else:
            _write_rows(folder / f"{page.title}.csv", rows)
    return folder


def write_shuffled(fleet: Path, folder: Path, seed: int) -> Path:
    """Write a folder of tables again with the rows and the columns of each in another order."""
    folder.mkdir(parents=True)
    rng = random.Random(seed)
    for table in sorted(fleet.glob("*.csv")):
        with table.open(encoding="utf-8", newline="") as lines:
            header, *rows = csv.reader(lines)
        rng.shuffle(rows)
        order = rng.sample(range(len(header)), len(header))
        _write_rows(
            folder / table.name, [[row[place] for place in order] for row in (header, *rows)]
        )
    (folder / "settings.toml").write_bytes((fleet / "settings.toml").read_bytes())
    return folder


def _write_rows(path: Path, rows: list[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as lines:
        csv.writer(lines).writerows(rows)


def _shown(cell: object) -> str:
    if cell is None:
        return ""
    return cell.date().isoformat() if isinstance(cell, datetime) else str(cell)


def _quoted(value: str) -> str:
    return value if isinstance(_typed(value), float | date) else f'"{value}"'


def _typed(cell: str) -> str | float | date | None:
    for kind in (float, date.fromisoformat):
        with suppress(ValueError):
            return kind(cell)
    return cell or None


def snapshot(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder with what it holds."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
