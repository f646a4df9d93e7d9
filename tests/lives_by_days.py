"""Lives a second time, slow and obvious: walk every day and let every piece age by what was run."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise
from random import Random

DAY = timedelta(days=1)
LONG_AGO = date(1, 1, 1)
FAILURES = ("failed", "worn", "unknown")


@dataclass
class Walked:
    """What came of a walk: plain rows, pieces left out by row, and each part's clock watched."""

    lives: list = field(default_factory=list)
    positions: list = field(default_factory=list)
    left_out: Counter = field(default_factory=Counter)
    gains: dict = field(default_factory=dict)


def walk_fleet(fleet):
    planned_on = fleet.settings.planned_on
    walked = Walked()
    boats = {row["boat"]: row for row in _records(fleet.boats)}
    changes = _records(fleet.replacements)
    machines = [
        row for row in _records(fleet.machines) if (row["fitted_on"] or LONG_AGO) <= planned_on
    ]
    used = set()
    for machine in machines:
        left_on = boats[machine["boat"]]["left_on"]
        until = _replaced_on(machine, machines)
        mine = [
            row
            for row in changes
            if _same_place(row, machine)
            and (machine["fitted_on"] or LONG_AGO) <= row["on"] <= planned_on
            and (until is None or row["on"] < until)
            and (left_on is None or row["on"] <= left_on)
        ]
        used |= {row["row"] for row in mine}
        aboard = until is None and (left_on is None or left_on > planned_on)
        _walk_machine(
            fleet,
            machine,
            boats[machine["boat"]],
            until,
            mine,
            walked,
            aboard,
        )
    for row in changes:
        if row["row"] not in used:
            walked.left_out[row["row"]] += row["quantity"]
    return walked


def _walk_machine(fleet, machine, boat, until, mine, walked, aboard):
    planned_on = fleet.settings.planned_on
    sightings = _sightings(fleet, machine, until, mine)
    records = [seen["day"] for seen in sightings] + [row["on"] for row in mine]
    given = [day for day in (machine["fitted_on"], boat["joined_on"]) if day is not None]
    begins = max(given) if given else min(records, default=None)
    ends, why = planned_on, "running"
    if boat["left_on"] is not None and boat["left_on"] <= planned_on:
        ends, why = boat["left_on"], "boat left"
    if until is not None and (until < ends or (until == ends and why == "running")):
        ends, why = until, "machine replaced"
    clocks = {
        "hours": _hours_by_day(machine, sightings, planned_on),
        "days": _calendar(planned_on),
    }
    fitted = _fitted(fleet, machine)
    for row in mine:
        if row["part"] not in fitted:
            walked.left_out[row["row"]] += row["quantity"]
    for part, (quantity, name, consequence) in fitted.items():
        [row] = [row for row in _records(fleet.parts) if row["part"] == part]
        walk = Walk(machine, name, clocks[name], quantity, walked.left_out, row)
        walk.go([row for row in mine if row["part"] == part], begins, ends, why)
        where = (part, machine["boat"], machine["machine"])
        for number in range(1, quantity + 1):
            walked.gains[(*where, machine["fitted_on"], number)] = walk.gain
        for life in walk.lives:
            walked.lives.append((*where, machine["fitted_on"], life[0], name, *life[1:]))
        if aboard:
            for number, slot in enumerate(walk.slots, start=1):
                standing = walk.standing(slot, planned_on)
                walked.positions.append(
                    (where[1], part, where[2], number, name, *standing, consequence)
                )


def _records(table):
    rows = []
    for label, values in zip(table.index, table.to_dict("records"), strict=True):
        row = {"row": label}
        for name, value in values.items():
            blank = value is None or value != value
            row[name] = None if blank else value.date() if hasattr(value, "date") else value
        rows.append(row)
    return rows


def _same_place(one, other):
    return (one["boat"], one["machine"]) == (other["boat"], other["machine"])


def _replaced_on(machine, machines):
    later = [
        other["fitted_on"]
        for other in machines
        if _same_place(machine, other)
        and other["fitted_on"] is not None
        and other["fitted_on"] > (machine["fitted_on"] or LONG_AGO)
    ]
    return min(later, default=None)


def _fitted(fleet, machine):
    """Return quantity, clock and consequence of each part of one machine."""
    usual = {row["part"]: row for row in _records(fleet.parts)}
    best = {}
    for row in _records(fleet.fitted):
        fits = (
            row["model"] == machine["model"]
            and row["boat"] in ("", machine["boat"])
            and row["machine"] in ("", machine["machine"])
        )
        rank = 2 * (row["boat"] != "") + (row["machine"] != "")
        if fits and rank >= best.get(row["part"], (0,))[0]:
            part = usual[row["part"]]
            consequence = row["consequence"] or part["consequence"]
            best[row["part"]] = (rank, row["quantity"], part["clock"], consequence)
    return {part: values[1:] for part, values in best.items()}


def _sightings(fleet, machine, until, mine):
    seen, meter_changes = [], set()
    for row in _records(fleet.readings):
        day = row["read_on"]
        if not _same_place(row, machine) or day > fleet.settings.planned_on:
            continue
        changed = row["new_meter_hours"] is not None
        after = row["new_meter_hours"] if changed else row["hours"]
        if day >= (machine["fitted_on"] or LONG_AGO) and (until is None or day < until):
            seen.append({"day": day, "changed": changed, "shows": row["hours"], "then": after})
            if changed:
                meter_changes.add(day)
        elif day == until and changed:
            # The last look at the meter of the machine that went.
            shows = row["hours"]
            seen.append({"day": day, "changed": False, "shows": shows, "then": shows})
    for row in mine:
        if row["hours"] is not None and row["on"] not in meter_changes:
            shows = row["hours"]
            seen.append({"day": row["on"], "changed": False, "shows": shows, "then": shows})
    return sorted(seen, key=lambda s: (s["day"], s["changed"], s["shows"], s["then"]))


def _fits(before, seen):
    day, shows = before
    gain = seen["shows"] - shows
    return 0 <= gain <= 24 * max((seen["day"] - day).days, 1)


def _hours_by_day(machine, sightings, planned_on):
    """Return the machine's hours for every day on which they are known."""
    at_fitting = machine["hours_at_fitting"]
    sightings = list(sightings)
    known = {}
    if machine["fitted_on"] is not None and at_fitting is not None:
        day, total, shows = machine["fitted_on"], at_fitting, at_fitting
        that_day = [seen for seen in sightings if seen["day"] == day]
        if that_day:
            renewed = [seen for seen in that_day if seen["changed"]]
            first = renewed[-1] if renewed else that_day[0]
            sightings.remove(first)
            shows = first["then"]
        elif sightings and sightings[0]["shows"] < at_fitting:
            shows = 0.0
    elif sightings:
        first = sightings.pop(0)
        day, total, shows = first["day"], first["shows"], first["then"]
        if at_fitting is not None and total < at_fitting:
            total += at_fitting
    else:
        return {}
    known[day] = total
    while sightings:
        seen = sightings.pop(0)
        following = sightings[0] if sightings else None
        if _fits((day, shows), seen):
            total += seen["shows"] - shows
        elif not seen["changed"]:
            back_again = following is not None and _fits((day, shows), following)
            goes_on = following is not None and _fits((seen["day"], seen["shows"]), following)
            if back_again or (seen["shows"] > shows and not goes_on):
                continue
        day, shows = seen["day"], seen["then"]
        known[day] = total
    return _fill(known, planned_on)


def _fill(known, planned_on):
    every = {}
    stops = sorted(known)
    for start, stop in pairwise(stops):
        length = (stop - start).days
        for step in range(length):
            share = step / length
            every[start + step * DAY] = known[start] + share * (known[stop] - known[start])
    last = stops[-1]
    every[last] = known[last]
    since = max(stops[0], last - 365 * DAY)
    per_day = (every[last] - every[since]) / (last - since).days if since < last else None
    day = last
    while day < planned_on and (per_day is not None or (day - last).days < 45):
        every[day + DAY] = every[day] + (per_day or 0.0)
        day += DAY
    return every


def _calendar(planned_on):
    day, clock = planned_on, {}
    while day >= planned_on - 200 * DAY:
        clock[day] = float(day.toordinal())
        day -= DAY
    return clock


class Slot:
    """One position while the days go by; `age` is None while it is not known."""

    def __init__(self):
        self.age = None
        self.last = LONG_AGO
        self.seen = 0.0
        self.entered = 0.0
        self.known = False


class Walk:
    """One part on one machine, walked day by day."""

    def __init__(self, machine, clock_name, clock, quantity, left_out, part):
        self.shape = {"wears": 2.2, "random": 1.0, "": 1.5}[part["wear"]]
        self.expected_life = part["expected_life"] or 0.0
        self.drawn = 0
        self.machine, self.clock_name, self.clock = machine, clock_name, clock
        self.slots = [Slot() for _ in range(quantity)]
        self.left_out = left_out
        self.lives = []
        self.watched = False
        self.gain = 0.0
        self.run_before = float("inf")

    def go(self, rows, begins, ends, why):
        if not self.clock:
            for row in rows:
                self.left_out[row["row"]] += row["quantity"]
            return
        first_known, last_known = min(self.clock), max(self.clock)
        first = None if begins is None else max(begins, first_known)
        self.watched = first is not None and first <= min(ends, last_known)
        if self.watched and last_known < ends:
            ends, why = last_known, "running"
        if self.watched:
            self.gain = self.clock[ends] - self.clock[first]
            self.run_before = self.clock[first]
        day = min([first_known, *(row["on"] for row in rows)])
        while day <= max([last_known, *(row["on"] for row in rows)]):
            self._grow_older(day, first_known)
            for row in _in_order(rows, day):
                if self.watched and day > ends:
                    self.left_out[row["row"]] += row["quantity"]
                else:
                    self._change(row, day, self.watched and day > first)
            if self.watched and day == first:
                self._begin()
            if self.watched and day == ends:
                self._end(day, why)
            day += DAY

    def standing(self, slot, planned_on):
        """Return the age on the day of the plan, None if unknown, and the least it can be."""
        if slot.age is None:
            return None, slot.seen if self.watched else 0.0
        return slot.age if max(self.clock) == planned_on else None, slot.age

    def _grow_older(self, day, first_known):
        gain = 0.0
        if day in self.clock and day - DAY in self.clock:
            gain = self.clock[day] - self.clock[day - DAY]
        at_fitting = self.machine["hours_at_fitting"]
        for slot in self.slots:
            slot.seen += gain
            if slot.age is not None:
                slot.age += gain
            elif self.clock_name == "hours":
                if day == first_known and slot.last == LONG_AGO and self._as_old_as_machine():
                    slot.age = self.clock[day]
            elif day == self.machine["fitted_on"] and not (at_fitting or 0) > 0:
                slot.age = 0.0

    def _as_old_as_machine(self):
        at_fitting = self.machine["hours_at_fitting"]
        if at_fitting is None:
            return False
        told_from_new = at_fitting == 0 and self.machine["fitted_on"] is not None
        return told_from_new or self.run_before <= self.expected_life / 2

    def _begin(self):
        for slot in self.slots:
            slot.entered = slot.age or 0.0
            slot.known = slot.age is not None
            slot.seen = 0.0

    def _end(self, day, why):
        for number, slot in enumerate(self.slots, start=1):
            if slot.seen > 0:
                self.lives.append(_life(number, slot, False, why, day, 0))

    def _change(self, row, day, in_watch):
        if row["slot"] is not None:
            numbers = [int(row["slot"]) + step for step in range(row["quantity"])]
        else:
            every = range(1, len(self.slots) + 1)
            by_age = sorted(every, key=lambda number: (self.slots[number - 1].last, number))
            if row["quantity"] < len(self.slots):
                if in_watch and row["reason"] in FAILURES:
                    drawn = self._draw(row)
                    by_age = drawn + [number for number in by_age if number not in drawn]
                self.drawn += row["quantity"]
            numbers = by_age[: row["quantity"]]
            self.left_out[row["row"]] += row["quantity"] - len(numbers)
        for number in numbers:
            if number > len(self.slots):
                self.left_out[row["row"]] += 1
            else:
                self._change_one(number, self.slots[number - 1], row, day, in_watch)

    def _draw(self, row):
        """Roll the dice of that day: a piece fails with a chance as its hazard."""
        dice = Random((row["on"] - date(1970, 1, 1)).days * 1000 + self.drawn)
        ages = {
            number: slot.seen if slot.age is None else slot.age
            for number, slot in enumerate(self.slots, start=1)
        }
        left = {number: age ** (self.shape - 1) for number, age in ages.items() if age > 0}
        drawn = []
        while left and len(drawn) < row["quantity"]:
            [number] = dice.choices(list(left), list(left.values()))
            del left[number]
            drawn.append(number)
        return drawn

    def _change_one(self, number, slot, row, day, in_watch):
        failed = row["reason"] in FAILURES
        never_ran = slot.entered + slot.seen <= 0 or (slot.seen <= 0 and not failed)
        if in_watch and slot.last != day and not never_ran:
            sound = 0.0
            if failed and row["sound_on"] in self.clock:
                sound = self.clock[day] - self.clock[row["sound_on"]]
            self.lives.append(_life(number, slot, failed, row["reason"], day, row["row"], sound))
        else:
            self.left_out[row["row"]] += 1
        slot.age = 0.0 if day in self.clock else None
        slot.last, slot.seen, slot.entered, slot.known = day, 0.0, 0.0, True


def _in_order(rows, day):
    that_day = [row for row in rows if row["on"] == day]
    return sorted(
        that_day,
        key=lambda row: (
            row["slot"] is None,
            row["slot"] or 0,
            row["reason"] not in FAILURES,
            row["reason"],
            row["quantity"],
            row["row"],
        ),
    )


def _life(number, slot, failed, reason, day, row, since_sound=0.0):
    left = slot.entered + slot.seen
    sound = left - min(max(since_sound, 0.0), slot.seen)
    return (number, slot.entered, left, sound, failed, slot.known, reason, day, row)
