"""The program of boats that share a store, in the form that solves fastest.

Pieces of one part are alike for all boats of a place that can draw on the same supplies: so there
is one column for what each supply brings to all of them together, not one for each boat. Symbols:
z take, Q pieces for such a group from one supply, P packs, y order, w free freight. The rules stand
in :mod:`stockopt.program.shared_rows`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.program.arrays import Arrays, Numbers, Values
from stockopt.program.columns import find_orders, has_free_column, has_order_column
from stockopt.program.limits import find_risk_share
from stockopt.program.needs import Need, Supply, list_lines, list_needs
from stockopt.program.options import Option
from stockopt.program.pick import put_together
from stockopt.program.shared_groups import Group, Spare, group_needs, list_spares
from stockopt.program.shared_rows import SharedDraft, write_program
from stockopt.program.solution import Bought, Picked, Solution
from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SharedProgram:
    """The program, and what its columns stand for.

    Parameters
    ----------
    arrays
        The program; its first columns are orders and free freight, then packs, then pieces, then
        own pieces used otherwise, then options.
    order, free, packs
        The columns by (source, place), and by (place, offer).
    groups, spares
        Who shares pieces, and own pieces left ashore that are of use.
    needs
        Every need, without its options.
    first_option
        Number of the first column for an option.
    first_of_need
        By need, that of its first option.
    need, choice, wanted
        By option: its need, the choice it takes, and the pieces it wants.
    boat
        By need: which boat's it is, numbered.
    choices
        What it was built from.
    """

    arrays: Arrays
    order: Mapping[tuple[str, str], int]
    free: Mapping[tuple[str, str], int]
    packs: Mapping[tuple[str, Offer], int]
    groups: tuple[Group, ...]
    spares: tuple[Spare, ...]
    needs: tuple[Need, ...]
    first_option: int
    first_of_need: Numbers
    need: Numbers
    choice: Numbers
    wanted: Numbers
    boat: Numbers
    choices: Choices

    @property
    def owner(self) -> Numbers:
        """Return by column whose it alone is, by number of the boat; -1 where several share it.

        Orders and packs are hers where she is delivered to alone, and pieces where no other boat
        draws on them.
        """
        own = np.full(len(self.arrays.cost), -1, np.int32)
        own[self.first_option :] = self.boat[self.need]
        for spare in self.spares:
            for column in (spare.own, spare.give):
                if column is not None:
                    own[column] = self.boat[spare.need]
        for group in self.groups:
            own[list(group.all_columns)] = _find_owner(self.boat[list(group.needs)])
        boats: dict[str, list[int]] = {}
        for need, boat in zip(self.needs, self.boat.tolist(), strict=True):
            boats.setdefault(need.place, []).append(boat)
        at = {place: _find_owner(np.array(there, np.int32)) for place, there in boats.items()}
        for (_, place), column in (*self.order.items(), *self.free.items()):
            own[column] = at.get(place, -1)
        for (place, _), column in self.packs.items():
            own[column] = at.get(place, -1)
        return own


def _find_owner(boats: Numbers) -> int:
    """Return the one boat of some; -1 where there are others."""
    return int(boats[0]) if (boats == boats[0]).all() else -1


def build_shared(choices: Choices) -> SharedProgram:
    """Build the program of boats that share orders; errors as for the program as one model."""
    draft, choice = _draw_up(choices)
    boats = draft.boats
    return SharedProgram(
        arrays=write_program(draft),
        order=draft.order,
        free=draft.free,
        packs=draft.packs,
        groups=draft.groups,
        spares=draft.spares,
        needs=tuple(replace(need, options=()) for need in draft.needs),
        first_option=int(draft.columns[0]),
        first_of_need=draft.first_of_need,
        need=draft.need,
        choice=choice,
        wanted=draft.wanted.astype(np.int32),
        boat=np.array([boats[need.part.boat] for need in draft.needs], np.int32),
        choices=choices,
    )


def _draw_up(choices: Choices) -> tuple[SharedDraft, Numbers]:
    """Give every column its number; return what rows are written from, and choices by option."""
    needs = list_needs(choices)
    if not all(need.options or need.port for need in needs):
        raise NoPlanError(())
    lines = list_lines(needs, choices)
    orders = sorted(find_orders(lines))
    ordered = [key for key in orders if has_order_column(choices.charges[key])]
    freed = [key for key in ordered if has_free_column(choices.charges[key])]
    first_packs = len(ordered) + len(freed)
    groups = group_needs(needs, choices, first_packs + len(lines))
    first_spare = first_packs + len(lines) + sum(len(group.all_columns) for group in groups)
    spares = list_spares(needs, first_spare)
    used = [column for spare in spares for column in (spare.own, spare.give) if column is not None]
    first_option = first_spare + len(used)
    facts = _list_facts(needs, choices.readiness)
    group = np.full(len(needs), -1, np.int32)
    for g, members in enumerate(groups):
        group[list(members.needs)] = g
    counts = [len(need.options) for need in needs]
    boats = {boat: k for k, boat in enumerate(sorted({need.part.boat for need in needs}))}
    draft = SharedDraft(
        choices=choices,
        needs=needs,
        lines=lines,
        order={key: column for column, key in enumerate(ordered)},
        free={key: column for column, key in enumerate(freed, len(ordered))},
        packs={key: column for column, key in enumerate(lines, first_packs)},
        groups=groups,
        group=group,
        spares=spares,
        boats=boats,
        first_of_need=(first_option + np.cumsum([0, *counts[:-1]])).astype(np.int32),
        columns=np.arange(first_option, first_option + len(facts), dtype=np.int32),
        need=facts[:, 0].astype(np.int32),
        wanted=facts[:, 2],
        aboard=facts[:, 3],
        risk=facts[:, 4],
        later=facts[:, 5],
    )
    return draft, facts[:, 1].astype(np.int32)


def _list_facts(needs: Sequence[Need], readiness: float | None) -> Values:
    """Return [option, (need, choice, wanted, pieces aboard, risk share, later cost)]."""
    return np.array(
        [
            (
                i,
                option.index,
                option.wanted,
                option.choice.aboard,
                find_risk_share(option.choice.shortage_chance, readiness)
                if readiness and need.part.stops
                else 0.0,
                option.choice.later_cost,
            )
            for i, need in enumerate(needs)
            for option in need.options
        ],
        dtype=float,
    )


def read_shared(
    program: SharedProgram, values: Values
) -> tuple[tuple[Picked, ...], tuple[Bought, ...]]:
    """Read the choices taken and the order lines, sorted, from the values of the columns."""
    taken = np.full(len(program.needs), -1, np.int64)
    options = np.flatnonzero(values[program.first_option :] > 0.5)
    taken[program.need[options]] = options
    own = _read_spares(program, values, [spare.own for spare in program.spares])
    given = _read_spares(program, values, [spare.give for spare in program.spares])
    near: dict[int, int] = {}
    brought: list[dict[Supply, int]] = [{} for _ in program.needs]
    for group in program.groups:
        left = [round(values[column]) for column in group.all_columns]
        for i in group.needs:
            wanted = _count_wanted(program, taken, i) - own.get(i, 0)
            for s, there in enumerate(left):
                pieces = min(wanted, there)
                left[s] -= pieces
                wanted -= pieces
                if pieces and s < len(group.supplies):
                    brought[i][group.supplies[s]] = pieces
                elif pieces:
                    near[i] = pieces
    chosen = [
        None if need.port else _read_option(program, need, int(option))
        for need, option in zip(program.needs, taken, strict=True)
    ]
    picked = put_together(
        program.needs, chosen, brought, own=own, given=given, near=near, choices=program.choices
    )
    bought = (
        Bought(place=place, offer=offer, packs=packs)
        for (place, offer), column in program.packs.items()
        if (packs := round(values[column])) > 0
    )
    return picked, tuple(bought)


def list_taken(program: SharedProgram, plan: Solution) -> tuple[Numbers, Values]:
    """List the columns that a plan settles, options and packs, with their values in it.

    What else there is follows from these.
    """
    picked = {(pick.boat, pick.part): pick.choice for pick in plan.picked}
    wanted = np.array(
        [-1 if need.port else picked[need.part.boat, need.part.part] for need in program.needs]
    )
    values = np.zeros(len(program.arrays.cost))
    values[program.first_option :] = program.choice == wanted[program.need]
    for line in plan.bought:
        if (line.place, line.offer) in program.packs:
            values[program.packs[line.place, line.offer]] = line.packs
    columns = np.array([*program.packs.values(), *range(program.first_option, len(values))])
    return columns.astype(np.int32), values[columns]


def _read_spares(
    program: SharedProgram, values: Values, columns: Sequence[int | None]
) -> dict[int, int]:
    """Read by need the pieces in some columns of spares."""
    return {
        spare.need: round(values[column])
        for spare, column in zip(program.spares, columns, strict=True)
        if column is not None
    }


def _count_wanted(program: SharedProgram, taken: npt.NDArray[np.int64], i: int) -> int:
    """Count the pieces that a need wants where these options are taken, called for or its own."""
    wanted = 0 if program.needs[i].port else int(program.wanted[taken[i]])
    for call in program.needs[i].calls:
        first = program.first_of_need[call.need] - program.first_option
        if taken[call.need] == first + call.option:
            wanted += call.pieces
    return wanted


def _read_option(program: SharedProgram, need: Need, option: int) -> Option:
    index = int(program.choice[option])
    return Option(index=index, choice=need.part.choices[index], wanted=int(program.wanted[option]))
