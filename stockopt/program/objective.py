"""What the program makes as small as possible: money now plus what is expected later."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pulp

from stockopt.choices.choices import Choices
from stockopt.program.columns import Columns
from stockopt.program.needs import Line, Need
from stockopt.sourcing import Offer


def build_objective(
    needs: Sequence[Need],
    lines: dict[tuple[str, Offer], Line],
    columns: Columns,
    choices: Choices,
) -> pulp.LpAffineExpression:
    """Build the sum of all costs; it has no constant.

    Packs at their landed cost, order charges, the later cost of the choices taken, the leftover
    worth of pieces drawn from a store's stock and of her own that are used up or given away, less
    the credit for surplus pieces of packs: sum landed pack P + freight (y - w) + handling y
    + sum later z + sum leftover (q_stock + o + g) - sum credit (pack P - q).
    """
    terms = [term for _, term in list_order_charges(columns, choices)]
    terms += [
        (packs, (offer.landed - lines[place, offer].credit) * offer.pack)
        for (place, offer), packs in columns.packs.items()
    ]
    for (i, s), pieces in columns.pieces.items():
        need = needs[i]
        supply = need.supplies[s]
        if supply is None:
            terms.append((pieces, need.part.leftover))
        else:
            credit = lines[need.place, supply].credits[need.part.part]
            terms.append((pieces, credit))
    for group in (columns.own, columns.give):
        terms += [(pieces, needs[i].part.leftover) for i, pieces in group.items()]
    terms += [
        (column, needs[i].options[j].choice.later_cost) for (i, j), column in columns.take.items()
    ]
    return pulp.LpAffineExpression(terms)


def list_order_charges(
    columns: Columns, choices: Choices
) -> Iterator[tuple[tuple[str, str], tuple[pulp.LpVariable, float]]]:
    """List ((source, place), term) of what each order costs: freight (y - w) + handling y."""
    for key, order in columns.order.items():
        charges = choices.charges[key]
        yield key, (order, charges.per_order + charges.handling)
    for key, free in columns.free.items():
        yield key, (free, -choices.charges[key].per_order)
