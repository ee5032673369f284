"""Files that somebody may send instead of a record: each with the sentence that it must get."""

import zipfile
import zlib
from collections.abc import Callable
from io import BytesIO

import pikepdf

from certificates.sandbox import limits
from certificates.signing import verdict

HEAD = b"%PDF-1.7\n"
Maker = Callable[[bytes], bytes]


def encrypted(pdf: bytes) -> bytes:
    """The record saved with a password."""
    output = BytesIO()
    with pikepdf.open(BytesIO(pdf)) as opened:
        opened.save(output, encryption=pikepdf.Encryption(owner="mason", user="mason"))
    return output.getvalue()


def stripped(pdf: bytes) -> bytes:
    """The record without its signature."""
    output = BytesIO()
    with pikepdf.open(BytesIO(pdf)) as opened:
        del opened.Root.AcroForm.Fields[0]["/V"]
        del opened.Root["/Perms"]
        opened.save(output)
    return output.getvalue()


def altered(pdf: bytes) -> bytes:
    """One bit changed in the content of a page."""
    changed = bytearray(pdf)
    changed[pdf.index(b"stream\n") + 40] ^= 1
    return bytes(changed)


def archive_behind(pdf: bytes) -> bytes:
    """A PDF and an archive at once: archives are read from their end."""
    output = BytesIO(pdf)
    output.seek(0, 2)
    with zipfile.ZipFile(output, "a") as file:
        file.writestr("invoice.exe", b"MZ")
    return output.getvalue()


def page_before(pdf: bytes) -> bytes:
    """A PDF and a web page at once: many readers look for the PDF in the first kilobyte."""
    return b"<html><script>alert(1)</script><!--\n" + pdf


def page_behind(pdf: bytes) -> bytes:
    """The other way round."""
    return pdf + b"\n<html><script>alert(1)</script>"


def _with_table(table: bytes, entries: bytes = b"") -> bytes:
    body = HEAD + entries
    return body + table + b"startxref\n%d\n%%%%EOF" % len(body)


def _table_stream(packed: bytes, filters: bytes) -> bytes:
    return _with_table(
        b"1 0 obj\n<</Type/XRef/W[1 2 1]/Size 10000000/Root 1 0 R/Filter[%b]/Length %d>>\n"
        b"stream\n%b\nendstream\nendobj\n" % (filters, len(packed), packed)
    )


def gigabyte_of_zeros(_: bytes) -> bytes:
    """A reference stream (ISO 32000-1, 7.5.8) that would swell to 1 GB."""
    press = zlib.compressobj(9)
    block = bytes(10_000_000)
    # After a full flush (RFC 1951, 3.2.3) what follows needs nothing of what came before.
    first, next_one = (press.compress(block) + press.flush(zlib.Z_FULL_FLUSH) for _ in range(2))
    return _table_stream(first + 99 * next_one + press.flush(), b"/FlateDecode")


def packed_many_times(_: bytes) -> bytes:
    """Packed 20 times over (ISO 32000-1, 7.4.1): 40 MB of zeros in less than a kilobyte."""
    packed = bytes(40_000_000)
    for _layer in range(20):
        packed = zlib.compress(packed, 9)
    return _table_stream(packed, b"/FlateDecode" * 20)


def round_and_round(_: bytes) -> bytes:
    """Reference tables that name each other as the one before (ISO 32000-1, 7.5.5)."""
    table = b"xref\n0 1\n0000000000 65535 f \ntrailer\n<</Size 1/Root 1 0 R/Prev %d>>\n"
    return _with_table(table % len(HEAD))


def pages_in_a_circle(_: bytes) -> bytes:
    """A signature field that is its own child."""
    return _small(
        b"<</Type/Catalog/Pages 2 0 R/AcroForm<</Fields[3 0 R]/SigFlags 3>>>>",
        b"<</Type/Pages/Kids[2 0 R]/Count 1/Parent 2 0 R>>",
        b"<</Kids[3 0 R]/Parent 3 0 R/T(a)/FT/Sig>>",
    )


def many_pages(_: bytes) -> bytes:
    """A page tree that claims a million pages."""
    return _small(
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[]/Count 1000000>>",
    )


def deep_arrays(_: bytes) -> bytes:
    """An array in an array, a hundred thousand times."""
    return _small(b"<</Type/Catalog/Pages " + b"[" * 100_000 + b"]" * 100_000 + b">>")


def _small(*objects: bytes) -> bytes:
    body, places = HEAD, []
    for number, content in enumerate(objects, 1):
        places.append(len(body))
        body += b"%d 0 obj\n%b\nendobj\n" % (number, content)
    rows = b"".join(b"%010d 00000 n \n" % place for place in places)
    size = len(objects) + 1
    return body + (
        b"xref\n0 %d\n0000000000 65535 f \n%btrailer\n<</Size %d/Root 1 0 R>>\n"
        b"startxref\n%d\n%%%%EOF" % (size, rows, size, len(body))
    )


FILES: dict[str, tuple[Maker, set[str]]] = {
    "nothing": (lambda _: b"", {verdict.NOT_A_PDF}),
    "text": (lambda _: b"Dear sir or madam", {verdict.NOT_A_PDF}),
    "encrypted": (encrypted, {verdict.ENCRYPTED}),
    "unsigned": (stripped, {verdict.NO_SIGNATURE}),
    "altered": (altered, {verdict.ALTERED}),
    "cut": (lambda pdf: pdf[: len(pdf) * 2 // 3], {verdict.UNREADABLE}),
    "cut at the end": (lambda pdf: pdf[:-40], {verdict.UNREADABLE, verdict.NOT_WHOLE}),
    "archive behind": (archive_behind, {verdict.UNREADABLE, verdict.NOT_WHOLE}),
    "page before": (page_before, {verdict.NOT_A_PDF}),
    "page behind": (page_behind, {verdict.NOT_WHOLE}),
    "1 GB of zeros": (gigabyte_of_zeros, {verdict.UNREADABLE}),
    "packed many times": (packed_many_times, {verdict.UNREADABLE, limits.TOO_SLOW}),
    "tables in a circle": (round_and_round, {verdict.UNREADABLE, limits.TOO_SLOW}),
    "fields in a circle": (
        pages_in_a_circle,
        {verdict.UNREADABLE, verdict.NO_SIGNATURE, limits.TOO_SLOW},
    ),
    "a million pages": (many_pages, {limits.TOO_MANY_PAGES}),
    "deep arrays": (deep_arrays, {verdict.UNREADABLE, limits.TOO_SLOW}),
}
