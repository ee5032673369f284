"""The SVG of matplotlib made fit for a page with a strict content security policy.

Such a page takes no style element and no style attribute, so what they say becomes presentation
attributes (SVG 2, section 6.6, "Presentation attributes").
"""

from __future__ import annotations

import re

from lxml import etree

from assessments.evidence.drawings.style import FONTS, UNPRINTABLE

SVG = "http://www.w3.org/2000/svg"
XLINK = "{http://www.w3.org/1999/xlink}href"
PRESENTATION = re.compile(
    r"clip-(path|rule)|fill(-(opacity|rule))?|font-(size|style|weight)|opacity|text-anchor"
    r"|stroke(-(dasharray|dashoffset|linecap|linejoin|miterlimit|opacity|width))?"
)
_REFERENCE = re.compile(r"url\(#([^)]+)\)")


def clean(raw: str, key: str, alternative: str, width_mm: float) -> str:
    """The drawing without prolog, metadata and styles; its ids begin with the key.

    It keeps its viewBox and a width in millimetres but no height: in a narrower column
    ``max-width: 100%`` scales it as a whole.
    """
    parser = etree.XMLParser(resolve_entities=False, no_network=True, remove_blank_text=True)
    root = etree.fromstring(raw.encode(), parser)
    for name in ("metadata", "style"):
        for element in list(root.iter(f"{{{SVG}}}{name}")):
            if name == "style":
                _fold(root, str(element.text).strip().removeprefix("*{").removesuffix("}"))
            parent = element.getparent()
            assert parent is not None
            parent.remove(element)
    for element in root.iter():
        _fold(element, str(element.attrib.pop("style", "")))
        if target := element.attrib.pop(XLINK, ""):
            element.set("href", target)
    _rename(root, key)
    _tidy(root)
    for name in ("width", "height", "version"):
        root.attrib.pop(name, "")
    root.set("width", f"{width_mm:g}mm")
    root.set("font-family", FONTS)
    root.set("role", "img")
    root.set("aria-label", UNPRINTABLE.sub("", alternative))
    etree.cleanup_namespaces(root)
    return etree.tostring(root, encoding="unicode")


def _fold(element: etree._Element, style: str) -> None:
    """Turn declarations into attributes; the faces are those of the whole drawing."""
    for declaration in filter(None, style.split(";")):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if PRESENTATION.fullmatch(name):
            element.set(name, value)


def _rename(root: etree._Element, key: str) -> None:
    """Give what is referred to an id of its own, and drop the ids that nothing refers to."""
    used: dict[str, str] = {}
    for element in root.iter():
        for _, value in _attributes(element):
            for name in _REFERENCE.findall(value):
                used.setdefault(name, f"{key}-{len(used) + 1}")
        if (target := element.get("href")) is not None:
            used.setdefault(target.removeprefix("#"), f"{key}-{len(used) + 1}")
    for element in root.iter():
        for name, value in _attributes(element):
            if name == "id":
                if value in used:
                    element.set("id", used[value])
                else:
                    del element.attrib["id"]
            elif name == "href":
                element.set("href", "#" + used[value.removeprefix("#")])
            elif "url(" in value:
                found = _REFERENCE.sub(lambda match: f"url(#{used[match[1]]})", value)
                element.set(name, found)


def _attributes(element: etree._Element) -> list[tuple[str, str]]:
    return [(str(name), str(value)) for name, value in element.attrib.items()]


def _tidy(root: etree._Element) -> None:
    """Write paths on one line and take away the turns by nothing."""
    for element in root.iter():
        if path := element.get("d"):
            element.set("d", " ".join(path.split()))
        if (element.get("transform") or "").startswith(("rotate(-0 ", "rotate(0 ")):
            del element.attrib["transform"]
