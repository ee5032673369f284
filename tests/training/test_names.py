"""Names and addresses as they are kept."""

import pytest

from training.emails import clean_email
from training.names import clean_name, same_name


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        # Source: Unicode Standard Annex 15, figure 3 (Angstrom sign and A with ring, to NFC).
        ("\u212b Ring", "\u00c5 Ring"),
        ("A\u030a Ring", "\u00c5 Ring"),
        ("  Ann \t of   the  Quarry\n", "Ann of the Quarry"),
        ("نیما\u200cزاده رضایی", "نیما\u200cزاده رضایی"),  # joiners belong to the spelling
        ("ʻAlalā Kealoha", "ʻAlalā Kealoha"),
        ('=HYPERLINK("x")', '=HYPERLINK("x")'),  # data, and nobody runs it
    ],
)
def test_names_are_kept_in_one_form(typed: str, kept: str) -> None:
    assert clean_name(typed) == kept


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("   ", "full name"),
        ("x" * 201, "201 characters"),
        ("Ann\u202eeivoB", r"U\+202E"),
        ("Ann\u0007", r"U\+0007"),
        ("Ann\u200b Stone", r"U\+200B"),
        ("Ann\u00ad Stone", r"U\+00AD"),
        ("12345 ---", "no letter"),
    ],
)
def test_names_that_are_none(typed: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        clean_name(typed)


def test_the_longest_name() -> None:
    assert clean_name("x" * 200) == "x" * 200


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Zoë Stone", "ZOË  stone", True),
        ("Zoe\u0308 Stone", "Zoë Stone", True),
        ("Zoë Stone", "Zoe Stone", False),
        ("Weiß", "WEISS", True),  # Unicode case folding: sharp s folds to ss
    ],
)
def test_the_same_name(one: str, other: str, same: bool) -> None:
    assert same_name(one, other) is same


def test_addresses_are_kept_in_lower_case() -> None:
    assert clean_email(" Ada.Stone@Example.ORG ") == "ada.stone@example.org"
    # 64 letters before the sign are the most (RFC 5321, 4.5.3.1.1).
    assert clean_email(f"{'a' * 64}@example.org")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "Write the person"),
        ("ada", "not an e-mail address"),
        ("ada@", "not an e-mail address"),
        ("ada stone@example.org", "not an e-mail address"),
        ("adä@example.org", "unaccented"),
        (f"{'a' * 250}@example.org", "254 at most"),
    ],
)
def test_addresses_that_are_none(typed: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        clean_email(typed)
