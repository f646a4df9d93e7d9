"""Sheet "Curves": cost and readiness against money and against mass, with their charts."""

from __future__ import annotations

from stockopt.report.run import Run
from stockopt.report.sheet import Chart, Column, Kind, Sheet, Table, plain_rows
from stockopt.report.words import gap_text, money_text
from stockopt.why.why import Against, Curve

#: Wide enough for the charts below the tables.
_WIDTH = 22.0
_KINDS: dict[Against, Kind] = {"budget": "money", "kg": "number", "share of kg": "share"}


def curve_sheets(run: Run) -> list[Sheet]:
    """Return the sheet of the curves, where they were asked for."""
    curves = run.why.curves
    if not curves:
        return []
    return [
        Sheet(
            name="Curves",
            title=f"What more money, and more {run.fleet.settings.measures.masses}, would buy",
            lead=(
                "The best plan found at each limit, everything else as in this plan. A plan found "
                "with less is kept where the solver finds none better with more, within its gap.",
            ),
            tables=tuple(
                table
                for number, curve in enumerate(curves)
                for table in (
                    _cost_table(curve, run, new_page=number > 0),
                    _readiness_table(curve, run),
                )
            ),
            portrait=True,
        )
    ]


def _cost_table(curve: Curve, run: Run, *, new_page: bool) -> Table:
    currency = run.plan.currency
    along = along_text(curve, run)
    money = ("Together", "Spend now", "Expected later", "No plan below")
    return Table(
        heading=f"Cost against {along}",
        lead=(_now_text(curve, run),),
        columns=(
            _along_column(curve, run),
            *(Column(title=f"{what}, {currency}", width=_WIDTH, kind="money") for what in money),
            Column(title="Proven within", width=_WIDTH),
        ),
        rows=plain_rows(
            (
                limit,
                point.total,
                point.spend_now,
                point.expected_later,
                point.bound,
                gap_text(point.gap),
            )
            for limit, point in zip(limits_shown(curve, run), curve.points, strict=True)
        ),
        new_page=new_page,
        chart=Chart(
            title=f"Cost against {along}",
            across=_along_column(curve, run).title,
            up=currency,
            kind="curve",
            labels=1,
            values=(2, 3),
        ),
    )


def _readiness_table(curve: Curve, run: Run) -> Table:
    measures = run.fleet.settings.measures
    along = along_text(curve, run)
    return Table(
        heading=f"Readiness against {along}",
        lead=(
            "Of the boat least ready. It need not rise with every step: what is made small is the "
            "cost, within the readiness asked.",
        ),
        columns=(
            _along_column(curve, run),
            Column(title="Readiness", width=_WIDTH, kind="share"),
            Column(title=f"Spares of all boats, {measures.mass}", width=_WIDTH, kind="number"),
        ),
        rows=plain_rows(
            (limit, point.readiness, measures.of_mass(point.kg))
            for limit, point in zip(limits_shown(curve, run), curve.points, strict=True)
        ),
        chart=Chart(
            title=f"Readiness against {along}",
            across=_along_column(curve, run).title,
            up="Readiness",
            kind="curve",
            labels=1,
            values=(2,),
        ),
    )


def along_text(curve: Curve, run: Run) -> str:
    """Return what stands along a curve, in words."""
    masses = run.fleet.settings.measures.masses
    return {
        "budget": "the budget of the fleet",
        "kg": f"the {masses} she may take",
        "share of kg": f"the {masses} that all boats may take",
    }[curve.against]


def along_title(curve: Curve, run: Run) -> str:
    """Return what stands along a curve, with its unit."""
    return {
        "budget": f"Budget, {run.plan.currency}",
        "kg": f"Her limit, {run.fleet.settings.measures.mass}",
        "share of kg": "Share of their limits",
    }[curve.against]


def _along_column(curve: Curve, run: Run) -> Column:
    return Column(title=along_title(curve, run), width=_WIDTH, kind=_KINDS[curve.against])


def limits_shown(curve: Curve, run: Run) -> list[float]:
    """Return the limits in the unit shown."""
    mass = run.fleet.settings.measures
    return [
        mass.of_mass(point.limit) if curve.against == "kg" else point.limit
        for point in curve.points
    ]


def _now_text(curve: Curve, run: Run) -> str:
    """Say where this plan stands on the curve, and from where on it is flat."""
    most = curve.points[-1].limit
    now = "none" if curve.now is None else _limit_text(curve, curve.now, run)
    return f"This plan's limit: {now}. Beyond {_limit_text(curve, most, run)} more buys nothing."


def _limit_text(curve: Curve, limit: float, run: Run) -> str:
    measures = run.fleet.settings.measures
    if curve.against == "budget":
        return money_text(limit, run.plan.currency)
    if curve.against == "kg":
        return f"{measures.of_mass(limit):,.1f} {measures.mass}"
    return f"{limit:.0%}"
