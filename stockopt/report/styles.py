"""The named styles of the workbook: one for each kind of cell and look of row.

Everything stays readable in black and white: weight, lines and words carry the meaning, grey only
helps the eye.
"""

from __future__ import annotations

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side

from stockopt.report.sheet import Kind, Look

FONT = "Arial"
#: The bracket is never shown: its width keeps numbers off the line at their right.
FORMATS: dict[Kind, str] = {
    "whole": "#,##0_)",
    "number": "#,##0.00_)",
    "rate": "#,##0.000_)",
    "money": "#,##0.00_)",
    "share": "0.0%_)",
    "date": "yyyy-mm-dd",
}
#: Kinds of text, which stand at the left; numbers stand at the right.
TEXT_KINDS: frozenset[Kind] = frozenset({"text", "prose", "blank"})

TITLE = "stockopt title"
LEAD = "stockopt lead"
HEADING = "stockopt heading"
HEADER = "stockopt header"

_THIN = Side(style="thin", color="999999")
_STRONG = Side(style="medium", color="000000")
_GRID = Border(left=_THIN, right=_THIN, top=_THIN, bottom=_THIN)
_SUM = Border(left=_THIN, right=_THIN, top=_STRONG, bottom=_THIN)
_HEADER_LINES = Border(left=_THIN, right=_THIN, top=_STRONG, bottom=_STRONG)
_GREY = PatternFill("solid", fgColor="E4E4E4")
_PALE = PatternFill("solid", fgColor="F4F4F4")


class Styles:
    """The named styles of one workbook, each added when it is first used.

    Parameters
    ----------
    book
        The workbook.
    currency
        Code that sums of money carry.
    """

    def __init__(self, book: Workbook, currency: str) -> None:
        self._book = book
        self._money = '#,##0.00 "' + currency.replace('"', "") + '"_)'
        self._known: set[str] = set()
        _set_normal_font(book)
        for style in _fixed_styles():
            book.add_named_style(style)

    def of(self, kind: Kind, look: Look) -> str:
        """Return the name of the style of one kind of cell in one look of row."""
        name = f"stockopt {look} {kind}"
        if name not in self._known:
            self._known.add(name)
            sums = kind == "money" and look != "plain"
            self._book.add_named_style(
                NamedStyle(
                    name,
                    font=Font(name=FONT, size=10, bold=look != "plain"),
                    alignment=_alignment(kind, look),
                    border=_SUM if look in ("subtotal", "total") else _GRID,
                    fill={"plain": PatternFill(), "subtotal": _PALE}.get(look, _GREY),
                    number_format=self._money if sums else FORMATS.get(kind, "General"),
                )
            )
        return name


def _set_normal_font(book: Workbook) -> None:
    """Make the report's font the workbook's normal one.

    Widths of columns count characters of the normal font; openpyxl's own choice is not to be had
    everywhere, and what is put in its place may be a third wider. There is no public way to it.
    """
    normal = book._named_styles["Normal"]  # type: ignore[attr-defined]
    normal.font = Font(name=FONT, size=10)
    normal.bind(book)


def _fixed_styles() -> list[NamedStyle]:
    """Return the styles of everything outside the rows of tables."""
    left = Alignment(horizontal="left", vertical="top", wrap_text=True)
    middle = Alignment(horizontal="center", vertical="center", wrap_text=True)
    return [
        NamedStyle(TITLE, font=Font(name=FONT, size=15, bold=True), alignment=left),
        NamedStyle(LEAD, font=Font(name=FONT, size=10), alignment=left),
        NamedStyle(HEADING, font=Font(name=FONT, size=12, bold=True), alignment=left),
        NamedStyle(
            HEADER,
            font=Font(name=FONT, size=10, bold=True),
            alignment=middle,
            border=_HEADER_LINES,
            fill=_GREY,
        ),
    ]


def _alignment(kind: Kind, look: Look) -> Alignment:
    if kind == "date" or (kind == "tick" and look == "plain"):
        return Alignment(horizontal="center", vertical="center")
    if kind in TEXT_KINDS or look == "group":
        return Alignment(horizontal="left", vertical="center", wrap_text=kind == "prose", indent=1)
    return Alignment(horizontal="right", vertical="center")
