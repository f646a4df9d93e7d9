"""One price of the charter base changes by 1 %: what has no part in it stays, in every round."""

import csv
import shutil
from pathlib import Path

import pytest

from stockopt.pipeline import plan_fleet

BASE = Path(__file__).parents[2] / "sample_fleet" / "charter_base"

#: Lines of other parts that may change, of 428: the budget binds, so that what one part costs more
#: or less another is bought less or more of. Measured: 0 to 4.
FEW = 8


def change_price(folder, source, part, factor):
    shutil.copytree(BASE, folder)
    table = folder / "prices.csv"
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    (row,) = (row for row in rows if (row["source"], row["part"]) == (source, part))
    row["price"] = f"{factor * float(row['price']):.4f}"
    with table.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return folder


def list_lines(folder, *, but):
    """List how each part but one is looked after, on boats and in the store."""
    run = plan_fleet(folder, {}, lambda _: None)
    asked = {(part.boat, part.part): part for part in run.choices.parts}
    lines = {}
    for pick in run.solution.picked:
        if pick.part != but:
            choice = asked[pick.boat, pick.part].choices[pick.choice]
            lines[pick.boat, pick.part] = (choice.carry, choice.replace_now, choice.ahead)
    return lines


@pytest.mark.full
@pytest.mark.parametrize(
    ("source", "part", "factor"),
    [
        ("Brunskarry Parts Post", "CUTL-101", 0.99),
        ("Marlanby Mail Order", "FURL-101", 1.01),
        ("Brunskarry Parts Post", "FUEL-201", 0.99),
    ],
)
def test_a_price_changed_by_one_percent_moves_little_else(tmp_path, source, part, factor):
    before = list_lines(BASE, but=part)
    after = list_lines(change_price(tmp_path / "base", source, part, factor), but=part)
    assert before.keys() == after.keys()
    assert sum(before[key] != after[key] for key in before) <= FEW
