"""The pages that a device keeps speak by a catalog of their own; invented texts check nothing."""

import gzip
import json
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from assessments.views.site.shell import shell_files as site_files
from tests.factories import make_person
from training.device_words import WORDS
from training.views.presence.device import shell_files as presence_files

ROOT = Path(settings.BASE_DIR) / "static"
SCRIPTS = [*sorted((ROOT / "site").rglob("*.js")), *sorted((ROOT / "presence").glob("*.js"))]
CALL = re.compile(
    r'(?<![\w.])tn?\((?:[\w.]+, )?(?:[^"\'`();]*\? )?("(?:[^"\\]|\\.)*"|\'[^\'\n]*\')'
)
# A unit is written alike in every language.
BARE = re.compile(
    r'(?:\b(?:say|key)\(|h\("(?:p|h1|h2|span|label)", \{[^{}]*\}, )["`](?!mm")[^"`$]*[A-Za-z]{2}'
)
pytestmark = pytest.mark.django_db


def _asked() -> set[str]:
    calls = (call for path in SCRIPTS for call in CALL.findall(path.read_text(encoding="utf-8")))
    return {call[1:-1].replace('\\"', '"') for call in calls}


def test_every_text_of_the_scripts_is_listed_once() -> None:
    asked = _asked()
    assert len(asked) > 200
    assert asked - set(WORDS) == set()
    assert len(set(WORDS)) == len(WORDS)


def test_every_listed_text_stands_in_a_script() -> None:
    scripts = "\n".join(path.read_text(encoding="utf-8") for path in SCRIPTS)
    scripts = re.sub(r'" \+\s+"', "", scripts)
    assert [text for text in WORDS if text not in scripts] == []


def test_nothing_is_shown_past_the_catalog() -> None:
    assert BARE.search('key("Save", {')
    assert BARE.search('h("p", { class: "help" }, `Saved`)')
    texts = {path.name: path.read_text(encoding="utf-8") for path in SCRIPTS}
    assert [(name, found) for name, text in texts.items() for found in BARE.findall(text)] == []


def test_english_needs_no_words_and_spanish_has_one_for_each(client: Client) -> None:
    english = client.get(reverse("device_words"))
    assert english.json() == {"lang": "en", "words": {}}
    spanish = client.get(reverse("device_words"), headers={"accept-language": "es"})
    assert spanish["Cache-Control"] == "no-cache"
    assert {"Accept-Language", "Cookie"} <= set(spanish["Vary"].split(", "))
    found = spanish.json()
    assert found["lang"] == "es"
    assert found["words"]["Not found"] == "No se encontró"
    # What is the same in both languages is left out.
    assert len(set(WORDS) - set(found["words"])) <= 3
    for text, said in found["words"].items():
        assert sorted(re.findall(r"\{\w+\}", text)) == sorted(re.findall(r"\{\w+\}", said))


def test_the_language_that_the_person_chose_counts(client: Client) -> None:
    person = make_person()
    person.language = "es-mx"
    person.save()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("device_words")).json()["lang"] == "es-mx"


def test_the_catalog_is_small_on_the_way(client: Client) -> None:
    spanish = client.get(reverse("device_words"), headers={"accept-language": "es"})
    assert len(gzip.compress(json.dumps(spanish.json()).encode())) <= 15_000


@pytest.mark.parametrize("name", ["site", "presence_site"])
def test_a_kept_page_is_the_same_in_every_language(client: Client, name: str) -> None:
    english = client.get(reverse(name))
    spanish = client.get(reverse(name), headers={"accept-language": "es"})
    assert english.content == spanish.content
    assert 'lang="es"' in english.text
    assert site_files()[0][0] == "/site/"
    assert presence_files()[0][0] == "/site/presence/"
