"""pyHanko's classes of PDF objects, which carry no types, and short ways to make them."""

from typing import Any

from pyhanko.pdf_utils import generic as untyped
from pyhanko_certvalidator.registry import SimpleCertificateStore as Untyped

generic: Any = untyped
SimpleCertificateStore: Any = Untyped
pdf_name = untyped.pdf_name


def dictionary(**entries: Any) -> Any:
    """A dictionary; its keys are given without their slash."""
    return generic.DictionaryObject({pdf_name(f"/{key}"): value for key, value in entries.items()})


def stream(data: bytes, **entries: Any) -> Any:
    """A stream with these entries in its dictionary."""
    return generic.StreamObject(dictionary(**entries), stream_data=data)


def numbers(*values: int) -> Any:
    """An array of integers."""
    return generic.ArrayObject([generic.NumberObject(value) for value in values])
