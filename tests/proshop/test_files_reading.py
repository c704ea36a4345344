"""CSV files as rows of values: what is read, what is refused, and what comes back as it was.

RFC 4180 says how cells are quoted and lines end; OWASP's page “CSV Injection” which cells a
spreadsheet runs as formulas.
"""

import csv
import io
from typing import Any

import pytest
from django.db.models import TextChoices
from hypothesis import given
from hypothesis import strategies as st

from proshop.files.columns import Choice, Day, Number, Refused, Whole, Words, YesNo, normal
from proshop.files.faults import Fault, Faulty
from proshop.files.guard import defused, undone
from proshop.files.reading import MOST_ROWS, read, write
from proshop.files.text import numbered_rows, separator_of, text_of


class Side(TextChoices):
    NEAR = "near", "Near side"
    FAR = "far", "Far side"


NAME = Words("name", "name", needed=True, longest=20, empty="")
NOTE = Words("notes", "note", longest=2000, several_lines=True, empty="")
SIZE = Number("size (in)", "size", low=-1, high=5, unit="in", empty=None)
PRICE = Number("price", "price", low=0, high=999, places=2)
COUNT = Whole("count", "count", low=0, high=300, empty=None)
SIDE = Choice("side", "side", choices=Side)
SOLD = YesNo("sold", "sold")
DATE = Day("day", "day")
COLUMNS = (NAME, NOTE, SIZE, PRICE, COUNT, SIDE, SOLD, DATE)


def told(text: str) -> list[dict[str, Any]]:
    table = read(text, COLUMNS)
    assert table.faults == []
    return [dict(row.told) for row in table.rows]


def faults(text: str) -> list[str]:
    return [fault.words for fault in read(text, COLUMNS).faults]


def test_a_cell_is_read_by_its_column() -> None:
    text = "name,size (in),price,count,side,sold,day\nAda,0.25,19.5,7,far side,yes,2026-05-31\n"
    (row,) = told(text)
    assert (row["name"], row["size"], str(row["price"]), row["count"]) == ("Ada", 0.25, "19.50", 7)
    assert (row["side"], row["sold"], row["day"].isoformat()) == ("far", True, "2026-05-31")


@pytest.mark.parametrize(
    "text",
    [
        "name,count\nAda,7",
        "Count;NAME\r\n7;Ada\r\n",
        "\tname\t count \n\tAda\t7\n",
        "\n\n name , count\nAda , 7 \n\n,\n",
        "sep=;\nname;count\nAda;7",
        '"name","count"\n"Ada","7"\n',
        "name,count\rAda,7\r",
        "name,count,,\nAda,7,,\n",
    ],
)
def test_separators_order_spaces_and_line_ends_vary(text: str) -> None:
    assert told(text) == [{"name": "Ada", "count": 7}]


def test_quotes_hold_separators_line_ends_and_quotes() -> None:
    text = 'name,notes\nAda,"one, ""two""\r\nthree"\nBo,x\n'
    table = read(text, COLUMNS)
    assert table.rows[0].told["note"] == 'one, "two"\nthree'
    # A row is named by the line it begins on, whatever the lines before it hold.
    assert table.rows[1].line == 4


def test_decimals_have_a_comma_where_the_separator_isn_t_one() -> None:
    assert told("name;size (in);price\nAda;0,25;19,50")[0]["size"] == 0.25
    assert faults('name,price\nAda,"1,250"') == [
        "Line 2, price: “1,250” must be a number from 0 to 999, with digits and a point."
    ]
    assert faults("name;price\nAda;1.250,50")[0].startswith("Line 2, price: “1.250,50” must be")


def test_every_fault_is_told_by_line_column_value_and_remedy() -> None:
    text = (
        "name,count,side,day,sold\n"
        "Ada,301,left,31.5.2026,maybe\n"
        f"{'x' * 21},1.5,near,2026-05-31,no\n"
        "Cy,nan,FAR,,\n"
        "Di,٣,,,\n"
    )
    assert faults(text) == [
        "Line 2, count: “301” must be a whole number from 0 to 300.",
        "Line 2, side: “left” must be one of: “near side”, “far side”.",
        "Line 2, day: “31.5.2026” must be a date as year-month-day, like 2026-05-31.",
        "Line 2, sold: “maybe” must be “yes” or “no”.",
        f"Line 3, name: “{'x' * 21}” is 21 characters long: shorten it to 20.",
        "Line 3, count: “1.5” must be a whole number from 0 to 300.",
        "Line 4, count: “nan” must be a whole number from 0 to 300, with digits and a point.",
        "Line 5, count: “٣” must be a whole number from 0 to 300, with digits and a point.",
    ]


@pytest.mark.parametrize("odd", ["1e9999999999999999999", "1e-999999999", "1e400", "--1", "1e"])
def test_numbers_no_column_could_hold_are_refused(odd: str) -> None:
    (fault,) = faults(f"name,size (in)\nAda,{odd}")
    assert fault.endswith("must be a number from −1 to 5 in, with digits and a point.")


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "The file is empty: the first line must hold the headings."),
        ("name,count\n", "The file holds headings only: add a row for each record."),
        ("name,colour\nAda,red", "Line 1, headings: “colour” isn’t a heading known here"),
        ("name,Name\nAda,Ada", "Line 1, headings: “Name” is there twice"),
        ("name\nAda,7", "Line 2 has 2 cells under 1 headings: put text"),
        ('name\n"Ada\nBo\nCy', "Line 2 has a double quote that isn’t closed"),
        ('name\n"Ada"x\n', "Line 2 has a double quote that isn’t closed"),
        ('sep=,\nname\n"Ada', "Line 3 has a double quote that isn’t closed"),
        ("sold\n(empty)", "Line 2, sold: “(empty)” can’t be emptied: write a value"),
    ],
)
def test_a_file_as_a_whole_is_refused_saying_why(text: str, complaint: str) -> None:
    assert any(found.startswith(complaint) for found in faults(text)), faults(text)


def test_a_cell_longer_than_any_text_is_told_and_not_read() -> None:
    assert "Line 2 has a double quote" in faults('name\n"' + "x" * 200_000)[0]


def test_more_rows_than_are_taken_are_refused() -> None:
    text = "name\n" + "Ada\n" * (MOST_ROWS + 1)
    assert faults(text) == ["The file holds more than 20,000 rows: split it and send the parts."]


def test_an_empty_cell_tells_nothing_and_emptying_is_written_out() -> None:
    assert told("name,notes,count\nAda,,\nBo,(Empty),(empty)") == [
        {"name": "Ada"},
        {"name": "Bo", "note": "", "count": None},
    ]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_encodings_that_say_what_they_are(encoding: str) -> None:
    assert text_of("name\nZoë".encode(encoding)) == "name\nZoë"


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        ("name\n\nZoë".encode("cp1252"), "Line 3 isn’t UTF-8 text: save the sheet as “CSV UTF-8”."),
        (b"PK\x03\x04", "The file is a spreadsheet, not a CSV"),
        (b"name\nA\0", "Line 2 holds no plain text"),
    ],
)
def test_a_wrong_encoding_is_told(content: bytes, complaint: str) -> None:
    with pytest.raises(Faulty, match=complaint.replace("(", r"\(")):
        text_of(content)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_what_a_spreadsheet_would_run_is_defused(sign: str) -> None:
    """The signs of OWASP's list, full-width ones with them."""
    for text in (f"{sign}1+1", f"'{sign}1", f"''{sign}1", f" {sign}1"):
        cell = defused(text)
        assert cell == f"'{text}"
        assert undone(cell) == text


@pytest.mark.parametrize("text", ["Ada", "'tis", "O'Neil", "1+1", "a=b", "(empty) box", ""])
def test_other_texts_are_left_alone(text: str) -> None:
    assert defused(text) == text
    assert undone(text) == text


def test_numbers_keep_their_sign() -> None:
    assert "\r\nAda,,-0.5," in write(COLUMNS, [{"name": "Ada", "size": -0.5}])


anything = st.text(alphabet=st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
records = st.fixed_dictionaries(
    {
        "name": anything.map(lambda text: " ".join(normal(text).split())[:20].strip()),
        "note": anything.map(normal),
        "size": st.none() | st.floats(-1, 5).map(lambda value: value + 0.0),
        "count": st.none() | st.integers(0, 300),
        "side": st.sampled_from(["near", "far"]),
        "sold": st.booleans(),
        "day": st.none() | st.dates(),
    }
)


@given(st.lists(records, min_size=1, max_size=5))
def test_what_is_written_comes_back_as_it_was(rows: list[dict[str, Any]]) -> None:
    text = write(COLUMNS, rows)
    assert told(text) == [
        {name: value for name, value in row.items() if value not in (None, "")} for row in rows
    ]
    # And no cell of it begins with what a spreadsheet runs, but for numbers.
    for cells in list(csv.reader(io.StringIO(text, newline="")))[1:]:
        assert not any(cell[:1] in "=+-@\t\r\n" for cell in (*cells[:2], *cells[5:]) if cell)


@given(anything, st.sampled_from(",;\t"))
def test_any_text_is_read_or_refused_with_a_line(text: str, separator: str) -> None:
    lines, stopped = [], []
    try:
        for line, _ in numbered_rows(f"name{separator}x\n{text}", separator):
            lines.append(line)
    except Faulty as faulty:
        stopped = [fault.line for fault in faulty.faults]
    assert lines + stopped == sorted({*lines, *stopped})
    assert lines[0] == 1
    assert all(isinstance(fault, Fault) for fault in read(text, COLUMNS).faults)


def test_the_separator_is_the_one_that_finds_the_headings() -> None:
    assert separator_of("name;size (in), about;count", ["name", "count"]) == ";"
    assert separator_of("name", ["name"]) == ","


def test_a_price_of_more_digits_than_can_be_kept_is_refused() -> None:
    price = Number("price", "price", low=0, places=2)
    assert str(price.read("12.5")) == "12.50"
    with pytest.raises(Refused, match="must be"):
        price.read("1e40")
