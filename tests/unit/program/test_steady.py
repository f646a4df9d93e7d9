"""A price that changes by 1 % moves nothing that has no part in it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from program_builders import make_choice, make_choices, make_offer, make_part
from program_market import make_market
from sample_choices import choices_of

from stockopt.program.solve import solve_program


def change_price(choices, source, part, factor=1.01):
    """Return the choices with one price of one source changed."""

    def ask(offer):
        if (offer.source, offer.part) != (source, part):
            return offer
        return replace(offer, price=factor * offer.price, landed=factor * offer.landed)

    parts = tuple(
        replace(row, offers=tuple(ask(offer) for offer in row.offers)) for row in choices.parts
    )
    return replace(choices, parts=parts)


def list_lines(solution, choices, *, but):
    """List all that is decided about parts other than one."""
    asked = {(part.boat, part.part): part for part in choices.parts}
    picked = [
        (
            pick.boat,
            pick.part,
            asked[pick.boat, pick.part].choices[pick.choice],
            pick.own,
            pick.moved,
            tuple((offer.source, n) for offer, n in pick.bought),
        )
        for pick in solution.picked
        if pick.part != but
    ]
    bought = [
        (line.place, line.offer.source, line.offer.part, line.packs)
        for line in solution.bought
        if line.offer.part != but
    ]
    return picked, bought


def find_moved(choices, every):
    """Change prices one at a time; return those that moved a part of another number."""
    before = solve_program(choices, gap=0.001, seconds=60.0)
    assert before.status == "optimal"
    prices = sorted({(o.source, o.part) for part in choices.parts for o in part.offers})
    moved = []
    for source, part in prices[::every]:
        changed = change_price(choices, source, part)
        after = solve_program(changed, gap=0.001, seconds=60.0)
        if list_lines(after, changed, but=part) != list_lines(before, choices, but=part):
            moved.append((source, part))
    return moved


def test_market_of_one_boat():
    assert find_moved(make_market(1, 25, seed=3, readiness=None), every=12) == []


def test_twins_that_share_scarce_stock_and_packs():
    parts = [
        make_part(
            *(make_choice(n, 90.0 - 30.0 * n) for n in range(3)),
            boat=boat,
            part=part,
            offers=(
                make_offer(part, 20.0, source="near"),
                make_offer(part, 20.0, source="far", most=2),
            ),
        )
        for boat in ("Alba", "Bora", "Cora")
        for part in ("belt", "hose", "seal")
    ]
    limits = {boat: {"place": "store"} for boat in ("Alba", "Bora", "Cora")}
    stock = {("store", part): 2 for part in ("belt", "hose", "seal")}
    choices = make_choices(*parts, limits=limits, stock=stock)
    assert find_moved(choices, every=1) == []
    first = solve_program(choices, gap=0.0, seconds=30.0).picked[0]
    assert (first.boat, first.moved) == ("Alba", 2)


def test_the_ocean_crossing():
    assert find_moved(choices_of("ocean_crossing.xlsx"), every=20) == []


@pytest.mark.full
def test_every_price_of_the_ocean_crossing():
    assert find_moved(choices_of("ocean_crossing.xlsx"), every=1) == []


@pytest.mark.full
def test_the_charter_base():
    assert find_moved(choices_of("charter_base"), every=12) == []
