"""Where programs that are not ours judge a file otherwise, ours is the stricter one."""

import pytest

from tests.certificates.tamper.corpus import ATTACKS
from tests.certificates.tamper.flips import flipped, places_in_signed_range
from tests.certificates.tamper.judges import JUDGES
from tests.certificates.tamper.subject import Subject

SEED = 5_306
FLIPS = 8


def test_all_accept_the_genuine_file(subject: Subject) -> None:
    assert subject.accepts(subject.pdf)
    said = {name: judge(subject.pdf, subject.keystore) for name, judge in JUDGES.items()}
    assert said == dict.fromkeys(JUDGES, True)


def test_none_accepts_a_flipped_bit_in_the_signed_range(subject: Subject) -> None:
    for place in places_in_signed_range(subject.pdf, FLIPS, SEED):
        pdf = flipped(subject.pdf, place)
        assert not subject.accepts(pdf)
        accepted = [name for name, judge in JUDGES.items() if judge(pdf, subject.keystore)]
        assert accepted == [], f"bit {place}"


@pytest.mark.parametrize(
    ("name", "who"),
    [
        # What is hashed is untouched: OpenSSL sees nothing else.
        ("words written across the page", {"pdfsig, one is valid", "openssl cms"}),
        ("shadow hide and replace, form kept", {"pdfsig, one is valid", "openssl cms"}),
        ("second part moved to the end (SWA)", {"pdfsig, one is valid", "openssl cms"}),
        # The container holds more than was made here.
        ("attribute that is not signed", set(JUDGES)),
        ("version of the container", set(JUDGES)),
        # Nobody vouches for the signer: pdfsig is not asked about that.
        ("signed by a stranger in the issuer's name", {"pdfsig", "pdfsig, one is valid"}),
        # A signature of the other record's pages.
        ("signature value of another record", set()),
    ],
)
def test_where_the_others_are_content(subject: Subject, name: str, who: set[str]) -> None:
    """Seen with poppler 22.12, OpenSSL 3.0 and pyHanko 0.38; ours accepts none of them."""
    forged = ATTACKS[name](subject).after
    assert {judge for judge in JUDGES if JUDGES[judge](forged, subject.keystore)} == who
    assert not subject.accepts(forged)
