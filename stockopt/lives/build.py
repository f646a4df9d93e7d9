"""From records to lives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Set

from stockopt.errors import Note
from stockopt.fleet.fleet import Fleet
from stockopt.lives.doubts import note_assumed, note_first_ages, note_left_out
from stockopt.lives.histories import follow_histories
from stockopt.lives.lives import Lives
from stockopt.lives.machines import Machines, day_number, iso, list_machines
from stockopt.lives.meters import read_clock
from stockopt.lives.positions import list_positions
from stockopt.lives.records import Records, sort_records
from stockopt.lives.tables import left_out_table, lives_table, positions_table
from stockopt.lives.watches import Watched, note_hours, watch_calendar, watch_hours


def build_lives(fleet: Fleet) -> Lives:
    """Cut each position's clock into lives.

    Each machine's running hours are a function of the date (:mod:`stockopt.lives.meters`), its
    days the calendar. A machine is watched from the later of the day it was fitted and the day
    its boat joined, else from its first record, to the earliest of the day of the plan, the day
    its boat left and the day another machine took its place; by hours only while they are known.
    The replacements of a part cut that stretch, in each of its slots, into lives. Where no slot
    is given, :mod:`stockopt.lives.slots` says which pieces are taken to have been changed. A piece
    found worn or dead may say when it was last seen sound (`sound_on`): it failed in between.

    Parameters
    ----------
    fleet
        The tables; they are not altered.

    Returns
    -------
    Lives
        For every position the lives add up to its clock's gain over the stretch watched, and
        every piece replaced ends a life or is in `left_out`.
    """
    planned_on = day_number(fleet.settings.planned_on)
    machines, notes = list_machines(fleet, planned_on)
    fitted = list_positions(fleet, machines)
    records, more = sort_records(fleet, machines, planned_on)
    notes += more
    by_hours = {index for (index, _), part in fitted.items() if part.clock == "hours"}
    watched, more = _watch_all(machines, records, by_hours, planned_on)
    notes += more
    notes += note_first_ages(machines, fitted, watched)
    histories, left_out_rows = follow_histories(fitted, watched, records.replacements)

    lives = lives_table(machines, fitted, histories)
    left_out = left_out_table([*records.astray, *left_out_rows])
    slots_assumed: Counter[str] = Counter()
    for (_, part), history in histories.items():
        slots_assumed[part] += history.slots_assumed
    notes += note_left_out(left_out, iso(planned_on))
    notes += note_assumed(slots_assumed, lives)
    return Lives(
        lives=lives,
        positions=positions_table(machines, fitted, histories, watched, planned_on),
        notes=tuple(sorted(notes, key=_place_of)),
        left_out=left_out,
    )


def _watch_all(
    machines: Machines, records: Records, by_hours: Set[int], planned_on: int
) -> tuple[dict[tuple[int, str], Watched], list[Note]]:
    """Watch every machine on both clocks; notes on the hours of those in `by_hours`."""
    watched: dict[tuple[int, str], Watched] = {}
    notes: list[Note] = []
    first_days = [records.first_day(index) for index in range(len(machines.all))]
    begins: dict[str, int] = {}
    for machine, first_record in zip(machines.all, first_days, strict=True):
        day = planned_on if first_record is None else first_record
        begins[machine.boat] = min(day, begins.get(machine.boat, day))
    for index, (machine, first_record) in enumerate(zip(machines.all, first_days, strict=True)):
        boat_begins = begins[machine.boat]
        clock, misread = read_clock(machine, records.sightings[index])
        hours = watch_hours(machine, clock, first_record, boat_begins, planned_on)
        watched[index, "hours"] = hours
        watched[index, "days"] = watch_calendar(machine, first_record, boat_begins, planned_on)
        notes += misread
        if index in by_hours:
            notes += note_hours(machine, hours, first_record, planned_on)
    return watched, notes


def _place_of(note: Note) -> tuple[str, int, str, str]:
    return note.table, note.row or 0, note.column, note.text
