"""The program of one boat that is delivered to alone, in the form that solves fastest.

No other boat draws on her packs, so what a way to bring pieces costs is known whole, and packs
need no columns: one column for each option and one for each way to bring what it wants. Symbols:
z take, u way, x packs bought only to fill an order, y order, w free freight.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pulp

from stockopt.choices.choices import Choices
from stockopt.errors import NoPlanError
from stockopt.program.columns import Columns, has_free_column, has_order_column
from stockopt.program.constraints import take_one_choice
from stockopt.program.limits import keep_readiness, keep_stowage, keep_weight
from stockopt.program.needs import Line, Need, list_lines, list_needs
from stockopt.program.objective import list_order_charges
from stockopt.program.pick import pick
from stockopt.program.places import is_plain
from stockopt.program.rows import Program, Sense, Term
from stockopt.program.solution import Bought, Picked
from stockopt.program.ways import Way, count_packs, list_ways
from stockopt.sourcing import Offer


@dataclass(frozen=True, slots=True, kw_only=True)
class AloneProgram:
    """The program, and its columns beside the shared ones.

    Parameters
    ----------
    program
        With columns for options, orders and free freight.
    ways
        (need, way, column): 1 where the pieces are brought this way.
    fillers
        By (place, offer): packs bought beyond what is used, to reach a minimum or free freight.
    """

    program: Program
    ways: tuple[tuple[int, Way, pulp.LpVariable], ...]
    fillers: dict[tuple[str, Offer], pulp.LpVariable]


def is_alone(choices: Choices) -> bool:
    """Return whether the choices are of one boat at one place, and no two offers share packs."""
    if len(choices.boats) > 1 or is_plain(choices):
        return False
    scarce = [
        (part.part, offer.source, offer.part, offer.pack, offer.price)
        for part in choices.parts
        for offer in part.offers
        if offer.most is not None
    ]
    return len(set(scarce)) == len(scarce)


def build_alone(choices: Choices) -> AloneProgram:
    """Build the program of one boat; errors as for the program as one model."""
    needs = list_needs(choices)
    if not all(need.options for need in needs):
        raise NoPlanError(())
    problem = pulp.LpProblem("stockopt", pulp.LpMinimize)
    lines = list_lines(needs, choices)
    alone = _add_columns(problem, needs, lines, choices)
    problem += pulp.LpAffineExpression(_list_costs(alone))
    take_one_choice(alone.program)
    _bring_what_is_wanted(alone)
    _order_before_buying(alone)
    _reach_thresholds(alone)
    keep_weight(alone.program)
    keep_stowage(alone.program)
    keep_readiness(alone.program)
    _keep_budget(alone)
    return alone


def _add_columns(
    problem: pulp.LpProblem,
    needs: list[Need],
    lines: dict[tuple[str, Offer], Line],
    choices: Choices,
) -> AloneProgram:
    count = 0

    def add(words: str, most: int) -> pulp.LpVariable:
        nonlocal count
        count += 1
        return problem.add_variable(f"c{count:07d}_{words}", 0, most, pulp.LpInteger)

    columns = Columns(take={}, pieces={}, packs={}, order={}, free={})
    for source, place in sorted({(offer.source, place) for place, offer in lines}):
        charges = choices.charges[source, place]
        if has_order_column(charges):
            columns.order[source, place] = add(f"order_{source}", 1)
        if has_free_column(charges):
            columns.free[source, place] = add(f"free_{source}", 1)
    fillable = {
        source
        for source, place in columns.order
        if (source, place) in columns.free or choices.charges[source, place].minimum_order
    }
    fillers = {
        (place, offer): add(f"fill_{offer.source}_{offer.part}", line.most_packs)
        for (place, offer), line in lines.items()
        if offer.source in fillable
    }
    ways = []
    for i, need in enumerate(needs):
        for j in range(len(need.options)):
            columns.take[i, j] = add(f"take_{need.part.part}", 1)
        stock = choices.stock.get((need.place, need.part.part), 0)
        ways += [
            (i, way, add(f"way_{need.part.part}_{way.wanted}", 1))
            for way in list_ways(need, stock, fillable)
        ]
    program = Program(problem=problem, choices=choices, needs=needs, lines=lines, columns=columns)
    return AloneProgram(program=program, ways=tuple(ways), fillers=fillers)


def list_alone_spending(alone: AloneProgram) -> list[Term]:
    """List what is spent now: ways, fillers and order charges."""
    terms = [(column, way.spending) for _, way, column in alone.ways if way.spending]
    terms += [(packs, offer.landed * offer.pack) for (_, offer), packs in alone.fillers.items()]
    program = alone.program
    return terms + [term for _, term in list_order_charges(program.columns, program.choices)]


def _list_costs(alone: AloneProgram) -> list[Term]:
    program = alone.program
    terms = [(column, way.cost) for _, way, column in alone.ways]
    terms += [
        (packs, (offer.landed - program.lines[place, offer].credit) * offer.pack)
        for (place, offer), packs in alone.fillers.items()
    ]
    terms += [
        (column, program.needs[i].options[j].choice.later_cost)
        for (i, j), column in program.columns.take.items()
    ]
    return terms + [term for _, term in list_order_charges(program.columns, program.choices)]


def _bring_what_is_wanted(alone: AloneProgram) -> None:
    """Bring what the choice taken wants in one way: for each number k, sum u_k = sum z."""
    rows: dict[tuple[int, int], list[Term]] = defaultdict(list)
    for i, way, column in alone.ways:
        rows[i, way.wanted].append((column, 1.0))
    for (i, j), column in alone.program.columns.take.items():
        wanted = alone.program.needs[i].options[j].wanted
        if wanted:
            rows[i, wanted].append((column, -1.0))
    for (i, wanted), terms in rows.items():
        alone.program.add(f"bring_{i}_{wanted}", terms, Sense.EQUAL, 0.0)


def _order_before_buying(alone: AloneProgram) -> None:
    """Buy nothing without an order: sum of u that buy there <= y for every part; x <= most y.

    And no more than there is: the packs of u, and x, together at most those to be had.
    """
    program = alone.program
    place = program.needs[0].place
    buying: dict[tuple[int, str], list[Term]] = defaultdict(list)
    packs: dict[Offer, list[Term]] = defaultdict(list)
    for i, way, column in alone.ways:
        for source in way.goods:
            if (source, place) in program.columns.order:
                buying[i, source].append((column, 1.0))
        for supply, pieces in way.drawn:
            if supply is not None:
                packs[supply].append((column, float(count_packs(supply, pieces))))
    for (i, source), terms in buying.items():
        ordered = (program.columns.order[source, place], -1.0)
        program.add(f"order_{i}_{source}", [*terms, ordered], Sense.AT_MOST, 0.0)
    for number, ((_, offer), filler) in enumerate(alone.fillers.items()):
        most = float(program.lines[place, offer].most_packs)
        ordered = (program.columns.order[offer.source, place], -most)
        terms = [*packs[offer], (filler, 1.0), ordered]
        program.add(f"fill_{number}", terms, Sense.AT_MOST, 0.0)


def _reach_thresholds(alone: AloneProgram) -> None:
    """Reach an order's minimum, and free freight only from its value on.

    Goods >= minimum y, goods >= from w, w <= y.
    """
    program = alone.program
    goods: dict[str, list[Term]] = defaultdict(list)
    for _, way, column in alone.ways:
        for source, value in way.goods.items():
            goods[source].append((column, value))
    for (_, offer), packs in alone.fillers.items():
        goods[offer.source].append((packs, offer.price * offer.pack))
    for (source, place), order in program.columns.order.items():
        charges = program.choices.charges[source, place]
        if charges.minimum_order:
            terms = [*goods[source], (order, -charges.minimum_order)]
            program.add(f"minimum_{source}", terms, Sense.AT_LEAST, 0.0)
        free = program.columns.free.get((source, place))
        if free is not None:
            terms = [*goods[source], (free, -(charges.free_freight_from or 0.0))]
            program.add(f"free_{source}", terms, Sense.AT_LEAST, 0.0)
            program.add(f"ordered_{source}", [(free, 1.0), (order, -1.0)], Sense.AT_MOST, 0.0)


def _keep_budget(alone: AloneProgram) -> None:
    """Keep what is spent now within her budget: all of it, or without surplus from a store."""
    program = alone.program
    ((boat, limits),) = program.choices.boats.items()
    if limits.budget is None:
        return
    if limits.place == boat:
        terms = list_alone_spending(alone)
    else:
        terms = [
            (column, sum(n * supply.landed for supply, n in way.drawn if supply is not None))
            for _, way, column in alone.ways
        ]
    program.add(f"budget_{boat}", terms, Sense.AT_MOST, limits.budget)


@dataclass(frozen=True, slots=True, kw_only=True)
class AloneReader:
    """What each column stands for, by its number; it holds nothing of PuLP's.

    Parameters
    ----------
    needs
        Every part of hers.
    takes
        (need, option, column).
    ways
        (need, way, column).
    lines
        Place, offer and column of its filler, None where it has none.
    """

    needs: tuple[Need, ...]
    takes: tuple[tuple[int, int, int], ...]
    ways: tuple[tuple[int, Way, int], ...]
    lines: tuple[tuple[str, Offer, int | None], ...]


def make_reader(alone: AloneProgram) -> AloneReader:
    """Note what each column stands for, once the program was handed to the solver."""
    program = alone.program
    fillers = {key: column.index for key, column in alone.fillers.items()}
    return AloneReader(
        needs=tuple(program.needs),
        takes=tuple((i, j, column.index) for (i, j), column in program.columns.take.items()),
        ways=tuple((i, way, column.index) for i, way, column in alone.ways),
        lines=tuple((place, offer, fillers.get((place, offer))) for place, offer in program.lines),
    )


def read_alone(
    reader: AloneReader, values: npt.NDArray[np.float64]
) -> tuple[tuple[Picked, ...], tuple[Bought, ...]]:
    """Read the choices taken and the order lines, sorted, from the values of the columns."""
    taken = {i: j for i, j, column in reader.takes if values[column] > 0.5}
    drawn = {i: way.drawn for i, way, column in reader.ways if values[column] > 0.5}
    picked = []
    packs: Counter[Offer] = Counter()
    for i, need in enumerate(reader.needs):
        option = need.options[taken[i]]
        brought = dict(drawn[i]) if option.wanted else {}
        picked.append(pick(need, option, brought))
        for offer, pieces in picked[-1].bought:
            packs[offer] += count_packs(offer, pieces)
    for _, offer, column in reader.lines:
        packs[offer] += 0 if column is None else round(values[column])
    bought = (
        Bought(place=place, offer=offer, packs=packs[offer])
        for place, offer, _ in reader.lines
        if packs[offer] > 0
    )
    return tuple(picked), tuple(bought)
