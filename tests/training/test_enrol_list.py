"""Reading lists of trainees: every nasty file gets rows or clear faults, never an exception."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.enrolfile import UnreadableError, decode, read_table, to_text
from training.enrolfile.rows import MAXIMUM_CHARACTERS, MAXIMUM_ROWS

HEAD = "full_name,email,employer\n"
ADA = "Ada Stone,ada@example.org,Kerb & Sons\n"

GOOD = {
    "comma": HEAD + ADA,
    "semicolon": "full_name;email;employer\nAda Stone;ada@example.org;Kerb & Sons\n",
    "tab": "full_name\temail\temployer\nAda Stone\tada@example.org\tKerb & Sons\n",
    "byte order mark": "\ufeff" + HEAD + ADA,
    "carriage returns": (HEAD + ADA).replace("\n", "\r\n"),
    "old carriage returns": (HEAD + ADA).replace("\n", "\r"),
    "no last line end": (HEAD + ADA).rstrip(),
    "other order": "employer,full_name,email\nKerb & Sons,Ada Stone,ada@example.org\n",
    "capitals and spaces in the header": " Full_Name , EMAIL , Employer \n" + ADA,
    "quoted cells": '"full_name","email","employer"\n"Ada Stone","ada@example.org","Kerb & Sons"\n',
    "capitals in the address": HEAD + "Ada Stone,ADA@Example.org,Kerb & Sons\n",
    "spaces around": HEAD + "  Ada   Stone , ada@example.org ,Kerb &  Sons\n",
    "blank lines": "\n\n" + HEAD + "\n,,\n" + ADA + "\n\n",
    "empty cells at the end": HEAD.strip() + ",,\n" + ADA.strip() + ",,\n",
}


@pytest.mark.parametrize("case", GOOD)
def test_good_lists(case: str) -> None:
    table = read_table(GOOD[case])
    assert table.faults == ()
    assert [(row.full_name, row.email, row.employer) for row in table.rows] == [
        ("Ada Stone", "ada@example.org", "Kerb & Sons")
    ]
    assert table.whole


FAULTY: dict[str, tuple[str, list[tuple[int, str | None, str]]]] = {
    "nothing": ("", [(1, None, "empty")]),
    "spaces only": (" \n\t\n", [(1, None, "empty")]),
    "header only": (HEAD, [(2, None, "no trainee")]),
    "no header": (ADA + ADA, [(1, None, "missing: full_name, email, employer")]),
    "column missing": ("full_name,email\nAda,a@example.org\n", [(1, None, "missing: employer")]),
    "column unknown": (
        "full_name,email,employer,phone\nAda,a@example.org,,1\n",
        [(1, None, "unknown: “phone”")],
    ),
    "column twice": (
        "full_name,email,employer,email\nAda,a@example.org,,\n",
        [(1, None, "twice: email")],
    ),
    "wrong separator": ("full_name|email|employer\nAda|a@example.org|\n", [(1, None, "unknown")]),
    "name missing": (HEAD + ",a@example.org,\n", [(2, "full_name", "full name")]),
    "address missing": (HEAD + "Ada,,\n", [(2, "email", "Write the person's e-mail")]),
    "address wrong": (HEAD + "Ada,ada(at)example.org,\n", [(2, "email", "not an e-mail")]),
    "both wrong": (HEAD + ",x,\n", [(2, "full_name", "full name"), (2, "email", "not an e-mail")]),
    "row too short": (HEAD + "Ada Stone\n", [(2, "email", "Write the person's e-mail")]),
    "row too long": (HEAD + "Stone, Ada,ada@example.org,Kerb\n", [(2, None, "4 cells")]),
    "address twice": (HEAD + ADA + "Ada S,ADA@example.org,\n", [(3, "email", "Row 2 has")]),
    "hidden character": (HEAD + "Ada\u202e,a@example.org,\n", [(2, "full_name", "U+202E")]),
    "control character": (HEAD + "Ada\x07,a@example.org,\n", [(2, "full_name", "U+0007")]),
    "employer of signs": (HEAD + "Ada,a@example.org,\u200b\n", [(2, "employer", "contractor")]),
    "quote not closed": (HEAD + '"Ada,a@example.org,\nBo,b@example.org,\n', [(2, None, "quot")]),
    "letters after a quote": (HEAD + ADA + '"Ada"x,a@example.org,\n', [(3, None, "quot")]),
    "NUL": (HEAD + "A\x00da,a@example.org,\n", [(1, None, "NUL")]),
    "cell too long": (HEAD + "x" * 200_000 + ",a@example.org,\n", [(2, None, "field larger")]),
    "name too long": (HEAD + "x" * 201 + ",a@example.org,\n", [(2, "full_name", "201")]),
    "numbers count blank lines": (HEAD + "\n\nAda,x,\n", [(4, "email", "not an e-mail")]),
}


@pytest.mark.parametrize("case", FAULTY)
def test_faulty_lists(case: str) -> None:
    text, expected = FAULTY[case]
    faults = read_table(text).faults
    assert [(fault.row, fault.column) for fault in faults] == [
        (row, column) for row, column, _ in expected
    ]
    for fault, (_, _, said) in zip(faults, expected, strict=True):
        assert said in fault.message


def test_every_fault_is_told_at_once_and_good_rows_are_kept_apart() -> None:
    table = read_table(HEAD + ",a@example.org,\n" + ADA + "Bo,b,\n")
    assert [(fault.row, fault.column) for fault in table.faults] == [(2, "full_name"), (4, "email")]
    assert [row.number for row in table.rows] == [3]


def test_a_name_over_two_lines_is_one_name() -> None:
    # RFC 4180, section 2, rule 6: a quoted cell may hold line breaks.
    assert read_table(HEAD + '"Ada\nStone",a@example.org,\n').rows[0].full_name == "Ada Stone"


def test_doubled_quotes_stand_for_one() -> None:
    # RFC 4180, section 2, rule 7.
    table = read_table(HEAD + '"Ada ""Chisel"" Stone",a@example.org,\n')
    assert table.rows[0].full_name == 'Ada "Chisel" Stone'


@pytest.mark.parametrize("start", ["=1+1", "+Ada", "-Ada", "@Ada"])
def test_cells_like_formulas_are_data(start: str) -> None:
    table = read_table(HEAD + f"{start} x,a@example.org,\n")
    assert table.rows[0].full_name == f"{start} x"


def test_the_most_rows() -> None:
    rows = [f"Mason {letter},{letter}@example.org,\n" for letter in map(_word, range(MAXIMUM_ROWS))]
    assert len(read_table(HEAD + "".join(rows)).rows) == MAXIMUM_ROWS
    faults = read_table(HEAD + "".join(rows) + ADA).faults
    assert [fault.message for fault in faults] == [
        "The list has 1,001 rows: 1,000 at most. Split it."
    ]


def test_the_longest_text() -> None:
    over = read_table(HEAD + ADA + "\n" * MAXIMUM_CHARACTERS)
    assert [fault.row for fault in over.faults] == [1]
    assert not over.whole


def test_nothing_typed_is_lost_in_a_faulty_row() -> None:
    table = read_table(HEAD + "Stone, Ada,ada@example.org,Kerb\n")
    assert read_csv(to_text(table.typed.values())) == [
        ["full_name", "email", "employer"],
        ["Stone", "Ada", "ada@example.org", "Kerb"],
    ]


@given(st.text(max_size=300))
def test_no_text_whatever_breaks_the_reader(text: str) -> None:
    table = read_table(text)
    assert table.rows or table.faults


@given(
    st.lists(
        st.tuples(
            *[st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"))] * 3
        ),
        max_size=5,
    )
)
def test_rows_and_faults_cover_every_row_that_holds_something(
    rows: list[tuple[str, ...]],
) -> None:
    table = read_table(to_text(rows))
    held = {number for number, row in enumerate(rows, 2) if any(cell.strip() for cell in row)}
    told = {row.number for row in table.rows} | {fault.row for fault in table.faults}
    assert told == (held or {2})


@pytest.mark.parametrize(
    ("content", "text", "guessed"),
    [
        ("Zoë".encode(), "Zoë", False),
        ("Zoë".encode("utf-8-sig"), "Zoë", False),
        ("Zoë".encode("utf-16"), "Zoë", False),
        # Source: unicode.org mapping table CP1252.TXT (from memory): EB is ë, 80 the euro sign.
        (b"Zo\xeb \x80", "Zoë €", True),
        (b"", "", False),
    ],
)
def test_encodings(content: bytes, text: str, guessed: bool) -> None:
    decoded = decode(content)
    assert decoded.text == text
    assert bool(decoded.warning) is guessed
    assert not guessed or "Windows-1252" in str(decoded.warning)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"PK\x03\x04rest of a workbook", "workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "workbook"),
        (b"a\x00b\x00", "not a text file"),
        (b"\xff\xfea", "damaged"),
        (b"Zo\x81", "neither UTF-8 nor Windows-1252"),  # 81 is undefined in CP1252.TXT
    ],
)
def test_files_that_are_no_text(content: bytes, said: str) -> None:
    with pytest.raises(UnreadableError, match=said):
        decode(content)


@given(st.binary(max_size=200))
def test_no_bytes_whatever_break_the_decoder(content: bytes) -> None:
    assert _decoded(content) is not None


def _decoded(content: bytes) -> str | None:
    try:
        return decode(content).text
    except UnreadableError as error:
        return str(error) if str(error).endswith("“CSV UTF-8”.") else None


def read_csv(text: str) -> list[list[str]]:
    """Read with the standard library alone."""
    return list(csv.reader(io.StringIO(text)))


def _word(number: int) -> str:
    return "".join(chr(97 + int(digit)) for digit in f"{number:04}")
