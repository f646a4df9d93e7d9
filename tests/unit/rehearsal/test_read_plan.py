"""Lines of a plan read back field by field: none left out, each told by its name in the file."""

import pytest

from stockopt.errors import InputError
from stockopt.plan import BoatLine, CarryLine, Cost, OrderCharge, OrderLine
from stockopt.program.store_lines import StoreLine
from stockopt.rehearsal.read_plan import _READ, _line, _Reader


@pytest.mark.parametrize(
    ("kind", "unread"),
    [
        (Cost, set()),
        (BoatLine, set()),
        (CarryLine, {"restock_at"}),
        (OrderLine, set()),
        (OrderCharge, set()),
        (StoreLine, set()),
    ],
)
def test_every_field_of_a_line_is_read(kind, unread):
    assert {name for name, written in kind.__annotations__.items() if written not in _READ} == (
        unread
    )


def test_a_line_is_read_by_the_types_of_its_fields():
    keys = {"source": "Pots", "place": "Alba", "freight": 3, "handling": 1.5, "more": "ignored"}
    line = _line(OrderCharge, _Reader(keys, "plan.json", ""))
    assert line == OrderCharge(source="Pots", place="Alba", freight=3.0, handling=1.5)
    assert isinstance(line.freight, float)


@pytest.mark.parametrize(
    ("value", "right"),
    [(None, "a whole number"), ("2", "a whole number"), (True, "a whole number"), (1.5, "a whole")],
)
def test_what_is_wrong_is_told_by_its_name_in_the_file(value, right):
    told = {name: 1 for name, written in CarryLine.__annotations__.items() if written == "int"}
    told |= {"boat": "Alba", "part": "seal", "name": "Seal", "restock": False}
    keys = {"carry": [{**told, "carry_at_least": value}]}
    (row,) = _Reader(keys, "plan.json", "").rows("carry")
    with pytest.raises(InputError, match=rf"carry\[0\]\.carry_at_least.*must be {right}"):
        _line(CarryLine, row)
