"""Sealed standards read once a process: a sealed document never changes."""

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from assessments.engine.standard import Standard, load_standard

KEPT = 32


class _Sealed:
    """A document that is told from others by the digest it was sealed with."""

    def __init__(self, document: Mapping[str, Any], digest: str) -> None:
        self.document = document
        self.digest = digest

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Sealed) and self.digest == other.digest

    def __hash__(self) -> int:
        return hash(self.digest)


def sealed_standard(document: Mapping[str, Any], digest: str) -> Standard:
    """Return a sealed standard read and checked; ``digest`` is the one it was sealed with.

    For pages only: whatever decides or checks reads the document itself.
    """
    return _read(_Sealed(document, digest))


@lru_cache(maxsize=KEPT)
def _read(sealed: _Sealed) -> Standard:
    return load_standard(sealed.document)
