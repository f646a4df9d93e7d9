"""A small run made by hand, so that the report can be tested without the rooms before it."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from builders import make_fleet
from order_builders import make_reorder, orders_of_plan

from stockopt.ageing.ageing import (
    Ageing,
    BestAge,
    BoatSpread,
    FamilyPool,
    Nodes,
    PartAgeing,
    PartTests,
)
from stockopt.choices.choices import Choices
from stockopt.demand.demand import Demand, PartDemand
from stockopt.errors import Note
from stockopt.lives.lives import Lives
from stockopt.plan import BoatLine, CarryLine, Cost, OrderCharge, OrderLine, Plan
from stockopt.program.solution import Solution
from stockopt.program.store_lines import StoreLine
from stockopt.report.run import Run
from stockopt.sourcing import Offers

PLANNED_ON = date(2031, 4, 1)
DEPARTS = date(2031, 5, 3)

PARTS = {
    "IMP-1": "Impeller, raw-water pump",
    "GSK-1": "Gasket, raw-water pump cover",
    "SEAL-7": "Shaft seal, raw-water pump",
    "BILGE-2": "Bilge pump, electric, cartridge type",
    "=BELT": "+Belt, alternator",
}

NODES = Nodes(shape=np.array([2.0]), scale=np.array([700.0]), weight=np.array([1.0]))


def make_ageing(part: str, **changes: Any) -> PartAgeing:
    values: dict[str, Any] = {
        "part": part,
        "clock": "hours",
        "failures": 3,
        "exposure": 2800.0,
        "rate_per_1000": 1.0714,
        "rate_low": 0.292,
        "rate_high": 2.77,
        "shape": 2.1,
        "shape_low": 1.2,
        "shape_high": 3.4,
        "scale": 705.0,
        "mean_life": 624.0,
        "mean_life_low": 480.0,
        "mean_life_high": 860.0,
        "ml_shape": 2.3,
        "ml_scale": 690.0,
        "prior_only": False,
        "prior": "expected life 700 h, wears",
        "nodes": NODES,
    }
    return PartAgeing(**{**values, **changes})


def make_tests(**changes: Any) -> PartTests:
    values: dict[str, Any] = {
        "trend_z": 0.4,
        "trend_p": 0.69,
        "trend": "failures come no faster",
        "boats_statistic": 2.1,
        "boats_p": 0.35,
        "boats": "no difference between boats shows",
        "wear_ratio": 31.0,
        "wear": "wears out with age, clearly",
        "newest_failures": 1,
        "newest_expected": 0.8,
        "newest_p": 0.55,
        "newest": "the newest do not fail sooner",
    }
    return PartTests(**{**values, **changes})


def make_best_age(**changes: Any) -> BestAge:
    values: dict[str, Any] = {
        "age": 420.0,
        "planned_cost": 75.0,
        "failing_cost": 320.0,
        "cost": 300.0,
        "cost_to_failure": 512.5,
        "words": "change at 420 hours: saves 212.5 per 1,000 hours",
    }
    return BestAge(**{**values, **changes})


def make_family(**changes: Any) -> FamilyPool:
    values: dict[str, Any] = {
        "family": "impellers",
        "clock": "hours",
        "parts": 4,
        "with_failures": 3,
        "failures": 12,
        "by_expected_life": True,
        "life": 0.9,
        "life_spread": 0.2,
        "shape": 2.4,
        "shape_spread": 0.3,
    }
    return FamilyPool(**{**values, **changes})


def make_boat_spread(**changes: Any) -> BoatSpread:
    values: dict[str, Any] = {
        "spread": 0.4,
        "statistic": 6.1,
        "p_value": 0.007,
        "used": True,
        "words": "some boats fail their parts faster than others",
    }
    return BoatSpread(**{**values, **changes})


def make_lives_table() -> pd.DataFrame:
    """Return two impellers on Heron, and a seal on Osprey of which the beginning was not seen."""
    day = pd.Timestamp
    heron = {"part": "IMP-1", "boat": "Heron", "machine": "engine"}
    osprey = {"part": "SEAL-7", "boat": "Osprey / west", "machine": "port engine"}
    usual = {"fitted_on": day("2028-01-10"), "slot": 1, "clock": "hours", "entered": 0.0}
    running = {"failed": False, "reason": "running", "ended_on": day("2031-04-01"), "row": 0}
    worn = {"failed": True, "reason": "worn", "ended_on": day("2029-04-02"), "row": 2}
    rows = [
        {**heron, **usual, "left": 540.0, "age_known": True, "began_on": day("2028-01-10"), **worn},
        {**heron, **usual, "left": 420.0, "age_known": True, "began_on": day("2029-04-02")}
        | running,
        {**osprey, **usual, "left": 512.0, "age_known": False, "began_on": pd.NaT, **running},
    ]
    return pd.DataFrame(rows)


def make_carry(boat: str, part: str, **changes: Any) -> CarryLine:
    values: dict[str, Any] = {
        "boat": boat,
        "part": part,
        "name": PARTS[part],
        "on_hand": 0,
        "carry": 1,
        "replace_now": 0,
        "restock": False,
        "buy": 1,
        "moved": 0,
        "floor": 0,
        "kg": 0.15,
        "litres": 0.3,
        "expected_need": 0.4,
        "shortage_chance": 0.06,
        "expected_shortages": 0.07,
        "expected_cost": 84.5,
    }
    return CarryLine(**{**values, **changes})


def make_carries() -> tuple[CarryLine, ...]:
    return (
        make_carry("Heron", "=BELT", carry=2, on_hand=3, buy=0, kg=0.4),
        make_carry("Heron", "BILGE-2", carry=1, floor=1, buy=1, kg=0.8),
        make_carry("Heron", "GSK-1", carry=2, buy=4, replace_now=0, kg=0.02),
        make_carry("Heron", "IMP-1", carry=1, moved=2, buy=0, replace_now=1, restock=True),
        make_carry("Heron", "SEAL-7", carry=0, buy=0, kg=0.0, expected_cost=12.0),
        make_carry("Osprey / west", "SEAL-7", carry=1, replace_now=2, buy=3, kg=0.05),
    )


def make_boat(boat: str, **changes: Any) -> BoatLine:
    values: dict[str, Any] = {
        "boat": boat,
        "departs_on": DEPARTS,
        "kg": 1.37,
        "kg_limit": 60.0,
        "litres": 3.2,
        "litres_limit": None,
        "spend_now": 155.0,
        "budget": 400.0,
        "readiness": 0.971,
        "expected_shortages": 0.21,
    }
    return BoatLine(**{**values, **changes})


def make_store_line(part: str = "seal", **changes: Any) -> StoreLine:
    given: dict[str, Any] = {
        "store": "Shed",
        "part": part,
        "name": f"{part} of something",
        "on_hand": 4,
        "moved_out": 1,
        "moved_in": 0,
        "buy": 2,
        "level": 5,
        "source": "Far",
        "reorder_point": 1,
        "order_quantity": 3,
        "last_order_on": date(2031, 9, 1),
        "expected_asked": 6.25,
        "fill_rate": 0.96,
        "expected_orders": 1.5,
        "expected_reordered": 4.5,
        "expected_short": 0.25,
        "expected_left": 3.0,
        "expected_cost": 120.0,
        "paid_by_boats": 90.0,
        "later_cost": -15.0,
        "capital": 80.0,
        **changes,
    }
    return StoreLine(**given)


def make_order(part: str, **changes: Any) -> OrderLine:
    values: dict[str, Any] = {
        "source": "Quayside",
        "kind": "local",
        "place": "Base store",
        "part": part,
        "name": PARTS[part],
        "packs": 2,
        "pieces": 4,
        "price": 10.0,
        "landed": 11.0,
        "order_by": date(2031, 5, 1),
        "arrives_by": DEPARTS,
    }
    return OrderLine(**{**values, **changes})


def make_plan(**changes: Any) -> Plan:
    """Return a plan whose order lines and charges add up to what it spends: 200."""
    values: dict[str, Any] = {
        "fleet": "tiny",
        "planned_on": PLANNED_ON,
        "currency": "EUR",
        "status": "within gap",
        "bound": 499.7,
        "gap": 0.0006,
        "seconds": 0.4,
        "cost": Cost(spend_now=200.0, expected_later=300.0, total=500.0),
        "boats": (make_boat("Heron"), make_boat("Osprey / west", kg=0.05, budget=None)),
        "carry": make_carries(),
        "orders": (
            make_order("GSK-1"),
            make_order("BILGE-2", packs=1, pieces=1, price=40.0, landed=44.0),
            make_order(
                "SEAL-7",
                source="Far Parts",
                kind="mail",
                packs=3,
                pieces=3,
                price=20.0,
                landed=24.0,
                order_by=date(2031, 4, 12),
            ),
        ),
        "charges": (
            OrderCharge(source="Far Parts", place="Base store", freight=15.0, handling=25.0),
        ),
        "notes": (
            Note(table="readings", row=7, column="hours", text="=runs backwards; left out"),
            Note(table="stock", text="no count is dated"),
        ),
    }
    return Plan(**{**values, **changes})


def make_positions() -> pd.DataFrame:
    columns = [
        "boat",
        "machine",
        "model",
        "part",
        "slot",
        "clock",
        "age",
        "age_at_least",
        "consequence",
    ]
    rows = [
        ("Heron", "engine", "A", "IMP-1", 1, "hours", 420.0, 420.0, "stops"),
        ("Osprey / west", "port engine", "A", "SEAL-7", 1, "hours", 512.0, 512.0, "limits"),
        ("Osprey / west", "starboard engine", "A", "SEAL-7", 1, "hours", np.nan, 498.0, "limits"),
        ("Osprey / west", "starboard engine", "A", "SEAL-7", 2, "hours", 30.0, 30.0, "limits"),
    ]
    return pd.DataFrame(rows, columns=columns)


def make_demand() -> Demand:
    blank = np.zeros((4, 1, 2))
    seal = PartDemand(
        boat="Osprey / west",
        part="SEAL-7",
        positions=3,
        consequence="limits",
        stretches=(),
        by_stretch=blank,
        whole=blank[:, 0],
        within=blank[:, 0],
        failures=np.array([0.92, 0.5, 0.15, 0.1]),
        failure_shares=np.array([0.0, 1.0, 0.0]),
        remaining=np.zeros(4),
    )
    return Demand(parts={("Osprey / west", "SEAL-7"): seal}, notes=())


def make_run(**plan_changes: Any) -> Run:
    """Return the run; keyword arguments change its plan."""
    fleet = make_fleet(
        name="tiny",
        boats=[{"boat": "Heron"}, {"boat": "Osprey / west"}],
        parts=[{"part": part, "name": name} for part, name in PARTS.items()],
        used_with=[{"part": "GSK-1", "with_part": "IMP-1", "quantity": 2}],
        stock=[
            {
                "place": "Heron",
                "part": "=BELT",
                "on_hand": 3,
                "locker": "L2",
                "expires_on": date(2033, 1, 1),
            },
            {"place": "Heron", "part": "IMP-1", "on_hand": 0, "locker": "A1"},
        ],
    )
    lives = Lives(
        lives=make_lives_table(),
        positions=make_positions(),
        notes=(),
    )
    ageing = Ageing(
        parts={
            "BILGE-2": make_ageing(
                "BILGE-2",
                clock="days",
                failures=0,
                exposure=0.0,
                rate_per_1000=None,
                rate_low=None,
                rate_high=None,
                shape=1.0,
                shape_low=0.7,
                shape_high=1.4,
                ml_shape=None,
                ml_scale=None,
                prior_only=True,
            ),
            "IMP-1": make_ageing("IMP-1", tests=make_tests(), best_age=make_best_age()),
            "SEAL-7": make_ageing("SEAL-7", failures=0, rate_per_1000=0.0, rate_low=0.0),
        },
        notes=(),
        families=(make_family(),),
        boat_factors={"Heron": 1.4, "Osprey / west": 0.7},
        boat_spread=make_boat_spread(),
    )
    plan = make_plan(**plan_changes)
    return Run(
        fleet=fleet,
        lives=lives,
        ageing=ageing,
        demand=make_demand(),
        offers=Offers(offers={}, charges={}, at_port={}, wait_days={}, price={}, notes=()),
        choices=Choices(
            boats={}, parts=(), charges={}, stock={}, budget=None, readiness=None, notes=()
        ),
        solution=Solution(
            status="within gap",
            objective=500.0,
            bound=499.7,
            gap=0.0006,
            seconds=0.4,
            picked=(),
            bought=(),
            free_freight=frozenset(),
        ),
        plan=plan,
        orders=orders_of_plan(plan, reorders=(make_reorder(), make_reorder(order_by=None))),
    )


def with_ageing(run: Run, part: str, **changes: Any) -> Run:
    """Return the run with something else known of one part."""
    parts = {**run.ageing.parts, part: replace(run.ageing.parts[part], **changes)}
    return replace(run, ageing=replace(run.ageing, parts=parts))


def with_many_lines(run: Run, boats: int, lines: int) -> Run:
    """Return the run with more boats, each with so many lines to stow."""
    names = [f"Boat {number}" for number in range(1, boats + 1)]
    carry = tuple(
        make_carry(boat, "GSK-1", name=f"Part with a name of some length, number {line}")
        for boat in names
        for line in range(lines)
    )
    return replace(
        run, plan=replace(run.plan, boats=tuple(make_boat(b) for b in names), carry=carry)
    )
