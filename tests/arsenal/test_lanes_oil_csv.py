"""Oil tables pasted as text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from arsenal.lanes.oil_csv import (
    OilTable,
    file_of_table,
    read_oil_table,
    write_oil_table,
)
from arsenal.lanes.picture import oil_picture
from proshop.files.faults import Faulty
from proshop.files.text import text_of

ROW = ",".join(["10"] * 39)
GOOD = f"0,{ROW}\n20,{ROW}\n40,{ROW}"


def test_a_table_is_read_from_the_left_gutter() -> None:
    row = ",".join(str(n) for n in range(1, 40))
    table = read_oil_table(f"0,{row}\n40,{row}")
    assert table["units"][0][0] == 1
    assert table["units"][0][38] == 39


def test_the_oil_ends_at_the_last_line() -> None:
    table = read_oil_table(GOOD)
    assert table["distance_ft"] == [0, 20, 40, 40.01]
    assert table["units"][-1] == [0] * 39


def test_a_dry_last_line_is_left_as_it_is() -> None:
    dry = ",".join(["0"] * 39)
    assert read_oil_table(f"0,{ROW}\n40,{dry}")["distance_ft"] == [0, 40]


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(",", "\t"),
        GOOD.replace(",", ";"),
        GOOD.replace("10", "10,0").replace(",1", ";1").replace(";10,0", ";10,0"),
        "feet,1,2,3\n" + GOOD,
        GOOD.replace("\n", ",\r\n") + "\n\n",
    ],
)
def test_separators_headings_and_line_ends_vary(text: str) -> None:
    assert len(read_oil_table(text)["units"]) == 4


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("", "at least two lines"),
        ("hello", "at least two lines"),
        (f"0,{ROW}", "at least two lines"),
        (f"0,{ROW}\n40,{ROW},3", "Line 2 has 41 columns"),
        (f"0,{ROW}\n40,1,2", "Line 2 has 3 columns"),
        (f"0,{ROW}\n40,{ROW.replace('10', 'x', 1)}", "Line 2, board 1 from the left: “x”"),
        (f"0,{ROW}\n40,-1,{ROW[3:]}", "Line 2, board 1 from the left: “-1”"),
        (f"0,{ROW}\n40,nan,{ROW[3:]}", "“nan” must be a number from 0 to 200"),
        (f"0,{ROW}\n40,1e9,{ROW[3:]}", "“1e9” must be"),
        (f"0,{ROW}\n61,{ROW}", "Line 2, feet: “61” must be a number from 0 to 60"),
        (f"0,{ROW}\n61,{ROW}", "The head pin stands at 60 ft"),
        (f"0,{ROW}\n40,-1,{ROW[3:]}", "no less oil than none"),
        (f"0,{ROW}\n40,,{ROW[3:]}", "Write 0 where it is dry"),
        (f"0,{ROW}\n40,1_0,{ROW[3:]}", "“1_0” must be a number"),
        (f"0,{ROW}\n40,{ROW[3:]}", "1 board missing: write 0"),
        (f"0,{ROW}\n40,{ROW},3,3", "2 boards too many"),
        (f"0,{ROW}\n40,{ROW}\n30,{ROW}", "Line 3, feet: “30” comes after 40, but feet must rise"),
        (f"0,{ROW}\n\n40,{ROW}\n40,{ROW}", "Line 4, feet: “40” is the distance of the line before"),
        (f"2,{ROW}\n40,{ROW}", "Line 1, feet: “2” must be 0"),
        ("\n".join([f"{n},{','.join(['0'] * 39)}" for n in (0, 40)]), "no oil at all"),
        ("\n".join(f"{n / 20},{ROW}" for n in range(900)), "at most 400"),
    ],
)
def test_a_bad_table_is_refused_saying_where(text: str, complaint: str) -> None:
    with pytest.raises(Faulty) as refused:
        read_oil_table(text)
    assert complaint in str(refused.value)


def test_many_faults_are_told_a_few_at_a_time() -> None:
    with pytest.raises(Faulty) as refused:
        read_oil_table("\n".join("1,2" for _ in range(100)))
    assert len(refused.value.faults) == 5


units = st.floats(0, 200).map(lambda value: round(value, 3))


@given(st.lists(st.lists(units, min_size=39, max_size=39), min_size=1, max_size=6))
def test_a_table_survives_being_written_and_read_again(rows: list[list[float]]) -> None:
    table: OilTable = {
        "distance_ft": [0.0, *(float(n + 1) for n in range(len(rows))), 59.0],
        "units": [[1.0] * 39, *rows, [0.0] * 39],
    }
    assert read_oil_table(write_oil_table(table)) == table
    assert read_oil_table(text_of(file_of_table(table).encode())) == table


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_file_is_read_as_spreadsheets_save_it(encoding: str) -> None:
    text = f"Fuß,1,2\n{GOOD}"
    assert text_of(text.encode(encoding)) == text


@pytest.mark.parametrize(
    ("content", "complaint"),
    [
        (f"{GOOD}\nFuß,".encode("latin-1"), "Line 4 isn’t UTF-8 text"),
        (b"PK\x03\x04rest", "is a spreadsheet, not a CSV"),
        (b"\xd0\xcf\x11\xe0", "is a spreadsheet, not a CSV"),
        (b"0,1\n40,\x00", "Line 2 holds no plain text"),
        (b"\xff\xfe0", "isn’t UTF-8 text"),
    ],
)
def test_a_file_that_is_no_text_says_what_to_save(content: bytes, complaint: str) -> None:
    with pytest.raises(Faulty) as refused:
        text_of(content)
    assert complaint in str(refused.value)
    assert "CSV" in str(refused.value)


def test_the_picture_shades_each_board_where_it_is_oiled() -> None:
    table: OilTable = {
        "distance_ft": [0.0, 30.0, 30.01],
        "units": [[0.0] * 38 + [40.0], [0.0] * 38 + [40.0], [0.0] * 39],
    }
    picture = oil_picture(table)
    (patch,) = picture.patches
    # Column 39 from the left gutter is board 1 from the right, at the bottom of the picture.
    assert patch.y + patch.height == picture.height
    assert (patch.x, patch.x + patch.width) == (0, 300)
    assert patch.opacity == 1
    assert picture.end_ft == 30


def test_the_picture_draws_few_rectangles() -> None:
    table = read_oil_table(GOOD)
    assert len(oil_picture(table).patches) == 39
