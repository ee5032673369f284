"""In Spanish no page holds English that the catalog knows: what is marked is shown in Spanish.

A text may be marked and still be shown in English, because it was translated when the module was
loaded, kept as a value, or glued together. The pages are read with Python's own HTML parser.
"""

import re
from collections.abc import Callable
from html.parser import HTMLParser

import pytest
from django.test import Client

from tests.languages.everyday import everyday_pages
from tests.languages.second_look import Shown, every_page
from tests.languages.test_catalog import PLACEHOLDERS, catalog, strings
from training.models import Person

pytestmark = pytest.mark.django_db
# Fewer words than this stand in names and in what people entered as well.
FEWEST_WORDS = 4
SKIPPED = {"script", "style", "code", "pre"}
READ = {"aria-label", "title", "alt", "placeholder", "data-label"}
# Sentences that may stand in English: sealed or issued, so said as they were written.
ALLOWED: frozenset[str] = frozenset()


class Texts(HTMLParser):
    """Collects the texts of a page, and those of its attributes, with single spaces."""

    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.language = ""
        self._within: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "html":
            self.language = dict(attrs).get("lang") or ""
        if tag in SKIPPED:
            self._within.append(tag)
        for name, value in attrs:
            if name in READ:
                self._keep(value or "")

    def handle_endtag(self, tag: str) -> None:
        if tag in SKIPPED:
            self._within.pop()

    def handle_data(self, data: str) -> None:
        if not self._within:
            self._keep(data)

    def _keep(self, text: str) -> None:
        if text.strip():
            self.found.add(" ".join(text.split()))


def english() -> list[str]:
    """Return what may not be found: whole sentences, and the pieces around links in them."""
    found = set()
    for each in catalog():
        if not each.id:
            continue
        told = {" ".join(text.split()) for text in strings(each.string)}
        for text in strings(each.id):
            # A page's text ends where a link or another tag begins.
            for piece in re.split(r"<[^>]*>", text):
                plain = " ".join(piece.replace("%%", "%").split())
                if len(plain.split()) < FEWEST_WORDS or PLACEHOLDERS.search(plain):
                    continue
                if not any(plain in spanish for spanish in told):
                    found.add(plain)
    return sorted(found - ALLOWED)


def texts_of(page: Shown) -> Texts:
    """Open the page in Spanish and return its texts; it must be there."""
    client = Client()
    client.cookies["django_language"] = "es"
    if page.person is not None:
        client.force_login(page.person, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get(page.path)
    gone = page.name.endswith("gone")
    assert answer.status_code == (410 if gone else 200), f"{page.name}: {answer.status_code}"
    texts = Texts()
    if answer["Content-Type"].startswith("text/html"):  # else a file, or what scripts ask for
        texts.feed(answer.content.decode())
        assert texts.language == "es", page.name
    return texts


@pytest.mark.parametrize("make", [every_page, everyday_pages])
def test_no_english_on_a_spanish_page(make: Callable[[], list[Shown]]) -> None:
    pages = make()
    # On somebody else's device a page speaks to the trainee.
    Person.objects.update(language="es")
    where: dict[str, str] = {}
    for page in pages:
        for text in texts_of(page).found:
            where.setdefault(text, page.name)
    whole = "\n".join(where)
    left = [
        f"{name}: {text!r}"
        for sentence in english()
        if sentence in whole
        for text, name in where.items()
        if sentence in text
    ]
    assert not left, f"{len(left)} texts in English:\n" + "\n".join(left)


def test_english_is_found() -> None:
    parser = Texts()
    parser.feed('<html lang="es"><p title="A b">Write <a>down</a>\n it  all</p><code>x y</code>')
    assert (parser.language, parser.found) == ("es", {"A b", "Write", "down", "it all"})
    assert len(english()) > 100
