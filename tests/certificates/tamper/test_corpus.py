"""No attack of the corpus passes for a genuine record."""

from functools import cache

import pytest

from tests.certificates.pdf.tools import picture_of
from tests.certificates.tamper.corpus import ATTACKS
from tests.certificates.tamper.subject import Subject


@pytest.mark.parametrize("name", ATTACKS)
def test_no_attack_is_accepted(subject: Subject, name: str) -> None:
    forgery = ATTACKS[name](subject)
    assert forgery.after != forgery.before
    assert subject.accepts(forgery.before)
    assert not subject.accepts(forgery.after)
    if forgery.visible:
        assert _look(forgery.before) != _look(forgery.after), "it shows nothing to a reader"


@cache
def _look(pdf: bytes) -> bytes:
    return picture_of(pdf, page=1, dpi=20).tobytes()
