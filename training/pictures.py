"""Decoding pictures that others send, by Pillow."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

from PIL import ImageFile

_DECODING = Lock()


@contextmanager
def only_whole() -> Iterator[None]:
    """Have Pillow raise on cut and damaged pictures in this block.

    WeasyPrint makes it accept them, in the whole process, as soon as it is imported.
    """
    with _DECODING:
        before = ImageFile.LOAD_TRUNCATED_IMAGES
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = before
