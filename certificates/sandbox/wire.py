"""What goes to the process that reads a file, and what comes back: JSON, never pickles."""

import json
import struct
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any, BinaryIO, get_args

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from certificates.signing.verdict import Verdict

LENGTH = struct.Struct(">I")
# Said by the process once all is loaded: what goes wrong later is the file's doing.
READY = b"ready\n"
MOMENTS = frozenset(
    field.name for field in fields(Verdict) if datetime in (field.type, *get_args(field.type))
)


@dataclass(frozen=True)
class Job:
    """A file and the rest of what ``verify`` asks for; ``now`` carries a time zone."""

    pdf: bytes
    now: datetime
    roots: list[x509.Certificate]
    stamp_roots: list[x509.Certificate]
    crls: list[x509.CertificateRevocationList]


def pack_job(job: Job) -> bytes:
    """The job as bytes: the length of a JSON head, the head, the file."""
    head = {
        "now": job.now.isoformat(),
        "roots": _pems(job.roots),
        "stamp_roots": _pems(job.stamp_roots),
        "crls": _pems(job.crls),
    }
    packed = json.dumps(head).encode()
    return LENGTH.pack(len(packed)) + packed + job.pdf


def read_job(stream: BinaryIO) -> Job:
    """The job that ``pack_job`` made, read to the end of the stream."""
    (length,) = LENGTH.unpack(stream.read(LENGTH.size))
    head = json.loads(stream.read(length))
    return Job(
        stream.read(),
        datetime.fromisoformat(head["now"]),
        [x509.load_pem_x509_certificate(pem.encode()) for pem in head["roots"]],
        [x509.load_pem_x509_certificate(pem.encode()) for pem in head["stamp_roots"]],
        [x509.load_pem_x509_crl(pem.encode()) for pem in head["crls"]],
    )


def _pems(items: Sequence[x509.Certificate | x509.CertificateRevocationList]) -> list[str]:
    return [item.public_bytes(Encoding.PEM).decode() for item in items]


def pack_verdict(found: Verdict) -> bytes:
    """The verdict as JSON: moments as ISO 8601 text."""
    told = asdict(found)
    for name in MOMENTS:
        told[name] = told[name].isoformat() if told[name] else None
    return json.dumps(told).encode()


def read_verdict(text: bytes) -> Verdict:
    """The verdict that ``pack_verdict`` made; ValueError or TypeError when it is none."""
    told: Any = json.loads(text)
    if not isinstance(told, dict):
        raise TypeError("a verdict is an object")
    for name in MOMENTS:
        told[name] = datetime.fromisoformat(told[name]) if told.get(name) else None
    return Verdict(**told)
