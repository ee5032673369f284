"""Signatures emptied, moved, wrapped, added, taken off.

V. Mladenov and others, "1 Trillion Dollar Refund: How To Spoof PDF Signatures" (ACM CCS 2019):
universal signature forgery (USF) and signature wrapping (SWA). S. Rohlmann and others, "Breaking
the Specification: PDF Certification" (IEEE S&P 2021): sneaky signature (SSA).
"""

import re
from collections.abc import Callable
from io import BytesIO

import pikepdf
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, PdfTimeStamper, SimpleSigner

from tests.certificates.tamper.revision import (
    appended,
    last_table,
    table,
    updated,
    write_on_page,
)
from tests.certificates.tamper.stranger import below_leaf, stranger, time_stamper
from tests.certificates.tamper.subject import Forgery, Subject, gap_of, in_gap
from tests.certificates.tamper.updates import drop_certification

Attack = Callable[[Subject], Forgery]


def _dictionary_of(pdf: bytes) -> tuple[int, bytes]:
    """Number and bytes of the signature's dictionary."""
    (number,) = re.findall(rb"/DocMDP (\d+) 0 R", pdf)
    gap = gap_of(pdf)
    opening = pdf.rindex(b" obj\n", 0, gap.start) + 5
    return int(number), pdf[opening : pdf.index(b"endobj", gap.stop)]


def _contents(value: bytes | None) -> Attack:
    """USF: ``/Contents`` emptied or left out, in a file that says something else."""

    def attack(subject: Subject) -> Forgery:
        forged = updated(subject.pdf, write_on_page)
        number, content = _dictionary_of(subject.pdf)
        entry = b"" if value is None else b"/Contents " + value
        content = re.sub(rb"/Contents <[0-9A-F]+>", entry, content)
        return Forgery(subject.pdf, appended(forged, {number: content}), visible=True)

    return attack


def _byte_range(value: bytes | None) -> Attack:
    """USF: ``/ByteRange`` spoilt or left out, in a file that says something else."""

    def attack(subject: Subject) -> Forgery:
        forged = updated(subject.pdf, write_on_page)
        number, content = _dictionary_of(subject.pdf)
        entry = b"" if value is None else b"/ByteRange " + value
        content = re.sub(rb"/ByteRange \[[0-9 ]+\]", entry, content)
        return Forgery(subject.pdf, appended(forged, {number: content}), visible=True)

    return attack


def _in_place(old: bytes, new: bytes) -> Attack:
    """The signature's dictionary changed where it stands."""

    def attack(subject: Subject) -> Forgery:
        start = gap_of(subject.pdf).start - 200
        assert subject.pdf.count(old, start) == 1
        assert len(old) == len(new)
        return Forgery(subject.pdf, subject.pdf[:start] + subject.pdf[start:].replace(old, new))

    return attack


def _range_to_whole_gap(subject: Subject) -> Forgery:
    """A byte range that hashes the hex string too, or all but a byte of what follows."""
    (found,) = re.findall(rb"/ByteRange \[[0-9 ]+\] *", subject.pdf)
    other = (b"/ByteRange [0 %d %d 0]" % (len(subject.pdf), len(subject.pdf))).ljust(len(found))
    return Forgery(subject.pdf, subject.pdf.replace(found, other))


def _wrapped(subject: Subject) -> Forgery:
    """SWA: the second hashed part moves to the end; what shows stands between, not hashed.

    The genuine end still leads to the old offset of the table; there stands another table now.
    """
    pdf, gap = subject.pdf, gap_of(subject.pdf)
    revision = updated(pdf, write_on_page)
    new = _objects(revision[len(pdf) :])
    at = last_table(pdf)
    head, tail = pdf[: gap.stop], pdf[gap.stop :]
    pad = at - len(head)
    opening = b"\n/ByteRange [0 %d %10d %d]" + _rest_of_dictionary(tail)
    # The table first, exactly where the old one stood; the objects behind it.
    before_table = opening % (gap.start, 0, len(tail))
    assert len(before_table) < pad, "there is no room in front of the table"
    body, entries = b"", _places(pdf, from_=len(subject.unsigned))
    rows = table(entries | dict.fromkeys(new, (1, 0, 0)), at=at, pdf=_older(pdf))
    for number, content in new.items():
        entries[number] = (1, at + len(rows) + len(body), 0)
        body += b"%d 0 obj%b\nendobj\n" % (number, content)
    rows = table(entries, at=at, pdf=_older(pdf))
    # The moved part begins inside a dictionary; a comment would hide its first line only.
    resume = at + len(rows) + len(body)
    before_table = (opening % (gap.start, resume, len(tail))).ljust(pad)
    return Forgery(pdf, head + before_table + rows + body + tail, visible=True)


def _places(pdf: bytes, *, from_: int) -> dict[int, tuple[int, int, int]]:
    """Where the objects of the signing revision stand, up to the signature itself."""
    found = re.compile(rb"(\d+) 0 obj").finditer(pdf, from_, gap_of(pdf).start)
    return {int(match[1]): (1, match.start(), 0) for match in found}


def _rest_of_dictionary(tail: bytes) -> bytes:
    """What follows the byte range in the signature's dictionary, and the end of the object."""
    start = tail.index(b"]") + 1
    return re.sub(rb"\s+", b" ", tail[start : tail.index(b"endobj") + 7])


def _older(pdf: bytes) -> bytes:
    """The file as far as its last table is concerned with: without the newest revision's end."""
    cut: bytes = pdf[: pdf.rindex(b"startxref")]
    (size,) = re.findall(rb"/Size (\d+)", pdf[last_table(pdf) :])
    # The signed objects keep their places; only those of the forged revision are new.
    return cut + b"/Size %b\nstartxref\n%b" % (
        size,
        re.findall(rb"/Prev (\d+)", pdf[last_table(pdf) :])[-1],
    )


def _objects(revision: bytes) -> dict[int, bytes]:
    """The objects of a revision by number, without its table."""
    found = re.findall(rb"(\d+) 0 obj(.*?)\nendobj", revision, re.DOTALL)
    return {int(number): content for number, content in found if b"/Type /XRef" not in content}


def _closed_early(inside: bytes) -> Attack:
    """The hex string ends early, and the room left holds what nobody hashes."""

    def attack(subject: Subject) -> Forgery:
        gap = gap_of(subject.pdf)
        room = subject.pdf[gap.start : gap.stop]
        used = room.rstrip(b"0>")
        used += b"00" if len(used) % 2 else b"0"
        left = len(room) - len(used) - 1 - len(inside) - 2
        assert left >= 0
        return Forgery(
            subject.pdf, in_gap(subject.pdf, used + b">" + inside + b"<" + b"0" * left + b">")
        )

    return attack


def _stripped_in_place(subject: Subject) -> Forgery:
    """The signing revision cut off: the rendered record as it was before."""
    return Forgery(subject.pdf, subject.unsigned)


def _stripped_by_update(subject: Subject) -> Forgery:
    with pikepdf.open(BytesIO(subject.pdf)) as pdf:
        field = pdf.Root.AcroForm.Fields[0]
        number = field.objgen[0]
        del field["/V"]
        content = field.unparse(resolved=True)
    return Forgery(subject.pdf, appended(subject.pdf, {number: content}))


def _signed_again(
    signer: Callable[[Subject], SimpleSigner], *, over: str, certify: bool = False
) -> Attack:
    """Another signature over a changed file: beside the issuer's, or in its place."""

    def attack(subject: Subject) -> Forgery:
        # The writer refuses to add to a file that its certification closes.
        forged = (
            updated(updated(subject.pdf, write_on_page), drop_certification)
            if over == "signed"
            else updated(subject.unsigned, write_on_page)
        )
        name = "another" if over == "signed" else "issuer_signature"
        about = PdfSignatureMetadata(
            field_name=name,
            md_algorithm="sha256",
            subfilter=SigSeedSubFilter.PADES,
            certify=certify,
            docmdp_permissions=MDPPerm.NO_CHANGES,
        )
        done = PdfSigner(
            about, signer(subject), new_field_spec=SigFieldSpec(name) if over == "signed" else None
        ).sign_pdf(IncrementalPdfFileWriter(BytesIO(forged)))
        return Forgery(subject.pdf, done.getvalue(), visible=True)

    return attack


def _document_time_stamp(subject: Subject) -> Forgery:
    """A time-stamp over the whole file as it is: harmless elsewhere, no part of a record."""
    output = PdfTimeStamper(time_stamper()).timestamp_pdf(
        IncrementalPdfFileWriter(BytesIO(subject.pdf)), md_algorithm="sha256"
    )
    return Forgery(subject.pdf, output.getvalue())


ATTACKS: dict[str, Attack] = {
    "contents left out (USF)": _contents(None),
    "contents null (USF)": _contents(b"null"),
    "contents empty (USF)": _contents(b"<>"),
    "contents one zero byte (USF)": _contents(b"<00>"),
    "byte range left out (USF)": _byte_range(None),
    "byte range null (USF)": _byte_range(b"null"),
    "byte range empty (USF)": _byte_range(b"[]"),
    "byte range of nothing (USF)": _byte_range(b"[0 0 0 0]"),
    "byte range negative (USF)": _byte_range(b"[0 -1 -2 -3]"),
    "byte range of three (USF)": _byte_range(b"[0 80000 83000]"),
    "byte range of words (USF)": _byte_range(b"[(a) (b) (c) (d)]"),
    "byte range beyond the end (USF)": _byte_range(b"[0 80000 83000 999999999999]"),
    "kind of signature renamed (USF)": _in_place(b"/ETSI.CAdES.detached", b"/adbe.pkcs7.detached"),
    "contents renamed (USF)": _in_place(b"/Contents <", b"/Cont3nts <"),
    "byte range renamed (USF)": _in_place(b"/ByteRange [", b"/ByteRang3 ["),
    "time of signing moved": _in_place(b"20260928140500Z", b"20260928140501Z"),
    "byte range over the signature itself": _range_to_whole_gap,
    "second part moved to the end (SWA)": _wrapped,
    "hex string closed early, another key in the room": _closed_early(b"/Name(Eve)/X "),
    "hex string closed early, objects in the room": _closed_early(
        b">>\nendobj\n900 0 obj\n(Eve)\nendobj\n901 0 obj\n<</Contents "
    ),
    "signing revision cut off": _stripped_in_place,
    "signature's value taken from its field": _stripped_by_update,
    "changed and signed again by a stranger": _signed_again(stranger, over="signed"),
    "signed by a stranger in the issuer's name": _signed_again(
        stranger, over="unsigned", certify=True
    ),
    "signed below the signing certificate": _signed_again(
        below_leaf, over="unsigned", certify=True
    ),
    "document time-stamp added": _document_time_stamp,
}
