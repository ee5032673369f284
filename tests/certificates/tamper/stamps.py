"""Time-stamp and evidence taken off, or swapped between records that have them.

What the container of a stamped record may hold is tried out in
``tests/certificates/signing/test_stamp_tampering.py``.
"""

import hashlib
import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

from asn1crypto import cms, crl
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation.dss import DocumentSecurityStore

from certificates.signing.waiting import wait_for
from tests.certificates.tamper.containers import rebuilt
from tests.certificates.tamper.objects import dictionary
from tests.certificates.tamper.revision import updated
from tests.certificates.tamper.stranger import time_stamper
from tests.certificates.tamper.subject import Forgery, Subject, container_of

Attack = Callable[[Subject], Forgery]


def _signer(data: cms.SignedData) -> cms.SignerInfo:
    return data["signer_infos"][0]


def _taken_off(data: cms.SignedData, subject: Subject) -> None:
    del _signer(data)["unsigned_attrs"]


def _of_other(data: cms.SignedData, subject: Subject) -> None:
    other = cms.ContentInfo.load(container_of(subject.other))["content"]
    _signer(data)["unsigned_attrs"] = _signer(other)["unsigned_attrs"].copy()


def _of_stranger(data: cms.SignedData, subject: Subject) -> None:
    """A time-stamp over the right signature, by an authority of no repute."""
    signature = _signer(data)["signature"].native
    imprint = hashlib.sha256(signature).digest()
    token = wait_for(time_stamper().async_timestamp(imprint, "sha256"))
    _signer(data)["unsigned_attrs"] = [{"type": "signature_time_stamp_token", "values": [token]}]


def _evidence_dropped(writer: Any) -> None:
    del writer.root["/DSS"]
    writer.update_root()


def _evidence_emptied(writer: Any) -> None:
    writer.root["/DSS"] = dictionary()
    writer.update_root()


def _evidence_of_other(subject: Subject) -> Forgery:
    """The store of the other record's file written anew behind this one."""
    other = DocumentSecurityStore.read_dss(PdfFileReader(BytesIO(subject.other)))
    lists = [row.get_object().data for row in other.crls]

    def swap(writer: Any) -> None:
        del writer.root["/DSS"]
        DocumentSecurityStore.supply_dss_in_writer(
            writer,
            None,
            certs=list(other.load_certs()),
            crls=[crl.CertificateList.load(row) for row in lists],
        )
        writer.update_root()

    return Forgery(subject.pdf, updated(subject.pdf, swap))


def _list_spoilt(subject: Subject) -> Forgery:
    """The list of revoked certificates is no stream any more, where it stands."""
    (found,) = re.findall(rb"/CRLs \[", subject.pdf)
    return Forgery(subject.pdf, subject.pdf.replace(found, b"/CRLx ["))


ATTACKS: dict[str, Attack] = {
    "time-stamp taken off": rebuilt(_taken_off),
    "time-stamp of another record": rebuilt(_of_other),
    "time-stamp by an authority of no repute": rebuilt(_of_stranger),
    "evidence dropped": lambda s: Forgery(s.pdf, updated(s.pdf, _evidence_dropped)),
    "evidence emptied": lambda s: Forgery(s.pdf, updated(s.pdf, _evidence_emptied)),
    "evidence of another record": _evidence_of_other,
    "list of revoked certificates renamed": _list_spoilt,
}
