"""The checker for one's own computer reads a submittal, and takes no contractor for an issuer."""

from pathlib import Path

from django.utils import timezone

from certificates.keys import keystore_of
from certificates.rendering import render
from certificates.signing import sign, verify
from certificates.signing.attachment import SUBMITTAL_NAME
from certificates.submittal.stored import read_as_submitted
from tests.certificates.check.test_checker import by_node
from tests.certificates.crew.submittals.conftest import Works
from tests.certificates.pdf.factory import make_record


def test_it_agrees_with_the_server_on_a_submittal(works: Works, tmp_path: Path) -> None:
    made = works.submit()
    pdf, keystore = read_as_submitted(made), keystore_of(works.contractor)
    # A record that a contractor's key signed: a genuine signature of somebody who issues none.
    usurped = sign(
        render(make_record()),
        keystore,
        signing_time=made.submitted_at,
        reason="Issue of the record",
        location="Port Ellery",
    )
    changed = pdf.replace(b"North face", b"South face")
    files = {"made": pdf, "usurped": usurped, "changed": changed}
    now, folder = timezone.now(), tmp_path / "checker"
    folder.mkdir()
    found = by_node(files, keystore.roots_pem(), folder, now)
    assert found["made"]["faults"] == []
    assert found["made"]["submittal"] == made.document
    assert found["made"]["digests"] == {"submittal": made.digest}
    assert found["usurped"]["faults"] == ["NO_RECORD"]
    assert "record" not in found["usurped"]
    assert found["changed"]["faults"] == ["ALTERED"]
    assert by_node(files, b"", folder, now)["made"]["faults"] == ["UNKNOWN_ISSUER"]
    server = [verify(each, keystore.roots(), attached=SUBMITTAL_NAME) for each in files.values()]
    assert [bool(each.faults) for each in server] == [False, True, True]
