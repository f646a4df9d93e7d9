"""What each column of each table is: the one list that checks, messages and README come from."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from types import MappingProxyType

from stockopt.fleet.columns import Column, ColumnKind, OtherUnit, Table
from stockopt.units import CONSEQUENCES, KG_PER_POUND, LITRES_PER_GALLON

__all__ = ["HELP_SHEET", "RATE", "SETTINGS", "TABLES", "Column", "ColumnKind", "Table"]

#: Sheet of help in a workbook that was made to be filled in; it is not read.
HELP_SHEET = "how_to_fill_in"

_text = partial(Column, kind="text")
_boat = partial(Column, kind="text", holds="boat")
_machine = partial(Column, kind="text", holds="machine")
_model = partial(Column, kind="text", holds="model")
_part = partial(Column, kind="text", holds="part")
_port = partial(Column, kind="text", holds="port")
_store = partial(Column, kind="text", holds="store")
_place = partial(Column, kind="text", holds="place")
_source = partial(Column, kind="text", holds="source")
_family = partial(Column, kind="text", holds="family")
_currency = partial(Column, kind="text", holds="currency")
_date = partial(Column, kind="date")
_number = partial(Column, kind="number", least=0.0)
_money = _number
_pieces = partial(Column, kind="whole", least=0.0)
_share = partial(Column, kind="share", least=0.0, most=1.0)

TABLES: Mapping[str, Table] = MappingProxyType(
    {
        table.name: table
        for table in (
            Table(
                name="boats",
                help="The boats of the fleet, one row each.",
                key=("boat",),
                required=True,
                columns=(
                    _boat("boat", "name of the boat, once in the fleet", required=True),
                    _port("home_port", "port she is fitted out in; orders for her go there"),
                    _store("store", "shared stock ashore that serves her; blank = none"),
                    _number(
                        "spares_kg",
                        "most mass of spares aboard, kg; blank = no limit",
                        other=OtherUnit(name="spares_lb", factor=KG_PER_POUND),
                    ),
                    _number(
                        "spares_litres",
                        "most room for spares aboard, L; blank = no limit",
                        other=OtherUnit(name="spares_gallons", factor=LITRES_PER_GALLON),
                    ),
                    _money("budget", "most to spend on her spares now; blank = no limit"),
                    _money("day_cost", "what one lost day costs", default=0.0),
                    _date(
                        "joined_on",
                        "day her records begin; blank = each machine's fitting or first record",
                    ),
                    _date("left_on", "day she left the fleet; blank = still in it"),
                ),
            ),
            Table(
                name="machines",
                help="What parts are fitted to: engines, watermaker, ground tackle. A machine "
                "replaced whole gets a second row with its own fitted_on.",
                key=("boat", "machine", "fitted_on"),
                required=True,
                columns=(
                    _boat("boat", "boat it is in", required=True),
                    _machine(
                        "machine", "its name on that boat, such as port engine", required=True
                    ),
                    _model("model", "model; parts are fitted to models", required=True),
                    _date("fitted_on", "day it was fitted; blank = before the records"),
                    _number(
                        "hours_at_fitting",
                        "its running hours when fitted, 0 if new; blank = unknown history "
                        "before the first record",
                    ),
                ),
            ),
            Table(
                name="readings",
                help="Hour-meter readings.",
                required=True,
                columns=(
                    _boat("boat", "boat", required=True),
                    _machine("machine", "machine", required=True),
                    _date("read_on", "day of the reading", required=True),
                    _number("hours", "what the meter showed, h", required=True),
                    _number(
                        "new_meter_hours",
                        "first reading of the new meter, h, when it was changed that day",
                    ),
                ),
            ),
            Table(
                name="parts",
                help="One row for each part number.",
                key=("part",),
                required=True,
                columns=(
                    _part("part", "part number", required=True),
                    _text("name", "what it is, noun first", required=True),
                    _family("family", "parts expected to age alike"),
                    _text("clock", "what it ages by", choices=("hours", "days"), default="hours"),
                    _text(
                        "wear",
                        "wears with age, or fails at random; blank = not known",
                        choices=("wears", "random"),
                    ),
                    _number("expected_life", "mean life you expect, on its clock", above=0.0),
                    _number(
                        "replace_every",
                        "changed at this age whatever its state, on its clock",
                        above=0.0,
                    ),
                    _money("price", "usual price at home, for one piece"),
                    _number(
                        "kg",
                        "mass of one piece packed, kg",
                        default=0.0,
                        other=OtherUnit(name="lb", factor=KG_PER_POUND),
                    ),
                    _number(
                        "litres",
                        "room one piece packed takes, L",
                        default=0.0,
                        other=OtherUnit(name="gallons", factor=LITRES_PER_GALLON),
                    ),
                    _text(
                        "consequence",
                        "what its failure does to the boat",
                        choices=CONSEQUENCES,
                        default="limits",
                    ),
                    _number("days_to_fix", "days lost to a failure with the spare aboard"),
                    _money(
                        "failure_cost",
                        "money one failure costs even with the spare aboard",
                        default=0.0,
                    ),
                    _money("fitting_cost", "labour to change one in port", default=0.0),
                    _pieces(
                        "carry_at_least",
                        "never carry fewer on a boat it is fitted to (rules, safety)",
                        default=0,
                    ),
                    _number("shelf_life_days", "days a spare keeps; blank = for ever", above=0.0),
                    _part("replaced_by", "current number, if this one is superseded"),
                ),
            ),
            Table(
                name="fitted",
                help="Which parts are fitted to which model. Of two lines for the same "
                "part and machine the one that names more of boat and machine holds.",
                key=("model", "part", "boat", "machine"),
                required=True,
                columns=(
                    _model("model", "model of machine", required=True),
                    _part("part", "part number", required=True),
                    _pieces("quantity", "pieces fitted to one machine", default=1, least=1.0),
                    _boat("boat", "only on this boat; blank = every boat"),
                    _machine("machine", "only on this machine; blank = every machine of the model"),
                    _text(
                        "consequence",
                        "overrides the part's consequence here",
                        choices=CONSEQUENCES,
                    ),
                ),
            ),
            Table(
                name="replacements",
                help="Every piece that was changed, and why.",
                required=True,
                columns=(
                    _date("on", "day it was changed", required=True),
                    _boat("boat", "boat", required=True),
                    _machine("machine", "machine", required=True),
                    _part("part", "part number", required=True),
                    _pieces("quantity", "pieces changed", default=1, least=1.0),
                    _number("hours", "meter at the change, h; blank = from the readings"),
                    _text(
                        "reason",
                        "why it came off",
                        choices=("failed", "worn", "scheduled", "swapped", "borrowed", "unknown"),
                        default="unknown",
                    ),
                    _date(
                        "sound_on",
                        "day it was last seen sound, of a piece found worn or dead; blank = it "
                        "failed on the day it was changed",
                    ),
                    _pieces(
                        "slot",
                        "which of the pieces fitted, 1, 2 ...; blank = assumed",
                        least=1.0,
                    ),
                    _text(
                        "taken_off",
                        "stock the new piece was already taken off, as stockopt use writes; "
                        "blank = none yet",
                        choices=("boat", "store", "none"),
                    ),
                    _text("note", "anything worth keeping"),
                ),
            ),
            Table(
                name="used_with",
                help="Pieces used up whenever another part is changed (gasket with impeller).",
                key=("part", "with_part"),
                columns=(
                    _part("part", "part used up", required=True),
                    _part("with_part", "part whose change uses it", required=True),
                    _pieces("quantity", "pieces per change", default=1, least=1.0),
                ),
            ),
            Table(
                name="kits",
                help="One number sold as a set of parts.",
                key=("kit", "part"),
                columns=(
                    _part("kit", "number of the set", required=True),
                    _part("part", "part inside", required=True),
                    _pieces("quantity", "pieces inside", default=1, least=1.0),
                ),
            ),
            Table(
                name="aliases",
                help="Other numbers and spellings of a part.",
                key=("other",),
                columns=(
                    _part("other", "number or spelling met in the records", required=True),
                    _part("part", "part number it stands for", required=True),
                ),
            ),
            Table(
                name="sources",
                help="Who sells, and how it reaches a port; one row for each port served.",
                key=("source", "delivers_to"),
                columns=(
                    _source("source", "name of the seller", required=True),
                    _text(
                        "kind",
                        "a shop in that port, or an order sent to it",
                        choices=("local", "mail"),
                        required=True,
                    ),
                    _port("delivers_to", "port", required=True),
                    _number(
                        "lead_days", "days from order to hand; mail must say them", default=0.0
                    ),
                    _number("late_days", "days that 1 order in 10 exceeds; blank = lead_days"),
                    _money("per_order", "freight or delivery once per order", default=0.0),
                    _money(
                        "per_kg",
                        "freight per kg",
                        default=0.0,
                        other=OtherUnit(name="per_lb", factor=1.0 / KG_PER_POUND),
                    ),
                    _share("duty", "duty, such as 0.05 or 5%", default=0.0),
                    _share("tax", "import or sales tax to pay, such as 5%", default=0.0),
                    _money("handling", "agent or broker once per order", default=0.0),
                    _text(
                        "duty_on",
                        "duty is on the price alone, or on price and freight",
                        choices=("landed", "price"),
                        default="landed",
                    ),
                    _money("free_freight_from", "order value from which per_order is free"),
                    _money("minimum_order", "least value of an order"),
                    _currency("currency", "ISO 4217 code; blank = the plan's currency"),
                ),
            ),
            Table(
                name="prices",
                help="What each source asks for each part.",
                key=("source", "part", "pack"),
                columns=(
                    _source("source", "name of the seller", required=True),
                    _part("part", "part number", required=True),
                    _money("price", "price of one pack, in the source's currency", required=True),
                    _pieces("pack", "pieces in a pack", default=1, least=1.0),
                    _pieces("most", "packs the source has; blank = any number"),
                ),
            ),
            Table(
                name="legs",
                help="The plan of each boat: passages or charters still to come.",
                key=("boat", "departs_on"),
                required=True,
                columns=(
                    _boat("boat", "boat", required=True),
                    _date("departs_on", "day she leaves", required=True),
                    _number("days", "length, days", required=True, above=0.0),
                    _port("to_port", "port where it ends", required=True),
                    _number("hours", "hours on each hour-metered machine", default=0.0),
                    _pieces("times", "repeats, back to back", default=1, least=1.0),
                    _number(
                        "chase_days",
                        "days in which the store can reach her; blank = out of reach",
                    ),
                ),
            ),
            Table(
                name="leg_hours",
                help="Hours of one machine on one leg, where they differ from the leg's.",
                key=("boat", "departs_on", "machine"),
                columns=(
                    _boat("boat", "boat", required=True),
                    _date("departs_on", "day the leg departs", required=True),
                    _machine("machine", "machine", required=True),
                    _number("hours", "its hours on that leg", required=True),
                ),
            ),
            Table(
                name="ports",
                help="Ports on the way.",
                key=("port",),
                columns=(
                    _port("port", "name of the port", required=True),
                    _number(
                        "price_factor",
                        "times the cheapest quoted price, for parts nobody quotes there; "
                        "blank = not to be had there",
                        above=0.0,
                    ),
                    _number("wait_days", "days to wait there for a part", default=0.0),
                ),
            ),
            Table(
                name="stock",
                help="Spares in hand, aboard or in a store.",
                columns=(
                    _place("place", "boat or store", required=True),
                    _part("part", "part number", required=True),
                    _pieces("on_hand", "pieces there", default=0),
                    _pieces("on_order", "pieces on the way", default=0),
                    _date("due_on", "day they arrive"),
                    _date("expires_on", "last day to fit them"),
                    _text("locker", "where they lie"),
                    _date("counted_on", "day of the count"),
                    _date(
                        "received_on",
                        "day they came, as stockopt receive writes: changes before it leave them",
                    ),
                    _pieces("received", "pieces that came that day", default=0),
                ),
            ),
        )
    }
)

#: The settings, as the columns of a table of one row; what holds where one is not given stands in
#: :class:`stockopt.settings.Settings`.
SETTINGS = Table(
    name="settings",
    help="What is asked once for the whole plan: settings.toml in a folder, or a sheet with the "
    "columns setting and value.",
    columns=(
        _date("planned_on", "day the plan is made for; blank = today"),
        _currency("currency", "ISO 4217 code of the plan's money"),
        _text("mass_unit", "unit in which masses are shown", choices=("kg", "lb")),
        _text("volume_unit", "unit in which room is shown", choices=("litres", "gallons")),
        _text("paper", "what the workbook is printed on", choices=("a4", "letter")),
        _money("budget", "most to spend now, over all boats and stores; blank = no limit"),
        _share(
            "readiness",
            "least chance, per boat, of meeting no shortage of any part that stops her, such as "
            "95%; blank = no limit",
            above=0.0,
            below=1.0,
        ),
        _share("carry_over", "share of its price an unused spare is worth at the end", below=1.0),
        _share("share_stops", "share of the day cost lost while a part that stops is missing"),
        _share("share_limits", "the same for a part that limits"),
        _share("share_nuisance", "the same for a nuisance"),
        _number(
            "days_to_fix", "days lost to a failure with the spare aboard, for parts silent on it"
        ),
        _share("capital_rate", "yearly cost of money tied up in stock, as a share"),
        _share("gap", "distance from the best plan at which the solver may stop", below=1.0),
        _number("seconds", "longest time the solver may take, s", above=0.0),
    ),
)

#: An exchange rate: a line ``USD = 0.92`` under ``[rates]``, or a row ``rates.USD`` of the sheet.
RATE = Column(
    "rates.XXX",
    "worth of one XXX in the plan's currency, for every currency XXX a source asks",
    kind="number",
    above=0.0,
)
