"""Incremental updates, by pyHanko's writer and by hand (ISO 32000-1, 7.5.6)."""

import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from tests.certificates.tamper.objects import dictionary, generic, numbers, pdf_name, stream

FORGED = "Eve Mallory holds this record"


def updated(pdf: bytes, change: Callable[[Any], None]) -> bytes:
    """The file with one more revision, written by the library."""
    writer: Any = IncrementalPdfFileWriter(BytesIO(pdf))
    change(writer)
    output = BytesIO()
    writer.write(output)
    found = output.getvalue()
    assert found.startswith(pdf)
    return found


def page_of(writer: Any) -> Any:
    """The first page."""
    return writer.root["/Pages"]["/Kids"][0]


def drawing(words: str = FORGED) -> bytes:
    """Operators that paint a white band across the page and write on it."""
    return (
        b"q 1 1 1 rg 0 300 800 200 re f Q BT 0 0 0 rg /FForged 24 Tf 60 400 Td (%b) Tj ET"
        % words.encode("ascii")
    )


def helvetica(**more: Any) -> Any:
    """A font that every reader has, so that nothing need be embedded."""
    return dictionary(
        Type=pdf_name("/Font"),
        Subtype=pdf_name("/Type1"),
        BaseFont=pdf_name("/Helvetica"),
        **more,
    )


def font(writer: Any) -> Any:
    """A reference to ``helvetica``."""
    return writer.add_object(helvetica())


def form_object(writer: Any, operators: bytes) -> Any:
    """A reference to a form XObject as large as a page, with a font for ``drawing``."""
    return writer.add_object(
        stream(
            operators,
            Type=pdf_name("/XObject"),
            Subtype=pdf_name("/Form"),
            BBox=numbers(0, 0, 800, 900),
            Resources=fonts(font(writer)),
        )
    )


def fonts(reference: Any) -> Any:
    """Resources that name one font."""
    return dictionary(Font=dictionary(FForged=reference))


def draw_more(writer: Any, operators: bytes, kind: str, name: str, resource: Any) -> None:
    """Add operators to the end of the first page, and a resource that they name."""
    page = page_of(writer)
    more = writer.add_object(stream(operators))
    contents = page["/Contents"]
    old = list(contents) if isinstance(contents, list) else [page.raw_get("/Contents")]
    # The page's own operators may leave the plane turned upside down.
    opening = writer.add_object(stream(b"q"))
    closing = writer.add_object(stream(b"Q"))
    page["/Contents"] = generic.ArrayObject([opening, *old, closing, more])
    resources = page["/Resources"]
    named = dictionary()
    if kind in resources:
        # Without looking up what they refer to.
        named.update(dict.items(resources[kind]))
    named[pdf_name(name)] = resource
    resources[pdf_name(kind)] = named
    writer.update_container(resources)
    writer.update_container(page)


def write_on_page(writer: Any) -> None:
    """Write other words across the first page."""
    draw_more(writer, drawing(), "/Font", "/FForged", font(writer))


def appended(
    pdf: bytes, objects: dict[int, bytes], *, root: int | None = None, freed: tuple[int, ...] = ()
) -> bytes:
    """The file with one more revision, written by hand; ``objects`` by number.

    ``root`` names another catalog; ``freed`` are numbers marked as deleted.
    """
    body, entries = pdf, {}
    for number, content in objects.items():
        entries[number] = (1, len(body), 0)
        body += b"%d 0 obj\n%b\nendobj\n" % (number, content)
    entries |= dict.fromkeys(freed, (0, 0, 1))
    return body + table(entries, at=len(body), pdf=pdf, root=root) + _end(len(body))


def table(
    entries: dict[int, tuple[int, int, int]], *, at: int, pdf: bytes, root: int | None = None
) -> bytes:
    """A cross-reference stream that stands at offset ``at`` and leads to that of ``pdf``."""
    size = size_of(pdf)
    number = max([size, *entries]) + 1
    entries = {**entries, number: (1, at, 0)}
    index = b" ".join(b"%d 1" % key for key in sorted(entries))
    rows = b"".join(
        kind.to_bytes(1, "big") + offset.to_bytes(4, "big") + generation.to_bytes(2, "big")
        for _, (kind, offset, generation) in sorted(entries.items())
    )
    (found, *_) = re.findall(rb"/Root (\d+) 0 R", pdf)
    return (
        b"%d 0 obj\n<</Type/XRef/W[1 4 2]/Index[%b]/Size %d/Root %d 0 R/Prev %d/Length %d>>\n"
        b"stream\n%b\nendstream\nendobj\n"
        % (number, index, number + 1, root or int(found), last_table(pdf), len(rows), rows)
    )


def _end(at: int) -> bytes:
    return b"startxref\n%d\n%%%%EOF\n" % at


def size_of(pdf: bytes) -> int:
    """One more than the highest object number."""
    return max(int(found) for found in re.findall(rb"/Size (\d+)", pdf))


def last_table(pdf: bytes) -> int:
    """The offset of the newest cross-reference stream."""
    return int(re.findall(rb"startxref\s+(\d+)", pdf)[-1])
