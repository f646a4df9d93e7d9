"""Make both sample fleets again, byte for byte: ``python sample_fleet/make_samples.py``.

Everything in them is invented; README.md beside this file says what from.
"""

from __future__ import annotations

import sys
from pathlib import Path

from charter_market import SETTINGS, charter_market
from charter_past import tell_charter_past
from ocean_crossing import crossing_tables
from parts_table import MADE_FROM, parts_table
from written_tables import (
    WrittenTable,
    as_number,
    as_table,
    read_rows,
    write_folder,
    write_workbook,
)

HERE = Path(__file__).parent


def make_samples(folder: Path) -> None:
    """Write ``charter_base/`` and ``ocean_crossing.xlsx`` into `folder`."""
    write_folder(_charter_tables(), SETTINGS, folder / "charter_base")
    write_workbook(crossing_tables(), folder / "ocean_crossing.xlsx")


def _charter_tables() -> dict[str, WrittenTable]:
    past = tell_charter_past()
    return {
        **charter_market(),
        "parts": parts_table(read_rows(MADE_FROM / "charter_parts.csv")),
        "fitted": as_table(
            "model part quantity boat machine consequence",
            [
                (
                    row["model"],
                    row["part"],
                    as_number(row["quantity"]),
                    row["boat"],
                    row["machine"],
                    row["consequence"],
                )
                for row in read_rows(MADE_FROM / "charter_fitted.csv")
            ],
        ),
        "machines": past.machines,
        "readings": past.readings,
        "replacements": past.replacements,
    }


if __name__ == "__main__":
    make_samples(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
