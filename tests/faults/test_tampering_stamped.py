"""The whole corpus of attacks, and thousands of bits, on a record with time-stamp and evidence."""

import pytest

from tests.certificates.pdf.conftest import keystore
from tests.certificates.tamper.conftest import stamped_subject
from tests.certificates.tamper.corpus import ATTACKS
from tests.certificates.tamper.flips import flipped, places_in_container, places_in_signed_range
from tests.certificates.tamper.subject import Subject
from tests.faults.marks import slow

__all__ = ["keystore", "stamped_subject"]
pytestmark = [pytest.mark.faults, slow]

FLIPS = 2_000
PARTS = 4
SEED = 61_442


@pytest.mark.parametrize("name", ATTACKS)
def test_no_attack_is_accepted(stamped_subject: Subject, name: str) -> None:
    forgery = ATTACKS[name](stamped_subject)
    assert forgery.after != forgery.before
    assert stamped_subject.accepts(forgery.before)
    assert not stamped_subject.accepts(forgery.after)


@pytest.mark.parametrize("part", range(PARTS))
def test_no_flipped_bit_is_accepted(stamped_subject: Subject, part: int) -> None:
    pdf = stamped_subject.pdf
    assert stamped_subject.accepts(pdf)
    places = [*places_in_signed_range(pdf, FLIPS, SEED), *places_in_container(pdf)][part::PARTS]
    assert len(places) > FLIPS // PARTS
    accepted = [place for place in places if stamped_subject.accepts(flipped(pdf, place))]
    assert accepted == []
