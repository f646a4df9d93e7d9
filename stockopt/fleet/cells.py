"""From the text of a cell to its value: numbers, shares and dates as people write them."""

from __future__ import annotations

import math
import re
import unicodedata
from datetime import date, datetime, timedelta

import numpy as np

#: Numbers beyond this are typing errors, and whole numbers stay exact below it.
LARGEST = 1e15

FIRST_YEAR, LAST_YEAR = 1950, 2150

_PLAIN = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?")
_SPACED = re.compile(r"[+-]?\d{1,3}( \d{3})+([.,]\d+)?")
_COMMA = re.compile(r"[+-]?(\d+|\d{1,3}(\.\d{3})+),\d+")
_DOTTED = re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3})+")
_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})([T ]\d{1,2}:\d{2}.*)?")
_DAY_OR_MONTH_FIRST = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{2}|\d{4})")
#: Marks without a width, which make two names differ that look the same.
_UNSEEN = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060\ufeff]")
#: What XML, and so a workbook, cannot hold.
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
#: One number inside other text, with or without groups of three digits.
_INSIDE = re.compile(r"\d{1,3}(?:[ '\u2019]\d{3})+(?:[.,]\d+)?|\d[\d.,]*(?<=\d)")
_SPOILED = re.compile(r"#(REF!|N/A|NAME\?|VALUE!|DIV/0!|NULL!|NUM!)")


#: What may be done with a cell that cannot be read, where its column may be blank.
OR_BLANK = ", or leave the cell blank"


class CellError(ValueError):
    """The text cannot be the value; the message says what would be right."""


def clean_text(text: str) -> str:
    """Return `text` stripped, its inner blanks folded, accents in one form, unseen marks gone.

    Examples
    --------
    >>> clean_text("  shaft   seal ")
    'shaft seal'
    """
    text = unicodedata.normalize("NFC", " ".join(_UNSEEN.sub("", text).split()))
    if _NO_TEXT.search(text):
        raise CellError("holds a character that is not text: type the cell again")
    if _SPOILED.fullmatch(text):
        raise CellError("is the error of a formula: mend the formula")
    return text


def parse_number(text: str, *, decimal_comma: bool = False) -> float:
    """Return the number that `text` writes.

    Parameters
    ----------
    text
        A number with a decimal point; blanks may part groups of three digits.
    decimal_comma
        Accept 1.234,50 too. A lone group such as 1.234 is then refused: it may be either.

    Raises
    ------
    CellError
        If it is no number, may be read in two ways, or is beyond 1e15.

    Examples
    --------
    >>> parse_number("1.234,50", decimal_comma=True)
    1234.5
    """
    if _SPACED.fullmatch(text):
        text = text.replace(" ", "")
    if decimal_comma:
        text = _without_comma(text)
    if not _PLAIN.fullmatch(text):
        raise CellError(_what_number_is_right(text, decimal_comma=decimal_comma))
    value = float(text)
    if not abs(value) < LARGEST:
        raise CellError("is too large")
    return value


def _without_comma(text: str) -> str:
    """Return `text` with a decimal point and without groups, from a file with decimal commas."""
    if _COMMA.fullmatch(text):
        return text.replace(".", "").replace(",", ".")
    if _DOTTED.fullmatch(text):
        whole = text.replace(".", "")
        if text.count(".") == 1:
            raise CellError(f"may be {whole} or {text.replace('.', ',')}: write one of these")
        return whole
    return text


def _what_number_is_right(text: str, *, decimal_comma: bool) -> str:
    """Return what to write instead of `text`, which is no number."""
    if not decimal_comma and re.fullmatch(r"[+-]?\d+,\d+", text):
        return (
            f"is not a number: write {text.replace(',', '.')} with a decimal point, "
            f"or {text.replace(',', '')} without a comma"
        )
    if not decimal_comma and re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", text):
        return f"is not a number: write {text.replace(',', '')} without a comma"
    inside = list(_INSIDE.finditer(text))
    if len(inside) == 1 and not text[: inside[0].start()].endswith(("+", "-")):
        meant = _numbers_meant(inside[0].group(), decimal_comma=decimal_comma)
        alone = "" if inside[0].group() == text else " alone, without unit or symbol"
        return f"is not a number: write {' or '.join(meant)}{alone}"
    return f"is not a number: write digits alone{OR_BLANK}"


def _numbers_meant(text: str, *, decimal_comma: bool) -> list[str]:
    """Return the numbers that digits with points, commas and blanks may stand for.

    Examples
    --------
    >>> [_numbers_meant(text, decimal_comma=False) for text in ("1.024,50", "3.000")]
    [['1024.50'], ['3000', '3.000']]
    """
    text = re.sub("[ '\u2019]", "", text)
    marks = re.sub(r"\d", "", text)
    point = "," if decimal_comma else "."
    if len(set(marks)) == 2:
        whole, _, rest = text.rpartition(marks[-1])
        return [re.sub(r"[.,]", "", whole) + point + rest]
    if len(marks) > 1:
        return [re.sub(r"[.,]", "", text)]
    if re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", text):
        return [re.sub(r"[.,]", "", text), re.sub(r"[.,]", point, text)]
    return [re.sub(r"[.,]", point, text)]


def parse_share(text: str, *, decimal_comma: bool = False) -> float:
    """Return the share that `text` writes, as 0.05 or as 5%.

    Raises
    ------
    CellError
        If it is neither, or greater than 1: a bare 5 may mean 5 % or five times.

    Examples
    --------
    >>> parse_share("5 %")
    0.05
    """
    percent = text.endswith("%")
    if percent and not decimal_comma and re.fullmatch(r"\d+,\d+ ?%", text):
        raise CellError(f"is not a share: write {text.replace(',', '.')} with a decimal point")
    number = parse_number(text.removesuffix("%").rstrip(), decimal_comma=decimal_comma)
    if percent:
        number = float(f"{number / 100.0:.15g}")
    if number > 1.0:
        meant = number if not percent and number <= 100.0 else 5.0
        raise CellError(f"is not a share: write {meant / 100.0:g} or {meant:g}%")
    return number


def parse_date(text: str, *, serial_epoch: datetime | None = None) -> np.datetime64:
    """Return the day that `text` writes.

    Parameters
    ----------
    text
        Year first: 2031-04-01, 2031/4/1; a time of day after it is dropped.
    serial_epoch
        Day 0 of a workbook's serial numbers, which are then accepted.

    Raises
    ------
    CellError
        If it is no day, or one whose month and day may be exchanged.

    Examples
    --------
    >>> parse_date("2031-04-01 08:30")
    np.datetime64('2031-04-01')
    """
    found = _ISO.fullmatch(text)
    if found is None and serial_epoch is not None and _PLAIN.fullmatch(text):
        return np.datetime64(_in_range(_serial_day(float(text), serial_epoch)))
    if found is None:
        raise CellError(_what_date_is_right(text))
    try:
        day = date(int(found[1]), int(found[3]), int(found[4]))
    except ValueError:
        raise CellError("is not a day of the calendar: write it as 2031-04-01") from None
    return np.datetime64(_in_range(day))


def _serial_day(serial: float, epoch: datetime) -> date:
    if not 0.0 < serial < 1e6:
        raise CellError("is not a date: write it as 2031-04-01")
    return (epoch + timedelta(days=math.floor(serial))).date()


def _in_range(day: date) -> date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise CellError(f"is not between the years {FIRST_YEAR} and {LAST_YEAR}")
    return day


def _what_date_is_right(text: str) -> str:
    """Return what to write instead of `text`, which is no date with the year first."""
    found = _DAY_OR_MONTH_FIRST.fullmatch(text)
    if found is None:
        return "is not a date: write year, month and day as 2031-04-01"
    year = int(found[3]) + (2000 if len(found[3]) == 2 else 0)
    meant = []
    for month, day in ((found[2], found[1]), (found[1], found[2])):
        try:
            meant.append(date(year, int(month), int(day)).isoformat())
        except ValueError:
            continue
    meant = sorted(set(meant), reverse=True)
    if len(meant) == 2:
        return f"may be two days: write {meant[0]} or {meant[1]}"
    if meant:
        return f"is not written year first: write {meant[0]}"
    return "is not a date: write year, month and day as 2031-04-01"
