"""What is attacked: a genuine record, another one by the same issuer, and the keys behind both."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from asn1crypto import cms
from cryptography import x509

from certificates.signing import KeyStore, Verdict, verify
from tests.certificates.pdf.conftest import CHECKED_AT

Sign = Callable[[bytes, KeyStore], bytes]


@dataclass(frozen=True)
class Subject:
    """``pdf`` is a genuine record and ``unsigned`` the same before it was signed.

    ``other`` is a genuine record of somebody else. ``sign`` signs a rendered record as ``pdf``
    was signed, at whatever level. ``stamp_roots`` vouch for the authority of its time-stamp.
    """

    pdf: bytes
    unsigned: bytes
    other: bytes
    keystore: KeyStore
    sign: Sign
    stamp_roots: tuple[x509.Certificate, ...] = ()

    def verdict(self, pdf: bytes) -> Verdict:
        """Our verdict on a changed file; what it holds is only given when it is genuine."""
        found = verify(pdf, self.keystore.roots(), now=CHECKED_AT, stamp_roots=self.stamp_roots)
        assert found.record is None or found.genuine
        return found

    def accepts(self, pdf: bytes) -> bool:
        """Whether the file passes for a genuine record."""
        return self.verdict(pdf).genuine

    def issue(self, unsigned: bytes) -> bytes:
        """Sign with the issuer's key what an attacker prepared; it must pass until changed."""
        signed = self.sign(unsigned, self.keystore)
        assert self.accepts(signed)
        return signed


@dataclass(frozen=True)
class Forgery:
    """A genuine file and what an attacker made of it.

    ``visible`` says that the pages look different, which the tests check with a reader.
    """

    before: bytes
    after: bytes
    visible: bool = False


def gap_of(pdf: bytes) -> range:
    """Where the signature's own hex string lies, with its angle brackets: it is not hashed."""
    (found,) = re.finditer(rb"/ByteRange \[0 (\d+) (\d+) \d+\]", pdf)
    return range(int(found[1]), int(found[2]))


def container_of(pdf: bytes) -> bytes:
    """The CMS object of the signature, without the zeros that fill up its room."""
    gap = gap_of(pdf)
    room = bytes.fromhex(pdf[gap.start + 1 : gap.stop - 1].decode())
    return bytes(cms.ContentInfo.load(room, strict=False).dump())


def with_container(pdf: bytes, container: bytes) -> bytes:
    """The file with another CMS object in the same room."""
    gap = gap_of(pdf)
    digits = container.hex().upper().encode().ljust(len(gap) - 2, b"0")
    assert len(digits) == len(gap) - 2, "the room is too small for this container"
    return pdf[: gap.start] + b"<" + digits + b">" + pdf[gap.stop :]


def in_gap(pdf: bytes, content: bytes) -> bytes:
    """The file with other bytes where the signature's hex string was."""
    gap = gap_of(pdf)
    assert len(content) == len(gap)
    return pdf[: gap.start] + content + pdf[gap.stop :]
