"""The program against another way of writing it, solved through another door."""

from collections import defaultdict

import numpy as np
import pytest
from program_market import make_market
from scipy.optimize import Bounds, LinearConstraint, milp

from stockopt.choices.choices import Choices
from stockopt.program.solve import solve_program


def solve_plainly(choices: Choices, *, gap: float) -> tuple[float, float]:
    """Return (cost, bound), written from the rules as plainly as they can be.

    One big factor everywhere, no choice and no column left out, her own pieces as a supply like
    any other.
    """
    model = _Model()
    taken, bought = _add_parts(model, choices)
    spending = _add_orders(model, choices, bought)
    model.row(spending, most=np.inf if choices.budget is None else choices.budget)
    for boat, limits in choices.boats.items():
        hers = {z: pair for z, pair in taken.items() if pair[0].boat == boat}
        model.row({z: p.kg * c.carry for z, (p, c) in hers.items()}, most=limits.kg)
        model.row({z: p.litres * c.carry for z, (p, c) in hers.items()}, most=limits.litres)
        if choices.readiness is not None:
            safe = {z: np.log1p(-c.shortage_chance) for z, (p, c) in hers.items() if p.stops}
            model.row(safe, np.log(choices.readiness))
    return model.solve(gap)


def _add_parts(model, choices):
    taken, drawn, bought = {}, defaultdict(dict), defaultdict(dict)
    for part in choices.parts:
        place = choices.boats[part.boat].place
        one, brings = {}, {model.add(0.0, most=part.on_hand): 1.0}
        for choice in part.choices:
            z = model.add(choice.later_cost, most=1)
            one[z], brings[z], taken[z] = 1.0, -float(choice.pieces), (part, choice)
        q = model.add(part.leftover, most=choices.stock.get((place, part.part), 0))
        brings[q] = drawn[place, part.part][q] = 1.0
        for offer in part.offers:
            q = model.add(0.0, most=99)
            brings[q] = bought[place, offer][q] = 1.0
        model.row(one, 1.0, 1.0)
        model.row(brings, 0.0)
    for key, terms in drawn.items():
        model.row(terms, most=choices.stock.get(key, 0))
    return taken, bought


def _add_orders(model, choices, bought):
    charges = choices.charges
    ordered = {key: model.add(c.per_order + c.handling, most=1) for key, c in charges.items()}
    free = {key: model.add(-c.per_order, most=1) for key, c in charges.items()}
    spending = {ordered[key]: c.per_order + c.handling for key, c in charges.items()}
    spending |= {free[key]: -c.per_order for key, c in charges.items()}
    goods, sold = defaultdict(dict), defaultdict(dict)
    for (place, offer), pieces in bought.items():
        users = [part for part in choices.parts if offer in part.offers]
        leftover = min(p.leftover for p in users if choices.boats[p.boat].place == place)
        packs = model.add((offer.landed - leftover) * offer.pack, most=99)
        for q in pieces:
            model.cost[q] += leftover
        model.row({**pieces, packs: -float(offer.pack)}, most=0.0)
        model.row({packs: 1.0, ordered[offer.source, place]: -99.0}, most=0.0)
        spending[packs] = offer.landed * offer.pack
        goods[offer.source, place][packs] = offer.price * offer.pack
        if offer.most is not None:
            sold[offer.source, offer.part, offer.most][packs] = 1.0
    for (_, _, most), terms in sold.items():
        model.row(terms, most=most)
    for key, c in charges.items():
        threshold = 1e6 if c.free_freight_from is None else c.free_freight_from
        model.row({free[key]: 1.0, ordered[key]: -1.0}, most=0.0)
        model.row({**goods[key], ordered[key]: -(c.minimum_order or 0.0)}, 0.0)
        model.row({**goods[key], free[key]: -threshold}, 0.0)
    return spending


class _Model:
    def __init__(self):
        self.cost, self.most, self.rows, self.low, self.high = [], [], [], [], []

    def add(self, cost, *, most):
        self.cost.append(cost)
        self.most.append(most)
        return len(self.cost) - 1

    def row(self, terms, least=-np.inf, most=np.inf):
        self.rows.append(terms)
        self.low.append(least)
        self.high.append(most)

    def solve(self, gap):
        matrix = np.zeros((len(self.rows), len(self.cost)))
        for number, terms in enumerate(self.rows):
            matrix[number, list(terms)] = list(terms.values())
        result = milp(
            self.cost,
            constraints=LinearConstraint(matrix, self.low, self.high),
            bounds=Bounds(0, self.most),
            integrality=np.ones(len(self.cost)),
            options={"mip_rel_gap": gap, "time_limit": 60},
        )
        assert result.x is not None
        return result.fun, result.mip_dual_bound


@pytest.mark.parametrize("shared", [True, False])
@pytest.mark.parametrize("seed", [1, 2])
def test_both_ways_of_writing_it_agree(seed, shared):
    choices = make_market(2, 6, seed=seed, shared=shared, readiness=0.2, load=1.5, budget=1.0)
    cost, _ = solve_plainly(choices, gap=1e-7)
    solution = solve_program(choices, gap=0.0, seconds=60.0)
    assert solution.objective == pytest.approx(cost, rel=1e-6)


def test_bounds_do_not_contradict_each_other():
    choices = make_market(4, 20, seed=3, readiness=None, load=2.0, budget=1.0)
    cost, bound = solve_plainly(choices, gap=0.01)
    solution = solve_program(choices, gap=0.01, seconds=60.0)
    assert bound <= solution.objective * (1.0 + 1e-7)
    assert solution.bound <= cost * (1.0 + 1e-7)
