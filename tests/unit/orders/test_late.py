"""What happens if an order is late, worked by hand."""

from datetime import date

import pytest
from builders import make_fleet
from choices_builders import make_demand, make_need, make_stretches
from program_builders import make_choice, make_choices, make_offer, make_part

from stockopt.choices.choices import Ahead
from stockopt.orders.late import Lateness, find_extra_cost
from stockopt.plan import OrderLine
from stockopt.program.solution import Bought, Picked, Solution
from stockopt.sourcing import Offers, PortPrice

NONE = make_choice(0, later_cost=500.0)
ONE = make_choice(1, later_cost=200.0)
TWO = make_choice(2, later_cost=150.0)


def test_a_boat_makes_the_best_of_what_she_has():
    part = make_part(NONE, ONE, TWO, leftover=5.0)
    # Two of two are missing: 500 instead of 150; the late ones stay worth 5 each.
    assert find_extra_cost(part, TWO, 2) == pytest.approx(500 - 150 - 10)
    assert find_extra_cost(part, TWO, 1) == pytest.approx(200 - 150 - 5)


def test_one_of_her_own_is_there_all_the_same():
    part = make_part(NONE, ONE, TWO, on_hand=1, leftover=5.0)
    assert find_extra_cost(part, TWO, 1) == pytest.approx(200 - 150 - 5)


def test_a_floor_forbids_her_to_leave_without():
    part = make_part(ONE, TWO, floor=1)
    assert find_extra_cost(part, ONE, 1) is None


def lateness(
    *choices,
    day_cost=300,
    price=None,
    ports=("Isla", "Porto", "Isla", "Isla"),
    picked=None,
    part=None,
):
    """Return who waits for one piece of an order, on a plan of four legs of ten days each."""
    part = part or make_part(*choices, part="seal", leftover=5.0)
    offer = make_offer("seal", 40.0, source="Post", kind="mail", port="Porto", late_days=15.0)
    pick = picked or Picked(
        boat="Alba",
        part="seal",
        choice=len(choices) - 1,
        own=0,
        moved=0,
        bought=((offer, choices[-1].carry),),
    )
    solution = Solution(
        status="optimal",
        objective=0.0,
        bound=0.0,
        gap=0.0,
        seconds=0.0,
        picked=(pick,),
        bought=(Bought(place="Alba", offer=offer, packs=1),),
        free_freight=frozenset(),
    )
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto", "day_cost": day_cost}],
        parts=[{"part": "seal"}],
    )
    stretches = make_stretches(*ports)
    demand = make_demand(make_need([[[1.0]] * len(ports)], part="seal", stretches=stretches))
    at_port = {} if price is None else {("Porto", "seal"): PortPrice(price=price, quoted=True)}
    offers = Offers(offers={}, charges={}, at_port=at_port, wait_days={}, price={}, notes=())
    return Lateness(solution, make_choices(part), demand, offers, fleet)


def line(**changes):
    values = {
        "source": "Post",
        "kind": "mail",
        "place": "Alba",
        "part": "seal",
        "name": "Seal",
        "packs": 1,
        "pieces": 1,
        "price": 30.0,
        "landed": 40.0,
        "order_by": date(2031, 4, 16),
        "arrives_by": date(2031, 5, 1),
    }
    return OrderLine(**{**values, **changes})


def test_the_pieces_catch_up_with_her_at_home():
    # Of 40 days 20 pass until she is next in Porto: half of (500 - 200 - 5).
    (boat,) = lateness(NONE, ONE).list_boats(line(), "Porto", 7)
    assert boat.cost == pytest.approx(0.5 * 295)
    assert (boat.without, boat.bought_here, boat.waits_for) == ((("seal", 1),), (), ())


def test_a_piece_sold_in_port_is_bought_there_where_that_is_cheaper():
    (boat,) = lateness(NONE, ONE, price=90.0).list_boats(line(), "Porto", 7)
    assert boat.cost == pytest.approx(90 - 5)
    assert (boat.without, boat.bought_here) == ((), (("seal", 1),))
    (boat,) = lateness(NONE, ONE, price=190.0).list_boats(line(), "Porto", 7)
    assert boat.bought_here == ()


def test_she_waits_at_her_day_cost_for_what_she_may_not_leave_without():
    (boat,) = lateness(ONE).list_boats(line(), "Porto", 7)
    assert boat.cost == pytest.approx(7 * 300)
    assert boat.waits_for == (("seal", 1),)
    (boat,) = lateness(ONE, price=60.0).list_boats(line(), "Porto", 7)
    assert (boat.cost, boat.waits_for) == (pytest.approx(55), ())


def test_an_order_that_meets_her_on_her_way_is_needed_when_she_is_there():
    ahead = Ahead(port="Isla", arrives_on=date(2031, 5, 11), offers=())
    offer = make_offer("seal", 40.0, source="Post", kind="mail", port="Isla", late_days=15.0)
    met = make_choice(0, later_cost=200.0, ahead=1, ahead_at="Isla")
    part = make_part(NONE, met, part="seal", leftover=5.0, ahead=(ahead,))
    pick = Picked(boat="Alba", part="seal", choice=1, own=0, moved=0, bought=(), met=((offer, 1),))
    waiting = lateness(NONE, ONE, picked=pick, part=part)
    there = line(place="Alba in Isla", arrives_by=date(2031, 5, 11))
    (boat,) = waiting.list_boats(there, "Isla", 7)
    assert (boat.needs_on, boat.without) == (date(2031, 5, 11), (("seal", 1),))
    # What misses her there does not catch up with her.
    assert boat.cost == pytest.approx(500 - 200 - 5)


def test_another_order_is_nothing_to_her():
    other = lateness(NONE, ONE)
    assert other.list_boats(line(), "Porto", 7)
    assert other.list_boats(line(source="Quay"), "Porto", 7) == ()
