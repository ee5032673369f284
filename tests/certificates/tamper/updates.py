"""Revisions appended to a signed file: content added, hidden, replaced.

The classes are those of V. Mladenov, C. Mainka, K. Meyer zu Selhausen, M. Grothe, J. Schwenk,
"1 Trillion Dollar Refund: How To Spoof PDF Signatures" (ACM CCS 2019), incremental saving attack
(ISA), and S. Rohlmann, V. Mladenov, C. Mainka, J. Schwenk, "Breaking the Specification: PDF
Certification" (IEEE S&P 2021), evil annotation (EAA). The files are made here.
"""

import re
from collections.abc import Callable
from typing import Any

from pyhanko.pdf_utils.generic import pdf_string

from assessments.engine.canonical import canonical
from tests.certificates.pdf.factory import make_record
from tests.certificates.tamper.objects import dictionary, generic, numbers, pdf_name, stream
from tests.certificates.tamper.revision import (
    appended,
    drawing,
    font,
    fonts,
    form_object,
    page_of,
    updated,
    write_on_page,
)
from tests.certificates.tamper.subject import Forgery, Subject, gap_of


def _by(change: Callable[[Any], None], *, visible: bool) -> Callable[[Subject], Forgery]:
    def attack(subject: Subject) -> Forgery:
        return Forgery(subject.pdf, updated(subject.pdf, change), visible=visible)

    return attack


def _add_page(writer: Any) -> None:
    page = generic.DictionaryObject(page_of(writer))
    page["/Contents"] = writer.add_object(stream(drawing()))
    page["/Resources"] = fonts(font(writer))
    pages = writer.root["/Pages"]
    pages["/Kids"].insert(0, writer.add_object(page))
    pages["/Count"] = generic.NumberObject(len(pages["/Kids"]))
    writer.update_container(pages)


def _annotate(writer: Any, **more: Any) -> None:
    """Cover the page with a stamp that says something else."""
    appearance = form_object(writer, drawing())
    usual = {
        "Type": pdf_name("/Annot"),
        "Subtype": pdf_name("/Stamp"),
        "Rect": numbers(0, 0, 800, 900),
        "F": generic.NumberObject(4),
        "AP": dictionary(N=appearance),
    }
    annotation = dictionary(**(usual | more))
    page = page_of(writer)
    page["/Annots"] = generic.ArrayObject([*page["/Annots"], writer.add_object(annotation)])
    writer.update_container(page)


def _add_field(writer: Any) -> None:
    """A text field that covers the page: the annotation is a widget of the form."""
    name = pdf_string("remarks")
    _annotate(writer, Subtype=pdf_name("/Widget"), FT=pdf_name("/Tx"), T=name, V=name)
    field = page_of(writer)["/Annots"].raw_get(-1)
    writer.root["/AcroForm"]["/Fields"].append(field)
    writer.update_root()


def _hide_page_content(writer: Any) -> None:
    page = page_of(writer)
    page["/Contents"] = writer.add_object(stream(b"q Q"))
    writer.update_container(page)


def _hide_signature_field(writer: Any) -> None:
    """Take the signature's field from the form and from the page, and leave the rest."""
    writer.root["/AcroForm"]["/Fields"] = generic.ArrayObject()
    page = page_of(writer)
    page["/Annots"] = generic.ArrayObject(
        [found for found in page["/Annots"] if found.get_object().get("/FT") != "/Sig"]
    )
    writer.update_container(page)
    writer.update_root()


def _other_appearance_of_signature(writer: Any) -> None:
    field = writer.root["/AcroForm"]["/Fields"][0]
    field["/AP"] = dictionary(N=form_object(writer, drawing()))
    writer.update_container(field)


def _open_with_script(writer: Any) -> None:
    writer.root[pdf_name("/OpenAction")] = dictionary(
        S=pdf_name("/JavaScript"), JS=pdf_string("app.alert('Eve')")
    )
    writer.update_root()


def _other_metadata(writer: Any) -> None:
    old = writer.root["/Metadata"].data
    data = old.replace(b"Ashlar", b"Mallory")
    assert data != old
    writer.root[pdf_name("/Metadata")] = writer.add_object(
        stream(data, Type=pdf_name("/Metadata"), Subtype=pdf_name("/XML"))
    )
    writer.update_root()


def _second_attachment(writer: Any) -> None:
    """A second record.json, before the genuine one, for readers that take the first."""
    names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
    forged = stream(canonical(make_record(holder={"name": "Eve"})))
    specification = dictionary(
        Type=pdf_name("/Filespec"),
        F=pdf_string("record.json"),
        UF=pdf_string("record.json"),
        EF=dictionary(F=writer.add_object(forged)),
    )
    names[:0] = [pdf_string("record.json"), writer.add_object(specification)]
    writer.update_container(writer.root["/Names"]["/EmbeddedFiles"])


def drop_certification(writer: Any) -> None:
    """Turn the certifying signature into one that promises nothing of later changes."""
    del writer.root["/Perms"]
    writer.update_root()


def _permit_all(writer: Any) -> None:
    """Let the signature permit forms and annotations from now on."""
    reference = writer.root["/Perms"]["/DocMDP"]["/Reference"][0]
    reference["/TransformParams"][pdf_name("/P")] = generic.NumberObject(3)
    writer.update_container(reference["/TransformParams"])
    _annotate(writer)


def _optional_content(writer: Any) -> None:
    """Put the page's content into a layer that is switched off."""
    layer = writer.add_object(dictionary(Type=pdf_name("/OCG"), Name=pdf_string("content")))
    off = dictionary(OFF=generic.ArrayObject([layer]))
    writer.root[pdf_name("/OCProperties")] = dictionary(OCGs=generic.ArrayObject([layer]), D=off)
    page = page_of(writer)
    contents = page["/Contents"]
    old = list(contents) if isinstance(contents, list) else [page.raw_get("/Contents")]
    begin = writer.add_object(stream(b"/OC /Layer BDC"))
    end = writer.add_object(stream(b"EMC"))
    page["/Contents"] = generic.ArrayObject([begin, *old, end])
    resources = page["/Resources"]
    resources[pdf_name("/Properties")] = dictionary(Layer=layer)
    writer.update_container(resources)
    writer.update_container(page)
    writer.update_root()


def _nothing_new(subject: Subject) -> Forgery:
    """A revision that changes nothing: only another table at the end."""
    return Forgery(subject.pdf, appended(subject.pdf, {}))


def _freed_signature(subject: Subject) -> Forgery:
    """The signature's dictionary marked as deleted."""
    return Forgery(subject.pdf, appended(subject.pdf, {}, freed=(_number(subject.pdf),)))


def _no_table(subject: Subject) -> Forgery:
    """ISA without a table: readers that repair a file take the later of two objects."""
    forged = updated(subject.pdf, write_on_page)
    bodies = forged[len(subject.pdf) : forged.rindex(b" obj\n<<\n/W [")]
    return Forgery(subject.pdf, subject.pdf + bodies[: bodies.rindex(b"endobj") + 7])


def _old_end_repeated(subject: Subject) -> Forgery:
    """ISA without a table, the end of the genuine file once more behind it."""
    end = subject.pdf[subject.pdf.rindex(b"startxref") :]
    return Forgery(subject.pdf, _no_table(subject).after + end)


def _signature_repeated(subject: Subject) -> Forgery:
    """ISA with a copy of the signature's dictionary in the revision, as if it signed that."""
    forged = updated(subject.pdf, write_on_page)
    gap = gap_of(subject.pdf)
    opening = subject.pdf.rindex(b" obj\n", 0, gap.start) + 5
    closing = subject.pdf.index(b"endobj", gap.stop)
    copied = appended(forged, {_number(subject.pdf): subject.pdf[opening:closing]})
    return Forgery(subject.pdf, copied, visible=True)


def _number(pdf: bytes) -> int:
    """The object number of the signature's dictionary."""
    (found,) = re.findall(rb"/DocMDP (\d+) 0 R", pdf)
    return int(found)


ATTACKS: dict[str, Callable[[Subject], Forgery]] = {
    "words written across the page": _by(write_on_page, visible=True),
    "page put in front": _by(_add_page, visible=True),
    "stamp over the page (EAA)": _by(_annotate, visible=True),
    "form field over the page": _by(_add_field, visible=True),
    "content of the page hidden": _by(_hide_page_content, visible=True),
    "content of the page in a layer that is off": _by(_optional_content, visible=True),
    "signature field taken out": _by(_hide_signature_field, visible=False),
    "signature field painted over": _by(_other_appearance_of_signature, visible=True),
    "script run at opening": _by(_open_with_script, visible=False),
    "metadata replaced": _by(_other_metadata, visible=False),
    "second attachment of the same name": _by(_second_attachment, visible=False),
    "certification taken back": _by(drop_certification, visible=False),
    "permissions widened, then a stamp": _by(_permit_all, visible=True),
    "revision without a change": _nothing_new,
    "signature marked as deleted": _freed_signature,
    "revision without a table": _no_table,
    "revision without a table, the end repeated": _old_end_repeated,
    "revision with a copy of the signature": _signature_repeated,
}
