"""What a command prints, as text."""

import io

from rich.console import Console


def printed(show, *args, encoding="utf-8"):
    """Return what `show` prints when piped, 80 columns wide."""
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="replace")
    show(Console(file=stream, highlight=False, markup=False, emoji=False, width=80), *args)
    stream.flush()
    return stream.buffer.getvalue().decode(encoding)


def check_width(text):
    """Assert that a text fits 80 columns and has no colour."""
    assert max(len(line.rstrip()) for line in text.splitlines()) <= 80
    assert "\x1b" not in text
