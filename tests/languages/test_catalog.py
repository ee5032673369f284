"""The Spanish catalog is whole, and says what the sources say.

Read with Babel (github.com/python-babel/babel), which knows the format of gettext (GNU gettext
manual, "The Format of PO Files").
"""

import re
from collections import defaultdict
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from django.utils import translation
from django.utils.formats import date_format

from config.messages import LOCALE, compile_messages
from tests.languages.messages import messages, sources

PLACEHOLDERS = re.compile(r"\{[A-Za-z_][\w.]*(?:![rsa])?(?::[^{}]*)?\}|%\([A-Za-z_]\w*\)[sd]")
CATALOG = LOCALE / "es" / "LC_MESSAGES" / "django.po"


@cache
def catalog() -> Catalog:
    with CATALOG.open("rb") as file:
        return read_po(file, locale="es")


@cache
def wanted() -> dict[tuple[str, str], tuple[str, str]]:
    """The texts of the sources: by text and context, the plural and the file."""
    return {
        (each.singular, each.context): (each.plural, each.path)
        for each in messages(sources())
        if each.singular
    }


def strings(value: object) -> tuple[str, ...]:
    return tuple(value) if isinstance(value, list | tuple) else (str(value),)


def test_every_text_is_in_spanish() -> None:
    missing = []
    for (text, context), (plural, path) in wanted().items():
        found = catalog().get((text, plural) if plural else text, context or None)
        if found is None or found.fuzzy or not all(strings(found.string)):
            missing.append(f"{path}: {text!r}")
    assert not missing, f"{len(missing)} without Spanish:\n" + "\n".join(sorted(missing))


def test_nothing_is_left_over() -> None:
    known = {(text, context) for text, context in wanted()}
    left = [
        strings(each.id)[0]
        for each in catalog()
        if each.id and (strings(each.id)[0], each.context or "") not in known
    ]
    assert not left, f"{len(left)} texts that no source has:\n" + "\n".join(left)


def test_placeholders_are_the_same() -> None:
    wrong = []
    for each in catalog():
        if not each.id:
            continue
        asked = strings(each.id)
        for number, told in enumerate(strings(each.string)):
            # A plural's first form may leave the number out: "one day".
            one = set(PLACEHOLDERS.findall(asked[0]))
            many = set(PLACEHOLDERS.findall(asked[-1]))
            has = set(PLACEHOLDERS.findall(told))
            if has not in ((one, many) if number == 0 else (many,)):
                wrong.append(f"{asked[0]!r}: {told!r}")
    assert not wrong, "\n".join(wrong)


def test_spaces_and_ends_are_kept() -> None:
    """A text that begins or ends with a space, a colon or a line break does so in both.

    A letter's salutation ends with a comma in English and with a colon in Spanish.
    """
    wrong = []
    for each in catalog():
        if not each.id:
            continue
        for asked, told in zip(strings(each.id), strings(each.string), strict=False):
            edges = [(len(x) - len(x.lstrip()), len(x) - len(x.rstrip())) for x in (asked, told)]
            if edges[0] != edges[1] or asked.endswith((":", ",")) != told.endswith((":", ",")):
                wrong.append(f"{asked!r}: {told!r}")
    assert not wrong, "\n".join(wrong)


def test_nobody_is_said_to_be_certified() -> None:
    """A program's record is no certification of a person, in Spanish no less."""
    found = [
        told
        for each in catalog()
        for told in strings(each.string)
        if re.search(r"\b(est[áa]n?|persona|cantero|participante)s? certificad[oa]s?\b", told)
    ]
    assert not found


def test_one_word_for_one_thing() -> None:
    """The same English, with and without a context, is told once; a text has one translation."""
    by_text = defaultdict(set)
    for each in catalog():
        if each.id and not each.context:
            by_text[strings(each.id)[0]].add(strings(each.string))
    assert {text for text, told in by_text.items() if len(told) > 1} == set()


def test_the_compiled_catalog_is_read(tmp_path: Path) -> None:
    folder = tmp_path / "es" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "django.po").write_bytes(CATALOG.read_bytes())
    assert compile_messages(tmp_path) == [folder / "django.mo"]
    assert compile_messages(tmp_path) == []
    with translation.override("es"):
        assert translation.gettext("Sign out") == "Cerrar sesión"
    with translation.override("es-mx"):
        assert translation.gettext("Sign out") == "Cerrar sesión"
    with translation.override("en"):
        assert translation.gettext("Sign out") == "Sign out"


@pytest.mark.parametrize(("language", "written"), [("en", "1.5"), ("es", "1,5"), ("es-mx", "1.5")])
def test_numbers_follow_the_language(language: str, written: str) -> None:
    """Unicode CLDR 48, numbers: es writes a decimal comma, es-MX a point (seen in Django's own
    formats, which follow CLDR).
    """
    from django.utils.formats import number_format

    with translation.override(language):
        assert number_format(1.5) == written


@pytest.mark.parametrize("language", ["es", "es-mx"])
def test_months_are_written_small(language: str) -> None:
    """Real Academia Española, Ortografía de la lengua española (2010), from memory."""
    with translation.override(language):
        assert date_format(date(2026, 12, 7), "l j F") == "lunes 7 diciembre"
