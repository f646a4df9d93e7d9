"""A plan read back from the JSON that `stockopt plan` wrote."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Any, TypeVar

from stockopt.errors import InputError, Problem
from stockopt.fleet.fleet import Fleet
from stockopt.plan import BoatLine, CarryLine, Cost, OrderCharge, OrderLine, Plan
from stockopt.program.solution import Rounds
from stockopt.program.store_lines import StoreLine

Keys = Mapping[str, Any]
_Line = TypeVar("_Line")


def plan_of_keys(keys: object, label: str, fleet: Fleet) -> Plan:
    """Return the plan that a file holds, as far as it can be rehearsed.

    Parameters
    ----------
    keys
        What the JSON holds.
    label
        The file, for the person.
    fleet
        The tables as they are now: same fleet, same day, every boat and part known.

    Returns
    -------
    Plan
        Its money and chances as rounded in the file; without notes.

    Raises
    ------
    InputError
        With what is wrong with the file.
    """
    if not isinstance(keys, dict) or "stockopt" not in keys or "fleet" not in keys:
        expected = "is not a plan: write one with `stockopt plan FLEET --json FILE`"
        raise InputError([Problem(table=label, expected=expected)])
    _refuse_another(keys, label, fleet)
    read = _Reader(keys, label, "")
    rounds = read.inside("rounds")
    plan = Plan(
        fleet=read.text("fleet"),
        planned_on=fleet.settings.planned_on,
        currency=read.text("currency"),
        status=read.text("status"),
        bound=read.number("bound"),
        gap=read.number("gap"),
        seconds=0.0,
        cost=_line(Cost, read.inside("cost")),
        boats=tuple(_line(BoatLine, row) for row in read.rows("boats")),
        carry=tuple(_line(CarryLine, row) for row in read.rows("carry")),
        orders=tuple(_line(OrderLine, row) for row in read.rows("orders")),
        charges=tuple(_line(OrderCharge, row) for row in read.rows("charges")),
        notes=(),
        stores=tuple(_line(StoreLine, row) for row in read.rows("stores")),
        rounds=Rounds(number=rounds.whole("number"), agreed=rounds.flag("agreed")),
    )
    if problems := list(_list_unknown(plan, label, fleet)):
        raise InputError(problems)
    return plan


def _refuse_another(keys: Keys, label: str, fleet: Fleet) -> None:
    """Raise InputError where the plan is of another fleet or day, or none at all."""
    day = fleet.settings.planned_on.isoformat()
    wrong = [
        (name, str(keys.get(name)), expected)
        for name, right, expected in (
            ("fleet", fleet.name, f"is another fleet's plan: the tables are those of {fleet.name}"),
            (
                "planned_on",
                day,
                f"is not the day of the tables, {day}: plan again, or add --planned-on",
            ),
            (
                "currency",
                fleet.settings.currency,
                f"is not the money of the tables, {fleet.settings.currency}: plan again",
            ),
        )
        if keys.get(name) != right
    ]
    if keys.get("status") == "no plan":
        wrong.append(("status", "no plan", "keeps no limits: there is nothing to rehearse"))
    if wrong:
        raise InputError(
            [
                Problem(table=label, column=name, value=value, expected=expected)
                for name, value, expected in wrong
            ]
        )


class _Reader:
    """One object of the file, and where it stands."""

    def __init__(self, keys: Keys, label: str, where: str) -> None:
        self._keys = keys
        self._label = label
        self._where = where

    def _get(self, name: str, kind: type | tuple[type, ...], right: str) -> Any:  # noqa: ANN401
        value = self._keys.get(name)
        # True and False are numbers to Python, and not to a person.
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise self._wrong(name, right)
        return value

    def _wrong(self, name: str, right: str) -> InputError:
        value = self._keys.get(name)
        expected = f"must be {right}: is this a plan written by stockopt?"
        return InputError(
            [
                Problem(
                    table=self._label,
                    column=f"{self._where}{name}",
                    value="" if value is None else str(value),
                    expected=expected,
                )
            ]
        )

    def text(self, name: str) -> str:
        return str(self._get(name, str, "text"))

    def flag(self, name: str) -> bool:
        return bool(self._get(name, bool, "true or false"))

    def number(self, name: str) -> float:
        return float(self._get(name, (int, float), "a number"))

    def number_or_none(self, name: str) -> float | None:
        return None if self._keys.get(name) is None else self.number(name)

    def whole(self, name: str) -> int:
        return int(self._get(name, int, "a whole number"))

    def day(self, name: str) -> date:
        try:
            return date.fromisoformat(self.text(name))
        except ValueError:
            raise self._wrong(name, "a day such as 2031-04-01") from None

    def day_or_none(self, name: str) -> date | None:
        return None if self._keys.get(name) is None else self.day(name)

    def inside(self, name: str) -> _Reader:
        keys = self._get(name, dict, "an object")
        return _Reader(keys, self._label, f"{self._where}{name}.")

    def rows(self, name: str) -> Iterator[_Reader]:
        for number, row in enumerate(self._get(name, list, "a list")):
            where = f"{name}[{number}]."
            if not isinstance(row, dict):
                expected = "must be an object: is this a plan written by stockopt?"
                raise InputError([Problem(table=self._label, column=where, expected=expected)])
            yield _Reader(row, self._label, where)


def _moves(row: _Reader, name: str) -> tuple[tuple[str, int], ...]:
    return tuple((move.text("place"), move.whole("pieces")) for move in row.rows(name))


#: How a field is read, by its type as written in the class of the line.
_READ: Mapping[str, Callable[[_Reader, str], Any]] = {
    "str": _Reader.text,
    "bool": _Reader.flag,
    "int": _Reader.whole,
    "float": _Reader.number,
    "float | None": _Reader.number_or_none,
    "date": _Reader.day,
    "date | None": _Reader.day_or_none,
    "tuple[tuple[str, int], ...]": _moves,
}
#: Fields that are not called as in the file.
_CALLED = {"floor": "carry_at_least"}


def _line(kind: type[_Line], row: _Reader) -> _Line:
    """Return a line of the plan, each field by its type; what no rehearsal asks for is left out."""
    told = {
        name: _READ[written](row, _CALLED.get(name, name))
        for name, written in kind.__annotations__.items()
        if written in _READ
    }
    return kind(**told)


def _list_unknown(plan: Plan, label: str, fleet: Fleet) -> Iterator[Problem]:
    """Yield boats and parts that the tables do not know, and the other way round."""
    parts, sailing = set(fleet.parts["part"]), set(fleet.legs["boat"])
    for boat in plan.boats:
        if boat.boat not in sailing:
            expected = "has no legs to come in the tables: plan again"
            yield Problem(table=label, column="boats", value=boat.boat, expected=expected)
    for part in sorted({line.part for line in plan.carry} - parts):
        expected = "is not in the table parts: plan again"
        yield Problem(table=label, column="carry", value=part, expected=expected)
    for boat_left in sorted({line.boat for line in plan.carry} - {b.boat for b in plan.boats}):
        expected = "carries parts but is not in boats: is this a plan written by stockopt?"
        yield Problem(table=label, column="carry", value=boat_left, expected=expected)
