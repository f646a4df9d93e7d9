"""Two echelons, a store and the boats it serves: how long boats wait for pieces they have not got.

No published example with numbers that we could read fits: the textbooks' (Sherbrooke 1968, 1992;
Graves, Management Science 31, 1985, of which only the text was found) hold boats short until the
store has a piece again, while here a missing piece comes from the quickest source. So:

* the limit in which the answer is known: boats without spares, one piece in the store, reordered
  one for one; a share a / (1 + a) of what is asked for is missing (Palm 1938; Feeney & Sherbrooke,
  Management Science 12, 1966; from memory) and waits for the source on top of the way out;
* boats with spares, whose weeks end on one day and who then all draw what they used: a simulation
  event by event, written here, of what the room works out boat by boat and store by store.
"""

import heapq

import numpy as np
import pytest
from builders import make_fleet
from choices_builders import make_poisson_need, make_stretches

from stockopt.choices.excess import find_chance_beyond, find_expected_short
from stockopt.choices.lead_time import LeadTime, spread_lead_time
from stockopt.choices.settled import Taken
from stockopt.choices.shortage import Base, find_days_lost
from stockopt.choices.store import StoreTerms, list_store_choices
from stockopt.choices.store_cycle import find_cycle
from stockopt.choices.store_draws import find_draws
from stockopt.demand.demand import LIFE_CLASSES
from stockopt.sourcing import price_offers

WEEKS, CHASE, LEAD, LATE = 22, 1.0, 8.0, 13.0
DAYS = 7.0 * WEEKS
BASE = Base(port="Porto", has_store=True)
STRETCHES = make_stretches(*["Porto"] * WEEKS, days=7.0, chase_days=CHASE)


def find_offers():
    """Return the offers of one mail order house."""
    fleet = make_fleet(
        boats=[{"boat": "Alba", "home_port": "Porto", "store": "Shed"}],
        parts=[{"part": "seal", "price": 60}],
        sources=[
            {
                "source": "Far",
                "kind": "mail",
                "delivers_to": "Porto",
                "lead_days": LEAD,
                "late_days": LATE,
            }
        ],
        prices=[{"source": "Far", "part": "seal", "price": 40}],
    )
    return price_offers(fleet)


@pytest.mark.parametrize("load", [0.05, 0.5, 2.0])
def test_boats_without_spares_on_a_store_of_one_piece(load):
    lead = LeadTime(days=np.array([LEAD]), weight=np.ones(1))
    cycle = find_cycle(np.array([load / LEAD]), lead, 0, np.array([1]))
    fill_rate = 1.0 - cycle.lost[0, 0, 0] / (load / LEAD)
    wait = find_days_lost(STRETCHES, "seal", BASE, find_offers(), fill_rate)
    assert wait == pytest.approx(CHASE + load / (1.0 + load) * LATE, rel=1e-9)


def play(rng, seasons, *, boats, rate, carry, choice):
    """Return by season pieces asked for and missing in the store, pieces short, and days waited.

    A boat that has used her spares draws on the store at once; what she used of them she makes up
    when her week ends, but for the last. Missing pieces come from elsewhere in LATE days.
    """
    lead = spread_lead_time(LEAD, LATE)
    told = np.zeros((4, seasons))
    for season in range(seasons):
        events = [(7.0 * week, "home", 0) for week in range(1, WEEKS)]
        for boat in range(boats):
            times = rng.uniform(0.0, DAYS, rng.poisson(rate * DAYS))
            events += [(time, "fail", boat) for time in times]
        heapq.heapify(events)
        shelf, ordered, aboard = choice.level, False, [carry] * boats
        while events:
            time, event, boat = heapq.heappop(events)
            asked = 0
            if event == "arrive":
                shelf, ordered = shelf + choice.order_quantity, False
            elif event == "home":
                asked = sum(carry - left for left in aboard)
                aboard = [carry] * boats
            elif aboard[boat]:
                aboard[boat] -= 1
            else:
                asked = 1
                told[2:, season] += 1.0, CHASE + LATE * (shelf == 0)
            missing = max(asked - shelf, 0)
            told[:2, season] += asked, missing
            shelf -= asked - missing
            if shelf <= choice.reorder_point and not ordered and DAYS - time >= LEAD:
                ordered = True
                heapq.heappush(events, (time + rng.choice(lead.days, p=lead.weight), "arrive", 0))
    return told


@pytest.mark.parametrize(
    ("used", "carry"), [(3.0, 0), (3.0, 1), (10.0, 1)], ids=["bare", "one spare", "worn fast"]
)
def test_boats_with_spares_against_seasons_event_by_event(used, carry):
    """Three boats that each use so many pieces a season, and a store kept as low as it may be.

    The store is worked out as if it were asked for piece by piece. Spares of a week are asked for
    together, so a little more is missing than told; days that boats wait are told right.
    """
    need = make_poisson_need([used / DAYS / 24.0], [1.0], [168.0] * WEEKS, stretches=STRETCHES)
    draws = find_draws(need, "Porto", Taken(carry=carry, replace_now=0, restock=True))
    offers = find_offers()
    terms = StoreTerms(
        days=DAYS,
        pieces=3.0 * draws.by_class,
        weight=np.array(LIFE_CLASSES),
        offers=offers.offers["Porto", "seal"],
        order_charges={"Far": 10.0},
        least_values={},
        short_cost=150.0,
        credit=20.0,
        capital_rate=0.08,
        paid=0.0,
        before=frozenset({"Far"}),
    )
    choices = [choice for choice in list_store_choices(terms) if choice.source]
    choice = choices[0]
    seasons = 3000
    asked, missing, short, waited = play(
        np.random.default_rng(5), seasons, boats=3, rate=used / DAYS, carry=carry, choice=choice
    )
    missed = 3.0 * find_expected_short(find_chance_beyond(need.by_stretch[0]))[:, carry]
    days_lost = find_days_lost(STRETCHES, "seal", BASE, offers, choice.fill_rate)
    for told, played in ((terms.asked, asked), (missed.sum(), short), (missed @ days_lost, waited)):
        assert told == pytest.approx(played.mean(), abs=4.0 * played.std() / np.sqrt(seasons))
    fill_rate = 1.0 - missing.sum() / asked.sum()
    assert 0.95 < fill_rate < 0.975
    assert choice.fill_rate == pytest.approx(fill_rate, abs=0.01)
