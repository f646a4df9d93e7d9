"""One part's survival as a picture.

The one module that needs matplotlib, an optional extra: load it only when a picture is asked for.
"""

from __future__ import annotations

import textwrap
import warnings
from pathlib import Path

import matplotlib as mpl
from matplotlib.figure import Figure

from stockopt.report.one_part import OnePart
from stockopt.report.words import brief, range_text, unit_text

#: Inches and dots an inch.
SIZE = (8.0, 5.0)
DOTS = 150
#: Letters of the title on one line.
TITLE_LETTERS = 72


def write_picture(part: OnePart, path: Path) -> None:
    """Write the survival curves of a part as SVG or PNG, by the ending of the path."""
    kind = path.suffix.lower().removeprefix(".")
    # Text stays text; the same part gives the same file; names are never read as formulas.
    settings = mpl.rc_context(
        {"svg.fonttype": "none", "svg.hashsalt": "stockopt", "text.parse_math": False}
    )
    with settings, warnings.catch_warnings():
        # A letter the font lacks is drawn as a box: no reason to fail or to warn.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        figure = Figure(figsize=SIZE, dpi=DOTS, layout="constrained")
        _draw(figure, part)
        metadata = {"Date": None} if kind == "svg" else {"Software": None}
        figure.savefig(path, format=kind, metadata=metadata)


def _draw(figure: Figure, part: OnePart) -> None:
    curves, ageing = part.curves, part.ageing
    unit = unit_text(ageing.clock)
    axes = figure.add_subplot()
    fitted = curves.fitted
    axes.fill_between(
        fitted.age, fitted.low, fitted.high, color="#c8d6e5", label="90 % band of the fit"
    )
    axes.plot(fitted.age, fitted.survival, color="#1b4f8a", linewidth=2, label="fitted")
    last = max(curves.unfailed.max(initial=0.0), curves.steps.age.max(initial=0.0))
    if last > 0:
        ages = [0.0, *curves.steps.age, last]
        levels = [1.0, *curves.steps.survival, curves.steps.at(last)]
        axes.step(ages, levels, where="post", color="black", label="from the lives alone")
        axes.plot(
            curves.unfailed,
            curves.steps.at(curves.unfailed),
            linestyle="none",
            marker="|",
            color="black",
            label="a piece that had not failed",
        )
    axes.set_xlim(0.0, float(fitted.age[-1]))
    axes.set_ylim(0.0, 1.02)
    axes.yaxis.set_major_formatter(lambda share, _: f"{100 * share:.0f} %")
    axes.xaxis.set_major_formatter(lambda age, _: f"{age:,.0f}")
    axes.set_xlabel(f"age, {unit}")
    axes.set_ylabel("share of pieces that last so long")
    spread = range_text(ageing.mean_life_low, ageing.mean_life_high)
    title = textwrap.fill(f"{ageing.part}  {part.name}", TITLE_LETTERS)
    axes.set_title(
        f"{title}\nmean life {brief(ageing.mean_life)} {unit} ({spread}, 9 times in 10)",
        loc="left",
    )
    axes.grid(color="#dddddd", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.legend(frameon=False, loc="upper right")
