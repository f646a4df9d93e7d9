"""Second implementations of a store with lost sales: an exact Markov chain, and event by event."""

import heapq

import numpy as np
from scipy.linalg import expm


class Chain:
    """Pieces on the shelf, and the stage of the order on its way (0: none), in continuous time.

    Pieces are asked for at `rate` a day, the lead time is of `stages` exponential stages.
    """

    def __init__(self, rate, point, quantity, stages, lead, levels):
        self.point, self.quantity, self.stages = point, quantity, stages
        self.top = max(levels, point + quantity)
        states = [(i, stage) for i in range(self.top + 1) for stage in range(stages + 1)]
        self.place = {state: number for number, state in enumerate(states)}
        count = len(states)
        self.generator = np.zeros((count, count))
        self.told = {name: np.zeros(count) for name in ("order", "lost", "piece_day")}
        self.left = np.array([i + (quantity if stage else 0) for i, stage in states], dtype=float)
        for state in states:
            i, stage = state
            self.told["piece_day"][self.place[state]] = i
            if i > 0:
                self._go(state, (i - 1, stage), rate)
            else:
                self.told["lost"][self.place[state]] += rate
            if stage == stages:
                self._go(state, (min(i + quantity, self.top), 0), stages / lead)
            elif stage:
                self._go(state, (i, stage + 1), stages / lead)

    def _settle(self, state):
        i, stage = state
        return ((i, 1), 1) if stage == 0 and i <= self.point else (state, 0)

    def _go(self, state, reached, rate):
        reached, orders = self._settle(reached)
        place = self.place[state]
        self.generator[place, self.place[reached]] += rate
        self.generator[place, place] -= rate
        self.told["order"][place] += rate * orders

    def expect(self, days, levels):
        """Return order, lost, left, piece_day over `days`, from each of 0 .. levels pieces."""
        settled = [self._settle((level, 0)) for level in range(levels + 1)]
        begin = [self.place[state] for state, _ in settled]
        count, names = len(self.generator), list(self.told)
        wide = np.zeros(
            (count + len(names), count + len(names))
        )  # exp of it integrates what is told
        wide[:count, :count] = self.generator
        wide[:count, count:] = np.column_stack(list(self.told.values()))
        reached = expm(wide * days)[begin]
        found = {name: reached[:, count + n] for n, name in enumerate(names)}
        found["order"] = found["order"] + [orders for _, orders in settled]
        return found | {"left": reached[:, :count] @ self.left}

    def long_run(self):
        """Return orders and pieces lost a day, and pieces on the shelf, in the long run."""
        met = [n for state, n in self.place.items() if self._settle(state)[1] == 0]
        matrix = np.vstack([self.generator[np.ix_(met, met)].T, np.ones(len(met))])
        chance = np.linalg.lstsq(matrix, np.append(np.zeros(len(met)), 1.0))[0]
        return {name: chance @ told[met] for name, told in self.told.items()}


def simulate_store(rng, count, *, rates, weights, lead, point, quantity, level, days, stop):
    """Play seasons event by event; return order, lost, left, piece_day of each, (count,).

    `lead` is (days, chances), `stop` the days before the end from which nothing is ordered.
    """
    told = {name: np.zeros(count) for name in ("order", "lost", "left", "piece_day")}
    for season in range(count):
        rate = rng.choice(rates, p=weights)
        events = [(t, "ask") for t in rng.uniform(0.0, days, rng.poisson(rate * days))]
        heapq.heapify(events)
        shelf, on_order, clock = level, False, 0.0
        while True:
            if shelf <= point and not on_order and days - clock >= stop:
                on_order = True
                told["order"][season] += 1
                heapq.heappush(events, (clock + rng.choice(lead[0], p=lead[1]), "arrive"))
            time, event = heapq.heappop(events) if events else (days, "end")
            time = min(time, days)
            told["piece_day"][season] += shelf * (time - clock)
            clock = time
            if clock >= days:
                break
            if event == "arrive":
                shelf, on_order = shelf + quantity, False
            elif shelf:
                shelf -= 1
            else:
                told["lost"][season] += 1
        told["left"][season] = shelf + quantity * on_order
    return told
