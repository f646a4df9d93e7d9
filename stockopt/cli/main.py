"""The group of all commands; each stands in its own file."""

from __future__ import annotations

import click

from stockopt import __version__
from stockopt.cli.check import check
from stockopt.cli.count import count
from stockopt.cli.differ import differ
from stockopt.cli.explained import ExplainedGroup
from stockopt.cli.landed import landed
from stockopt.cli.lives import lives
from stockopt.cli.lookback import lookback
from stockopt.cli.plan import plan
from stockopt.cli.receive import receive
from stockopt.cli.rehearse import rehearse
from stockopt.cli.start import start
from stockopt.cli.use import use


@click.group(
    cls=ExplainedGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="stockopt")
def main() -> None:
    """Plan the spares of a fleet of boats: what to carry, change and order, where and by when.

    stockopt learns from your replacement records how long each part really lasts, then finds the
    plan that costs least over the season or crossing, within the weight, room and money there is.

    FLEET is a folder of CSV files or one .xlsx workbook with sheets of the same names: boats,
    machines, readings, parts, fitted, replacements, legs, and more where you have them.

    \b
    Example:
      stockopt start my_fleet            empty tables to fill in
      stockopt check my_fleet            are the tables in order?
      stockopt lives my_fleet            how long do parts last?
      stockopt landed my_fleet           buy here, or by mail order?
      stockopt plan my_fleet             what goes aboard? writes reports/...
      stockopt rehearse my_fleet         does the plan meet its seasons?
      stockopt lookback my_fleet --from 2030-04-01   would it have met last season?
      stockopt differ a.json b.json      what changed between two plans, and why?
      stockopt use my_fleet ...          a part was changed: into the books
      stockopt receive my_fleet ...      pieces came
      stockopt count my_fleet ...        pieces were counted

    \b
    Exit codes:
      0  done
      1  the tables need mending, or a file cannot be read or written
      2  wrong command line
      3  no plan keeps all the limits
      4  the solver stopped without a plan
      70 a bug in stockopt
    """  # noqa: D301 - \b is click's mark for lines to keep


for command in (plan, check, lives, landed, rehearse, lookback, differ, start, use, receive, count):
    main.add_command(command)
