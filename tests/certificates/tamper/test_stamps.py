"""No record passes whose time-stamp or evidence was taken off or swapped."""

import pytest

from tests.certificates.pdf.conftest import SIGNED_AT
from tests.certificates.tamper.stamps import ATTACKS
from tests.certificates.tamper.subject import Subject


@pytest.mark.parametrize("name", ATTACKS)
def test_no_attack_on_stamp_or_evidence_is_accepted(stamped_subject: Subject, name: str) -> None:
    forgery = ATTACKS[name](stamped_subject)
    assert forgery.after != forgery.before
    assert stamped_subject.verdict(forgery.before).stamped_at == SIGNED_AT
    assert not stamped_subject.accepts(forgery.after)
