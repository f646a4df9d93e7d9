"""CSV files written again: what was not asked to change stays byte for byte."""

import csv
import io
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockopt.books.csv_edit import edit_csv, new_csv
from stockopt.books.events import Entry
from stockopt.errors import StockoptError
from stockopt.fleet.csv_sheet import parse_csv
from stockopt.fleet.tables import TABLES

STOCK = TABLES["stock"]
RECORDS = TABLES["replacements"]
ROW = {"place": "Heron", "part": "IMP-1", "on_hand": 3, "counted_on": date(2031, 4, 2)}


def edit(text, *entries, table=STOCK, encoding="utf-8"):
    data = text if isinstance(text, bytes) else text.encode(encoding)
    return edit_csv(data, "stock.csv", table, entries).decode(encoding)


def change(row, **cells):
    return Entry(table="stock", row=row, cells=cells, before={})


def add(**cells):
    return Entry(table="stock", row=None, cells=cells, before={})


def test_only_the_cells_asked_change():
    text = (
        '"place" ,part,Extra, On Hand ,locker\nHeron,"IMP-1","say ""x""",1 ,"A, 2"\n\nBase,L,,2,\n'
    )
    assert edit(text, change(2, on_hand=0), change(4, on_hand=7)) == (
        '"place" ,part,Extra, On Hand ,locker\nHeron,"IMP-1","say ""x""",0,"A, 2"\n\nBase,L,,7,\n'
    )


def test_a_row_is_added_in_the_order_of_the_columns_before_blank_lines():
    text = "part;remark;place;on_hand;counted_on\r\nX;a b;Base;1;\r\n\r\n;;\r\n"
    assert edit(text, add(**ROW)) == (
        "part;remark;place;on_hand;counted_on\r\nX;a b;Base;1;\r\n"
        "IMP-1;;Heron;3;2031-04-02\r\n\r\n;;\r\n"
    )


def test_a_last_line_without_an_end_gets_one():
    assert edit("place,part,on_hand\nBase,X,1", add(place="A", part="B", on_hand=2)) == (
        "place,part,on_hand\nBase,X,1\nA,B,2\n"
    )


def test_missing_columns_are_added_after_the_last_heading():
    assert edit("place,part,on_hand,\nBase,X,1,\n", change(2, on_hand=2, counted_on="d")) == (
        "place,part,on_hand,counted_on\nBase,X,2,d\n"
    )


def test_a_cell_over_several_lines_is_one_row():
    text = 'place,part,on_hand,locker\nBase,X,1,"a\nb"\nHeron,Y,2,"c\r\nd"\n'
    assert edit(text, change(3, on_hand=9)) == (
        'place,part,on_hand,locker\nBase,X,1,"a\nb"\nHeron,Y,9,"c\r\nd"\n'
    )


def test_texts_that_hold_a_separator_or_mark_are_quoted():
    added = edit("place,part,on_hand,locker\n", add(place="A,b", part='3/4"', locker="x\ny"))
    assert added.endswith('\n"A,b","3/4""",,"x\ny"\n')


def test_a_number_with_a_fraction_takes_the_comma_of_its_file():
    entry = Entry(table="replacements", row=None, cells={"hours": 1210.5, "part": "X"}, before={})
    assert edit("part;hours\n", entry, table=RECORDS).endswith("X;1210,5\n")
    assert edit("part,hours\n", entry, table=RECORDS).endswith("X,1210.5\n")


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", b"\xef\xbb\xbf"),
        ("utf-16-le", b"\xff\xfe"),
        ("utf-16-be", b"\xfe\xff"),
    ],
)
def test_encoding_and_mark_stay(encoding, mark):
    text = "sep=;\r\nplace;part;on_hand\r\nBée;X;1\r\n"
    data = mark + text.encode(encoding)
    made = edit_csv(data, "stock.csv", STOCK, [change(2, on_hand=2)])
    assert made == mark + text.replace(";1", ";2").encode(encoding)


def test_windows_text_stays_so_and_refuses_what_it_cannot_hold():
    data = "place,part,on_hand\nBée,X,1\n".encode("cp1252")
    assert edit_csv(data, "s.csv", STOCK, [change(2, on_hand=2)]) == data.replace(b"1", b"2")
    with pytest.raises(StockoptError, match="cannot hold '船'"):
        edit_csv(data, "s.csv", STOCK, [add(place="船")])
    with pytest.raises(StockoptError, match="without loss"):
        edit_csv(b"place,part\n\x81\xe9,X\n", "s.csv", STOCK, [add(place="A")])


def test_a_new_file_has_all_headings():
    made = new_csv(STOCK, [add(**ROW)]).decode()
    header, row = csv.reader(io.StringIO(made))
    assert header == [column.name for column in STOCK.columns]
    assert dict(zip(header, row, strict=True))["counted_on"] == "2031-04-02"


CELL = st.text(alphabet='ab é"\n\r,;', max_size=5)


@settings(deadline=None, max_examples=80)
@given(
    rows=st.lists(st.lists(CELL, min_size=4, max_size=4), min_size=1, max_size=5),
    separator=st.sampled_from(",;\t"),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    data=st.data(),
)
def test_read_again_only_what_was_asked_is_otherwise(rows, separator, end, data):
    out = io.StringIO(newline="")
    # The writer leaves some line ends within cells bare, which are two rows for any reader.
    bare = not any(set(cell) & {"\r", "\n"} for row in rows for cell in row)
    quoting = csv.QUOTE_MINIMAL if bare else csv.QUOTE_ALL
    writer = csv.writer(out, delimiter=separator, lineterminator=end, quoting=quoting)
    header = ["place", "part", "on_hand", "locker"]
    writer.writerows([header, *rows])
    before = out.getvalue().encode()
    at, what = data.draw(st.integers(0, len(rows) - 1)), data.draw(CELL)
    made = edit_csv(before, "stock.csv", STOCK, [change(at + 2, locker=what)])
    added = edit_csv(made, "stock.csv", STOCK, [add(place="new", locker=what)])
    rows[at][3] = what
    wanted = [row for row in [*rows, ["new", "", "", what]] if any(map(str.strip, row))]
    found = parse_csv(added, "stock.csv", header).cells
    assert found.to_numpy().tolist() == wanted
