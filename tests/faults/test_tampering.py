"""Ten thousand bits of a signed record, each turned over: none passes, and none does harm.

``tests/certificates/signing/test_tampering.py`` does some hundreds of them in every run.
"""

import pytest

from tests.certificates.pdf.conftest import keystore
from tests.certificates.tamper.conftest import subject
from tests.certificates.tamper.corpus import ATTACKS
from tests.certificates.tamper.flips import (
    flipped,
    places_in_container,
    places_in_room,
    places_in_signed_range,
)
from tests.certificates.tamper.judges import JUDGES, openssl, pdfsig
from tests.certificates.tamper.subject import Subject
from tests.faults.marks import slow

__all__ = ["keystore", "subject"]
pytestmark = [pytest.mark.faults, slow]

FLIPS = 10_000
PARTS = 10  # so that several processes can share them
SEED = 90_210
COMPARED = 200


@pytest.mark.parametrize("part", range(PARTS))
def test_no_flipped_bit_in_the_signed_range_is_accepted(subject: Subject, part: int) -> None:
    places = places_in_signed_range(subject.pdf, FLIPS, SEED)[part::PARTS]
    assert len(places) == FLIPS // PARTS
    assert _accepted(subject, places) == []


@pytest.mark.parametrize("part", range(4))
def test_no_flipped_digit_of_the_container_is_accepted(subject: Subject, part: int) -> None:
    assert _accepted(subject, places_in_container(subject.pdf)[part::4]) == []


def test_no_flipped_digit_of_the_room_is_accepted(subject: Subject) -> None:
    assert _accepted(subject, places_in_room(subject.pdf)) == []


def test_poppler_and_openssl_refuse_the_same(subject: Subject) -> None:
    for place in places_in_signed_range(subject.pdf, COMPARED, SEED):
        pdf = flipped(subject.pdf, place)
        assert not subject.accepts(pdf), f"bit {place}"
        said = [judge(pdf, subject.keystore) for judge in (pdfsig, openssl)]
        assert said == [False, False], f"bit {place}"


@pytest.mark.parametrize("name", ATTACKS)
def test_ours_accepts_nothing_that_another_refuses(subject: Subject, name: str) -> None:
    forged = ATTACKS[name](subject).after
    accepted = all(judge(forged, subject.keystore) for judge in JUDGES.values())
    assert accepted or not subject.accepts(forged)


def _accepted(subject: Subject, places: list[int]) -> list[int]:
    """The bits whose turning over is not seen; the genuine file is accepted."""
    assert subject.accepts(subject.pdf)
    assert places
    return [place for place in places if subject.accepts(flipped(subject.pdf, place))]
