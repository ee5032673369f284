"""Numbers as typed and as stored."""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assessments.programfile import quantities as q


@pytest.mark.parametrize(
    ("typed", "stored", "written"),
    [
        ("60 %", "0.6", "60 %"),
        ("60%", "0.6", "60 %"),
        ("66.5 %", "0.665", "66.5 %"),
        ("100 %", "1", "100 %"),
        ("0 %", "0", "0 %"),
        ("5 %", "0.05", "5 %"),
        ("2/3", "2/3", "2/3"),
        ("1/2 %", "1/200", "1/200"),
    ],
)
def test_share(typed: str, stored: str, written: str) -> None:
    assert q.read_share(typed) == stored
    assert q.write_share(stored) == written
    assert q.read_share(written) == stored


@pytest.mark.parametrize(
    ("typed", "stored", "written"),
    [
        ("1/16 in", ("1/16", "in"), "1/16 in"),
        ('1 1/2"', ("3/2", "in"), "1 1/2 in"),
        ("2/32 inches", ("1/16", "in"), "1/16 in"),
        ("0.50 mm", ("0.5", "mm"), "0.5 mm"),
        ("4/2 in", ("2", "in"), "2 in"),
        ("5 °C", ("5", "degC"), "5 degC"),
        ("-1/4 in", ("-1/4", "in"), "-1/4 in"),
        ("- 1 1/4 in", ("-5/4", "in"), "-1 1/4 in"),
    ],
)
def test_measure(typed: str, stored: tuple[str, str], written: str) -> None:
    assert q.read_measure(typed) == stored
    assert q.write_measure(*stored) == written
    assert q.read_measure(written) == stored


@pytest.mark.parametrize(
    ("typed", "stored", "written"),
    [
        ("24 h", "1440", "24 h"),
        ("90 min", "90", "90 min"),
        ("3 d", "4320", "72 h"),
        ("1 1/2 h", "90", "90 min"),
        ("0 min", "0", "0 min"),
    ],
)
def test_minutes(typed: str, stored: str, written: str) -> None:
    assert q.read_minutes(typed) == stored
    assert q.write_minutes(stored) == written


@pytest.mark.parametrize(
    ("read", "typed", "sentence"),
    [
        (q.read_share, "60", "write the percent sign: 60 %"),
        (q.read_share, "120 %", "from 0 % to 100 %"),
        (q.read_share, "sixty", "write a percentage such as 60 %"),
        (q.read_number, "1/0", "cannot have 0 below the line"),
        (q.read_number, "1,5", "write a number such as"),
        (q.read_number, "1e9", "write a number such as"),
        (q.read_measure, "3", "write the unit too, for example 3 mm"),
        (q.read_measure, "three mm", "write a number and its unit"),
        (lambda text: q.read_measure(text, "in"), "3 mm", "write it in in"),
        (q.read_minutes, "24", "write a time such as 24 h"),
    ],
)
def test_refused(read: Callable[[str], object], typed: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        read(typed)


@given(st.integers(0, 10**6), st.integers(0, 6))
def test_a_percentage_keeps_its_exact_value(digits: int, places: int) -> None:
    """Against Python's decimal module."""
    percent = Decimal(digits).scaleb(-places)
    if percent > 100:
        percent = percent / Decimal(10**6)
    typed = f"{percent:f} %"
    stored = q.read_share(typed)
    assert Fraction(stored) == Fraction(percent) / 100
    assert q.read_share(q.write_share(stored)) == stored


@given(st.fractions(min_value=-1000, max_value=1000, max_denominator=999))
def test_a_number_written_is_read_as_the_same(value: Fraction) -> None:
    """Against Python's fractions module, whose text form is the stored one."""
    assert q.read_number(q.write_number(str(value))) == str(value)
