"""Boats whose pieces of one part are alike, and the columns for what is brought to all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from stockopt.choices.choices import Choices
from stockopt.program.needs import Need, Supply


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Needs that can draw on the same supplies at the same worth, and their columns.

    Parameters
    ----------
    needs
        Positions of the needs.
    supplies, columns
        What brings pieces, and the column for the pieces of each.
    near
        Column for the pieces from other boats of the harbour; None where none has any to give.
    """

    needs: tuple[int, ...]
    supplies: tuple[Supply, ...]
    columns: tuple[int, ...]
    near: int | None = None

    @property
    def all_columns(self) -> tuple[int, ...]:
        """Return the columns of everything that brings pieces."""
        return self.columns if self.near is None else (*self.columns, self.near)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """Her own pieces left ashore that are used otherwise, and their columns.

    Parameters
    ----------
    need
        Position of the need.
    own
        Column for those used up with another part of hers; None where there is no such part.
    give
        Column for those that other boats of the harbour get; None where none can.
    """

    need: int
    own: int | None
    give: int | None


def group_needs(needs: Sequence[Need], choices: Choices, first: int) -> tuple[Group, ...]:
    """Group the needs; one whose boat has a budget of her own stands alone.

    Parameters
    ----------
    needs, choices
        All of them.
    first
        Number of the first column to give out.
    """
    members: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for i, need in enumerate(needs):
        if need.most_wanted:
            own = i if choices.boats[need.part.boat].budget is not None else -1
            worth = need.part.leftover if None in need.supplies else 0.0
            near = need.harbour if need.takes else ""
            supplied = (need.place, need.part.part, need.supplies, need.stores)
            members[*supplied, worth, near, own].append(i)
    groups = []
    for alike in members.values():
        need = needs[alike[0]]
        end = first + len(need.supplies)
        groups.append(
            Group(
                needs=tuple(alike),
                supplies=need.supplies,
                columns=tuple(range(first, end)),
                near=end if need.takes else None,
            )
        )
        first = end + need.takes
    return tuple(groups)


def list_spares(needs: Sequence[Need], first: int) -> tuple[Spare, ...]:
    """List the needs whose pieces left ashore are of use; columns from `first` on."""
    spares = []
    for i, need in enumerate(needs):
        if need.spares or need.gives:
            own = first if need.spares else None
            give = first + need.spares if need.gives else None
            spares.append(Spare(need=i, own=own, give=give))
            first += need.spares + need.gives
    return tuple(spares)
