"""Pounds and gallons: told by the heading, read as kilograms and litres."""

import pytest
from fleet_builders import sound_tables, write_folder

from stockopt.errors import InputError
from stockopt.fleet.read import read_fleet
from stockopt.units import KG_PER_POUND, LITRES_PER_GALLON

OTHERS = {
    "boats": {
        "spares_kg": ("spares_lb", 1 / KG_PER_POUND),
        "spares_litres": ("spares_gallons", 1 / LITRES_PER_GALLON),
    },
    "parts": {
        "kg": ("lb", 1 / KG_PER_POUND),
        "litres": ("gallons", 1 / LITRES_PER_GALLON),
    },
    "sources": {"per_kg": ("per_lb", KG_PER_POUND)},
}


TOML = "planned_on = 2031-04-01\n[rates]\nUSD = 0.9\n"


def write(tables, folder):
    path = write_folder(tables, folder)
    (path / "settings.toml").write_text(TOML, encoding="utf-8")
    return path


def in_other_units():
    tables = {name: [dict(row) for row in rows] for name, rows in sound_tables().items()}
    for table, changes in OTHERS.items():
        for row in tables[table]:
            for heading, (other, factor) in changes.items():
                value = row.pop(heading, 1.5 if table != "boats" else 60)
                row[other] = "" if value in ("", None) else float(value) * factor
    return tables


def test_the_same_fleet_in_pounds_and_gallons(tmp_path):
    metric = {name: [dict(row) for row in rows] for name, rows in sound_tables().items()}
    for table, changes in OTHERS.items():
        for row in metric[table]:
            for heading in changes:
                row.setdefault(heading, 1.5 if table != "boats" else 60)
    plain = read_fleet(write(metric, tmp_path / "metric"))
    other = read_fleet(write(in_other_units(), tmp_path / "other"))
    for table, changes in OTHERS.items():
        for heading in changes:
            values = getattr(other, table)[heading].tolist()
            assert values == pytest.approx(
                getattr(plain, table)[heading].tolist(), rel=1e-12, nan_ok=True
            )
            assert max(values) > 0.0
    assert [note for note in other.notes if "kept out" in note.text] == []


def test_a_wrong_cell_is_told_under_the_heading_it_stands_under(tmp_path):
    tables = in_other_units()
    tables["parts"][0]["lb"] = -2
    with pytest.raises(InputError) as error:
        read_fleet(write(tables, tmp_path / "fleet"))
    assert [str(problem) for problem in error.value.problems] == [
        "parts.csv, row 2, column lb: '-2' must be at least 0"
    ]


def test_a_doubt_is_told_under_the_heading_it_stands_under(tmp_path):
    for tables, heading in ((in_other_units(), "lb"), (sound_tables(), "kg")):
        tables["parts"][0][heading] = ""
        fleet = read_fleet(write(tables, tmp_path / heading))
        (note,) = [note for note in fleet.notes if "have none and count nothing" in note.text]
        assert (note.table, note.column) == ("parts", heading)


def test_both_headings_at_once_are_refused(tmp_path):
    tables = in_other_units()
    for row in tables["parts"]:
        row["kg"] = 1
    with pytest.raises(InputError) as error:
        read_fleet(write(tables, tmp_path / "fleet"))
    assert [str(problem) for problem in error.value.problems] == [
        "parts.csv, column kg: says the same as lb: keep one of the two columns"
    ]


def test_only_known_units_can_be_shown(tmp_path):
    path = write(sound_tables(), tmp_path / "fleet")
    fleet = read_fleet(path, overrides={"mass_unit": "lb", "volume_unit": "gallons"})
    assert fleet.settings.measures.of_mass(KG_PER_POUND) == pytest.approx(1.0)
    with pytest.raises(InputError, match="kg"):
        read_fleet(path, overrides={"mass_unit": "stone"})
