"""Names that differ in capitals only."""

from builders import make_fleet
from fleet_builders import SETTINGS, problems_of, sound_tables

from stockopt.errors import Note


def make(tables):
    return make_fleet(settings=SETTINGS, **tables)


def test_names_are_written_as_they_are_defined_and_noted_once():
    tables = sound_tables()
    tables["readings"][0].update(boat="ALBA", machine="Port Engine")
    tables["fitted"][1].update(part="b-2", model="m1")
    tables["stock"][0].update(place="shed", part="Seven")
    tables["prices"][0].update(source="quay")
    tables["legs"][1].update(to_port="isla")
    fleet = make(tables)
    assert fleet.readings.loc[2, ["boat", "machine"]].tolist() == ["Alba", "port engine"]
    assert fleet.fitted.loc[3, ["model", "part"]].tolist() == ["M1", "B-2"]
    assert fleet.stock.loc[2, ["place", "part"]].tolist() == ["Shed", "007"]
    assert fleet.prices.at[2, "source"] == "Quay"
    assert fleet.legs.at[3, "to_port"] == "Isla"
    assert set(fleet.notes) == {
        Note(table=table, column=column, text=f"'{found}' was taken for '{taken}'")
        for table, column, found, taken in (
            ("readings", "boat", "ALBA", "Alba"),
            ("readings", "machine", "Port Engine", "port engine"),
            ("fitted", "part", "b-2", "B-2"),
            ("fitted", "model", "m1", "M1"),
            ("stock", "place", "shed", "Shed"),
            ("stock", "part", "Seven", "seven"),
            ("prices", "source", "quay", "Quay"),
            ("legs", "to_port", "isla", "Isla"),
        )
    }


def test_an_exact_name_comes_before_one_in_other_capitals():
    tables = sound_tables()
    tables["parts"].append({"part": "b-2", "name": "Another", "kg": 1})
    tables["fitted"].append({"model": "M1", "part": "b-2"})
    fleet = make(tables)
    assert fleet.fitted["part"].tolist() == ["007", "B-2", "b-2"]
    assert fleet.notes == ()


def test_a_name_that_may_be_either_of_two_is_a_problem():
    tables = sound_tables()
    tables["parts"] += [{"part": "ab", "name": "One"}, {"part": "aB", "name": "Other"}]
    tables["prices"][0]["part"] = "AB"
    (problem,) = problems_of(tables)
    assert (problem.table, problem.row, problem.value) == ("prices.csv", 2, "AB")


def test_stores_ports_and_families_have_one_spelling():
    tables = sound_tables()
    tables["boats"][0].update(store="shed", home_port="HAFEN")
    tables["parts"][0]["family"] = "Seals"
    tables["parts"][2]["family"] = "seals"
    fleet = make(tables)
    assert fleet.boats["store"].tolist() == ["Shed", "Shed"]
    assert len({*fleet.boats["home_port"], *fleet.sources["delivers_to"]}) == 1
    assert fleet.parts["family"].tolist() == ["Seals", "", "Seals"]
