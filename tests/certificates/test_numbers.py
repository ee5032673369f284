"""Numbers of records."""

import re

import pytest

from certificates.numbers import ALPHABET, EXAMPLE, new_number, read_number

# https://www.crockford.com/base32.html: the 32 symbols, and how letters alike are read.
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def test_the_alphabet_is_crockfords() -> None:
    assert ALPHABET == CROCKFORD


def test_a_new_number_has_the_form_that_the_database_asks_for() -> None:
    numbers = {new_number() for _ in range(500)}
    assert len(numbers) == 500
    form = re.compile(r"^[0-9A-HJKMNP-TV-Z]{4}(-[0-9A-HJKMNP-TV-Z]{4}){3}$")
    assert all(form.match(number) for number in numbers)
    # Every symbol comes up: 8,000 draws miss a given one of 32 with probability e^-254.
    assert set("".join(numbers)) - {"-"} == set(CROCKFORD)


@pytest.mark.parametrize(
    "typed",
    [
        "7K3M-9QX2-04VD-HT8B",
        "7k3m-9qx2-04vd-ht8b",
        " 7K3M 9QX2 04VD HT8B\n",
        "7K3M9QX204VDHT8B",
        "7K3M–9QX2—O4VD‑ht8b",
        "7k3m.9qx2.o4vd.ht8b",
    ],
)
def test_what_people_type_is_understood(typed: str) -> None:
    assert read_number(typed) == EXAMPLE


def test_letters_that_look_like_a_digit_are_read_as_it() -> None:
    # The same page: O and o decode to 0; I, i, L and l to 1.
    assert read_number("OoIi-Ll00-0000-0000") == "0011-1100-0000-0000"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Write the number"),
        (" - ", "Write the number"),
        ("7K3M-9QX2-04VD", "12 characters came, 16 are wanted"),
        ("7K3M-9QX2-04VD-HT8B-1", "17 characters came"),
        ("7K3M-9QX2-04VD-HT8U", "“U” is never in one"),
        ("7K3M-9QX2-04VD-HT8é", "“É” is never in one"),
        ("7K3M-9QX2-04VD-HT8٣", "“٣” is never in one"),
        ("<script>alert(1)</script>", "is never in one"),
        ("0" * 5000, "characters came"),
    ],
)
def test_what_is_no_number_is_said_with_what_to_do(typed: str, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        read_number(typed)
