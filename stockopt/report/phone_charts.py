"""Charts of the page for a phone, as inline SVG: curves, or what the money buys each boat."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from stockopt.report.bare import find_bare_readiness
from stockopt.report.curve_sheets import along_text, along_title, limits_shown
from stockopt.report.run import Run
from stockopt.report.words import brief, share_text
from stockopt.why.why import Curve

#: Size of a chart, and of what is free around its axes, in units of its own.
WIDTH, HEIGHT = 360.0, 210.0
LEFT, RIGHT, TOP, BOTTOM = 50.0, 12.0, 12.0, 38.0
#: Steps along an axis, about.
STEPS = 4
#: Dashes of each line, so that they stay apart without colours.
DASHES = ("", ' stroke-dasharray="7 4"')
#: So many boats have bars; of a bar, its height and the row that it stands in.
MOST_BOATS, BAR, ROW = 20, 9.0, 44.0

Write = Callable[[float], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Axes:
    """What stands along and up a chart: its ends, its title, and how its numbers are written."""

    low: float
    high: float
    least: float
    most: float
    along: str
    write_x: Write
    write_y: Write

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point is drawn."""
        across = (x - self.low) / (self.high - self.low or 1.0)
        up = (y - self.least) / (self.most - self.least or 1.0)
        return (
            LEFT + across * (WIDTH - LEFT - RIGHT),
            HEIGHT - BOTTOM - up * (HEIGHT - TOP - BOTTOM),
        )


def draw_charts(run: Run) -> Iterator[str]:
    """Yield the curves where they were asked for, else bars of what the money buys each boat."""
    if not run.why.curves:
        yield from _bars(run)
        return
    for curve in run.why.curves:
        over = [float(value) for value in limits_shown(curve, run)]
        along = along_title(curve, run)
        what, money = along_text(curve, run), run.plan.currency
        lines = [
            ("together", [point.total for point in curve.points]),
            ("spend now", [point.spend_now for point in curve.points]),
        ]
        ready = [("readiness", [point.readiness for point in curve.points])]
        write_x = _percent if curve.against == "share of kg" else brief
        now = _now(curve, run)
        top = max(values for _, points in lines for values in points)
        cost = _axes(over, (0.0, top), along, (write_x, brief))
        least = math.floor(10.0 * min(ready[0][1])) / 10.0
        chance = _axes(over, (least, 1.0), along, (write_x, _percent))
        yield _figure(f"Cost in {money} against {what}", cost, over, lines, now)
        yield _figure(f"Readiness against {what}", chance, over, ready, now)


def _now(curve: Curve, run: Run) -> float | None:
    measures = run.fleet.settings.measures
    if curve.now is None or curve.against != "kg":
        return curve.now
    return measures.of_mass(curve.now)


def _percent(value: float) -> str:
    return f"{100.0 * value:.0f} %"


def _axes(
    over: Sequence[float], ends: tuple[float, float], along: str, write: tuple[Write, Write]
) -> _Axes:
    return _Axes(
        low=min(over),
        high=max(over),
        least=ends[0],
        most=ends[1],
        along=along,
        write_x=write[0],
        write_y=write[1],
    )


def list_ticks(low: float, high: float) -> list[float]:
    """Return round numbers from one end to the other: steps of 1, 2 or 5 and noughts.

    Examples
    --------
    >>> list_ticks(0.0, 42.0), list_ticks(0.8, 1.0)
    ([0.0, 10.0, 20.0, 30.0, 40.0], [0.8, 0.85, 0.9, 0.95, 1.0])
    >>> list_ticks(3.0, 3.0)
    [3.0]
    """
    if high <= low:
        return [low]
    wanted = (high - low) / STEPS
    power = 10.0 ** math.floor(math.log10(wanted))
    step = min((1.0, 2.0, 5.0, 10.0), key=lambda times: abs(times * power - wanted)) * power
    first, last = math.ceil(round(low / step, 6)), math.floor(round(high / step, 6))
    return [round(number * step, 10) for number in range(first, last + 1)]


def _figure(
    title: str,
    axes: _Axes,
    over: Sequence[float],
    lines: Sequence[tuple[str, list[float]]],
    now: float | None,
) -> str:
    drawn = [*_grid(axes)]
    if now is not None and axes.low <= now <= axes.high:
        x, y = axes.at(now, axes.most)
        drawn.append(
            f'<path d="M{x:.1f} {y:.1f}V{HEIGHT - BOTTOM:.1f}" stroke-dasharray="1 3"/>'
            f'<text x="{x - 3:.1f}" y="{y + 9:.1f}" text-anchor="end">this plan</text>'
        )
    for (_, values), dash in zip(lines, DASHES, strict=False):
        points = [axes.at(x, y) for x, y in zip(over, values, strict=True)]
        path = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        drawn.append(f'<path d="M{path}" stroke-width="2"{dash}/>')
        drawn += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.5"/>' for x, y in points]
    names = " · ".join(f"{mark} {name}" for (name, _), mark in zip(lines, "—┄", strict=False))
    return (
        f'<figure><h3>{escape(title)}</h3><svg viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" role="img" '
        f'aria-label="{escape(title)}">{"".join(drawn)}</svg>'
        f'<figcaption class="soft">{escape(names)}</figcaption></figure>\n'
    )


def _grid(axes: _Axes) -> Iterator[str]:
    for value in list_ticks(axes.least, axes.most):
        x, y = axes.at(axes.low, value)
        yield f'<path class="grid" d="M{x:.1f} {y:.1f}H{WIDTH - RIGHT:.1f}"/>'
        told = escape(axes.write_y(value))
        yield f'<text x="{x - 5:.1f}" y="{y + 4:.1f}" text-anchor="end">{told}</text>'
    for value in list_ticks(axes.low, axes.high):
        x, y = axes.at(value, axes.least)
        told = escape(axes.write_x(value))
        yield f'<text x="{x:.1f}" y="{y + 14:.1f}" text-anchor="middle">{told}</text>'
    middle = (LEFT + WIDTH - RIGHT) / 2.0
    yield (
        f'<text x="{middle:.1f}" y="{HEIGHT - 8:.1f}" text-anchor="middle">'
        f"{escape(axes.along)}</text>"
    )


def _bars(run: Run) -> Iterator[str]:
    """Yield each boat's chance of being stopped, with no spares and with this plan."""
    boats = run.plan.boats[:MOST_BOATS]
    if not boats:
        return
    bare = find_bare_readiness(run.demand)
    drawn = []
    for number, boat in enumerate(boats):
        before, after = 1.0 - bare.get(boat.boat, 1.0), 1.0 - boat.readiness
        top = ROW * number
        spend = f"{boat.boat}, {boat.spend_now:,.0f} {run.plan.currency}"
        drawn.append(f'<text x="0" y="{top + 12:.0f}">{escape(spend)}</text>')
        for share, down, kind in ((before, 17.0, ' class="pale"'), (after, 29.0, "")):
            width = max(share * (WIDTH - LEFT - RIGHT), 1.0)
            drawn.append(
                f'<rect x="0" y="{top + down:.0f}" width="{width:.1f}" height="{BAR:.0f}"{kind}/>'
                f'<text x="{width + 5:.1f}" y="{top + down + BAR:.0f}">'
                f"{escape(share_text(share))}</text>"
            )
    more = len(run.plan.boats) - len(boats)
    rest = f" The first {len(boats)} of {len(run.plan.boats)} boats." if more else ""
    title = "Chance of being stopped for want of a part"
    yield (
        f'<figure><h3>{title}</h3><svg viewBox="0 0 {WIDTH:.0f} {ROW * len(boats):.0f}" '
        f'role="img" aria-label="{title}">{"".join(drawn)}</svg><figcaption class="soft">Above, '
        f"pale: with nothing aboard. Below: with this plan, for the money beside her name.{rest}"
        "</figcaption></figure>\n"
    )
