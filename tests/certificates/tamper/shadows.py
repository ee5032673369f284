"""Files prepared before they are signed, and turned into something else afterwards.

C. Mainka, V. Mladenov, S. Rohlmann, "Shadow Attacks: Hiding and Replacing Content in Signed PDFs"
(NDSS 2021): hide, replace, hide and replace. Whoever issues a record renders it himself; here it
is assumed that an attacker had his hands on the file before it was signed.
"""

from collections.abc import Callable
from io import BytesIO
from typing import Any

import pikepdf
from pyhanko.pdf_utils.generic import pdf_string

from tests.certificates.tamper.objects import dictionary, generic, numbers, pdf_name, stream
from tests.certificates.tamper.revision import (
    appended,
    draw_more,
    drawing,
    font,
    fonts,
    form_object,
    helvetica,
    page_of,
    updated,
)
from tests.certificates.tamper.subject import Forgery, Subject

COVER = b"q 1 1 1 rg 0 0 800 900 re f Q"


def _hide(subject: Subject) -> Forgery:
    """Other words lie below a white cover; afterwards the cover is emptied."""
    cover: list[int] = []

    def prepare(writer: Any) -> None:
        draw_more(writer, drawing(), "/Font", "/FForged", font(writer))
        reference = form_object(writer, COVER)
        draw_more(writer, b"/Cover Do", "/XObject", "/Cover", reference)
        cover.append(reference.idnum)

    def uncover(writer: Any) -> None:
        writer.objects[(0, cover[0])] = stream(
            b"",
            Type=pdf_name("/XObject"),
            Subtype=pdf_name("/Form"),
            BBox=generic.ArrayObject([generic.NumberObject(0)] * 4),
        )

    signed = subject.issue(updated(subject.unsigned, prepare))
    return Forgery(signed, updated(signed, uncover), visible=True)


def _hide_by_reference(subject: Subject) -> Forgery:
    """The cover is left where it is, and freed in the table of references."""
    cover: list[int] = []

    def prepare(writer: Any) -> None:
        draw_more(writer, drawing(), "/Font", "/FForged", font(writer))
        reference = form_object(writer, COVER)
        draw_more(writer, b"/Cover Do", "/XObject", "/Cover", reference)
        cover.append(reference.idnum)

    signed = subject.issue(updated(subject.unsigned, prepare))
    return Forgery(signed, appended(signed, {}, freed=(cover[0],)), visible=True)


def _replace_font(subject: Subject) -> Forgery:
    """The words stay, the font that draws them does not: digits take each other's shape."""
    swapped: list[int] = []

    def prepare(writer: Any) -> None:
        reference = font(writer)
        swapped.append(reference.idnum)
        draw_more(writer, drawing("0 of 14 criteria met"), "/Font", "/FForged", reference)

    def swap(writer: Any) -> None:
        differences = generic.ArrayObject(
            [generic.NumberObject(48), pdf_name("/nine"), pdf_name("/zero")]
        )
        encoding = dictionary(
            Type=pdf_name("/Encoding"),
            Differences=differences,
        )
        writer.objects[(0, swapped[0])] = helvetica(Encoding=encoding)

    signed = subject.issue(updated(subject.unsigned, prepare))
    return Forgery(signed, updated(signed, swap), visible=True)


def _replace_overlay(subject: Subject) -> Forgery:
    """A text field shows harmless words; afterwards its appearance shows others."""
    fields: list[int] = []

    def prepare(writer: Any) -> None:
        field = dictionary(
            Type=pdf_name("/Annot"),
            Subtype=pdf_name("/Widget"),
            FT=pdf_name("/Tx"),
            T=pdf_string("remarks"),
            F=generic.NumberObject(4),
            Rect=numbers(0, 0, 800, 900),
            AP=dictionary(N=form_object(writer, drawing("nothing to remark"))),
        )
        reference = writer.add_object(field)
        fields.append(reference.idnum)
        page = page_of(writer)
        page["/Annots"] = generic.ArrayObject([*page["/Annots"], reference])
        writer.update_container(page)
        writer.root["/AcroForm"]["/Fields"].append(reference)
        writer.update_container(writer.root["/AcroForm"])

    def swap(writer: Any) -> None:
        field = writer.get_object(generic.Reference(fields[0], 0, writer))
        field["/AP"] = dictionary(N=form_object(writer, drawing()))
        writer.update_container(field)

    signed = subject.issue(updated(subject.unsigned, prepare))
    return Forgery(signed, updated(signed, swap), visible=True)


def _shadow_document(subject: Subject) -> tuple[bytes, int]:
    """The record signed with a second catalog and pages inside that nothing refers to."""
    hidden: list[int] = []

    def prepare(writer: Any) -> None:
        page = generic.DictionaryObject(page_of(writer))
        page["/Contents"] = writer.add_object(stream(drawing()))
        page["/Resources"] = fonts(font(writer))
        pages = dictionary(
            Type=pdf_name("/Pages"),
            Kids=generic.ArrayObject([writer.add_object(page)]),
            Count=generic.NumberObject(1),
        )
        reference = writer.add_object(pages)
        page["/Parent"] = reference
        catalog = generic.DictionaryObject(writer.root)
        catalog[pdf_name("/Pages")] = reference
        hidden.append(writer.add_object(catalog).idnum)

    return subject.issue(updated(subject.unsigned, prepare)), hidden[0]


def _hide_and_replace(subject: Subject) -> Forgery:
    """Afterwards a table of 100 bytes makes the hidden catalog the one that counts."""
    signed, hidden = _shadow_document(subject)
    return Forgery(signed, appended(signed, {}, root=hidden), visible=True)


def _hide_and_replace_keeping_form(subject: Subject) -> Forgery:
    """As before, with the form and the permissions of the signature in the hidden catalog."""
    signed, hidden = _shadow_document(subject)
    with pikepdf.open(BytesIO(signed)) as pdf:
        catalog = pdf.get_object(hidden, 0)
        catalog.AcroForm = pdf.Root.AcroForm
        catalog.Perms = pdf.Root.Perms
        content = catalog.unparse(resolved=True)
    return Forgery(signed, appended(signed, {hidden: content}, root=hidden), visible=True)


ATTACKS: dict[str, Callable[[Subject], Forgery]] = {
    "shadow hide: cover emptied": _hide,
    "shadow hide: cover freed": _hide_by_reference,
    "shadow replace: font": _replace_font,
    "shadow replace: overlay of a field": _replace_overlay,
    "shadow hide and replace": _hide_and_replace,
    "shadow hide and replace, form kept": _hide_and_replace_keeping_form,
}
