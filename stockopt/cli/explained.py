"""Errors of commands end in words and an exit code.

Exit codes are those of :mod:`stockopt.errors`, 70 for a bug in stockopt, 130 when interrupted.
"""

from __future__ import annotations

import traceback
from typing import Any

import click

from stockopt.errors import EXIT_INPUT, StockoptError
from stockopt.report.explain import MOST_PROBLEMS, explain, explain_bug, explain_file_error

EXIT_BUG = 70
EXIT_INTERRUPTED = 130

#: Keys of what a command leaves for the explanation: --debug, and check --all.
DEBUG = "stockopt.debug"
ALL = "stockopt.all"


class ExplainedGroup(click.Group):
    """Commands whose errors end in words and an exit code rather than in a traceback."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - click's own signature
        """Run the command and explain whatever it raises."""
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except StockoptError as error:
            most = None if ctx.meta.get(ALL) else MOST_PROBLEMS
            self._stop(ctx, explain(error, most), error.exit_code)
        except KeyboardInterrupt:
            self._stop(ctx, "\nStopped. No file was written.", EXIT_INTERRUPTED)
        except OSError as error:
            self._stop(ctx, explain_file_error(error), EXIT_INPUT)
        except Exception as error:
            self._stop(ctx, explain_bug(error), EXIT_BUG)

    @staticmethod
    def _stop(ctx: click.Context, text: str, code: int) -> None:
        if ctx.meta.get(DEBUG):
            traceback.print_exc()
        click.echo(text, err=True)
        ctx.exit(code)
