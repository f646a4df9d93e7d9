"""Which number a part is sold under now, through other spellings and superseded numbers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from stockopt.errors import Problem
from stockopt.fleet.spelling import Tables


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """What leads from each number to the next.

    Parameters
    ----------
    spelled
        By other spelling: the number it stands for.
    superseded
        By superseded number: the one that took its place.
    """

    spelled: Mapping[str, str]
    superseded: Mapping[str, str]

    def follow(self, number: str) -> list[str]:
        """Return the numbers from this to the current one; the last is met twice in a circle."""
        path = [number]
        while step := self.superseded.get(path[-1]) or self.spelled.get(path[-1]):
            path.append(step)
            if step in path[:-1]:
                break
        return path

    def spell(self, number: str) -> str:
        """Return the number as the parts table writes it, superseded or not."""
        seen = {number}
        while (step := self.spelled.get(number)) and step not in seen:
            seen.add(step)
            number = step
        return number

    def current(self, number: str) -> str:
        """Return the number that is sold now; there must be no circle."""
        return self.follow(number)[-1]


def list_numbers(tables: Tables) -> Numbers:
    """Return the numbers of the aliases and parts tables."""
    parts, aliases = tables["parts"], tables["aliases"]
    own = set(parts["part"])
    superseded = parts[parts["replaced_by"].ne("") & parts["part"].ne("")]
    return Numbers(
        spelled={
            other: part
            for other, part in zip(aliases["other"], aliases["part"], strict=True)
            if other and part and other not in own
        },
        superseded=dict(zip(superseded["part"], superseded["replaced_by"], strict=True)),
    )


def check_numbers(tables: Tables) -> Iterator[Problem]:
    """Yield numbers that lead in a circle, and spellings that are numbers of their own."""
    numbers = list_numbers(tables)
    parts, aliases = tables["parts"], tables["aliases"]
    for frame, table, column, start in (
        (parts, "parts", "replaced_by", "part"),
        (aliases, "aliases", "part", "other"),
    ):
        told: set[frozenset[str]] = set()
        for row, number, step in zip(frame.index, frame[start], frame[column], strict=True):
            path = numbers.follow(number)
            circle = path[path.index(path[-1]) :]
            if len(circle) == 1 or number not in circle or frozenset(circle) in told:
                continue
            told.add(frozenset(circle))
            yield Problem(
                table=table,
                row=int(row),
                column=column,
                value=step,
                expected=f"leads in a circle: {' -> '.join(circle)}; blank it for the current one",
            )
    own = set(parts["part"]) - {""}
    for row, other, part in zip(aliases.index, aliases["other"], aliases["part"], strict=True):
        if other in own and part != other:
            yield Problem(
                table="aliases",
                row=int(row),
                column="other",
                value=other,
                expected="is a number of its own in parts: if it is superseded, say so there in "
                "replaced_by",
            )
