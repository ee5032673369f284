"""The shell that a device keeps: complete, without data, and the very files that are answered."""

import gzip
import hashlib
import json
import re
from base64 import b64encode
from pathlib import Path
from typing import Any

import brotli
import pytest
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse
from fontTools.ttLib import TTFont
from whitenoise.middleware import WhiteNoiseMiddleware

from assessments.views.site.shell import OTHER_FILES, shell_files
from tests.collected import collect, fetched_sizes, scripts_among
from tests.factories import make_person
from tests.test_site_js import MODULES

HASHED = re.compile(r"\.[0-9a-f]{12}\.(js|css|woff2|svg)$")


@pytest.fixture
def collected(settings: Any) -> Path:
    """Collect the static files as a deployment does."""
    return collect(settings)


def listed(worker: str) -> tuple[str, list[list[str]]]:
    found = re.match(r"const VERSION = (.*);\nconst SHELL = (.*);\n", worker)
    assert found
    return json.loads(found[1]), json.loads(found[2])


def test_what_a_device_fetches_is_small(collected: Path) -> None:
    sizes = fetched_sizes(collected)

    scripts = scripts_among(sizes)
    assert len(scripts) == 2  # all modules in one, and the worker
    # Other languages weigh nothing here: their words are a catalog of their own.
    assert sum(scripts.values()) <= 31_000, scripts
    assert sum(sizes.values()) <= 100_000, sizes
    assert len(sizes) == len(OTHER_FILES) + 4  # the page, the manifest and the two scripts


def test_scripts_and_stylesheets_are_small_beside_both_compressed_forms(collected: Path) -> None:
    names = json.loads((collected / "staticfiles.json").read_text())["paths"]
    sources = [name for name in names if name.endswith((".js", ".css"))]

    assert {"site/app.js", "site/worker.js", "css/score.css", "score.js"} <= set(sources)
    for name in sources:
        answered = collected / names[name]
        text = answered.read_bytes()
        comments = b"/*" if name.endswith(".css") else b"\n//"
        assert comments not in text
        assert gzip.decompress(Path(f"{answered}.gz").read_bytes()) == text
        assert brotli.decompress(Path(f"{answered}.br").read_bytes()) == text


def test_the_modules_are_collected_as_one_that_loads_no_other(collected: Path) -> None:
    names = json.loads((collected / "staticfiles.json").read_text())["paths"]

    modules = [name for name in names if name.startswith("site/")]

    assert sorted(modules) == ["site/app.js", "site/worker.js"]
    text = (collected / names["site/app.js"]).read_text()
    assert re.search(r"\bimport\b *[{\"(*]|\bexport\b *[{*]|\bfrom\b *\"", text) is None


def test_each_module_is_answered_alone_where_nothing_is_collected() -> None:
    scripts = {path for path, _ in shell_files() if path.endswith(".js")}

    assert {"/static/site/app.js", "/static/site/db.js", "/static/site/screens/line.js"} <= scripts
    assert len(scripts) == len(MODULES) - 1  # the worker has an address of its own


def test_names_and_figures_are_set_in_faces_that_are_kept() -> None:
    folder = Path(settings.BASE_DIR) / "static"
    fonts = [TTFont(folder / name) for name in OTHER_FILES if name.endswith(".woff2")]

    # Letters of Latin alphabets from Iceland to Azerbaijan, from memory.
    asked = "0123456789/.-−()AZaz çéñöåøßÆÞđłżőřșțģħŋğıİəẞẁ"
    assert set(asked) - {chr(code) for font in fonts for code in font.getBestCmap()} == set()
    for font in fonts:
        axes = [(axis.axisTag, axis.minValue, axis.maxValue) for axis in font["fvar"].axes]
        assert axes == [("wght", 500, 700)]


@pytest.mark.django_db  # to close an answer is the end of a request
def test_the_worker_lists_what_a_deployment_answers(
    collected: Path, settings: Any, rf: RequestFactory, client: Client
) -> None:
    def missing(request: HttpRequest) -> HttpResponse:
        return HttpResponse(status=404)

    files = WhiteNoiseMiddleware(missing)
    _, shell = listed(client.get(reverse("site_worker")).text)
    page, *static_files = shell
    assert page[0] == "/site/"
    assert len(static_files) == len(OTHER_FILES) + 1
    for path, digest in static_files:
        response = files(rf.get(path))
        content = b"".join(response)
        response.close()
        assert (path, response.status_code) == (path, 200)
        assert HASHED.search(path)
        assert digest == f"sha256-{b64encode(hashlib.sha256(content).digest()).decode()}"
        assert "immutable" in response["Cache-Control"]
        if path.endswith(".js"):
            assert response["Content-Type"].startswith("text/javascript")


def test_the_page_asks_only_for_files_that_the_worker_keeps(client: Client) -> None:
    page = client.get(reverse("site")).text

    asked = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))

    kept = {path for path, _ in shell_files()}
    assert asked
    assert asked <= kept
    assert "/static/site/worker.js" not in kept


@pytest.mark.django_db
def test_the_page_is_the_same_for_everybody_and_holds_no_script(client: Client) -> None:
    before = client.get(reverse("site"))
    client.force_login(make_person(), backend="django.contrib.auth.backends.ModelBackend")
    after = client.get(reverse("site"))

    assert before.content == after.content
    assert after["Cache-Control"] == "no-cache"
    assert re.findall(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", after.text) == []
    assert reverse("run_list") in re.sub(r"(?s).*<noscript>(.*)</noscript>.*", r"\1", after.text)


def test_the_worker_may_stand_for_the_pages_and_is_asked_for_anew(client: Client) -> None:
    response = client.get(reverse("site_worker"))

    assert reverse("site_worker") == "/sw.js"
    assert response["Service-Worker-Allowed"] == "/"
    assert response["Cache-Control"] == "no-cache"
    assert response["Content-Type"].startswith("text/javascript")
    policy = response["Content-Security-Policy"]
    assert "worker-src 'self'" in policy
    assert re.search(r"img-src [^;]*\bblob:", policy)
    assert len(response.text.splitlines()) < 100


def test_another_file_makes_another_version(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    version, shell = listed(client.get(reverse("site_worker")).text)
    assert listed(client.get(reverse("site_worker")).text)[0] == version

    changed = [*map(tuple, shell[:-1]), (shell[-1][0], f"sha256-{'0' * 43}=")]
    monkeypatch.setattr("assessments.views.site.shell.shell_files", lambda: changed)

    assert listed(client.get(reverse("site_worker")).text)[0] != version


def test_the_manifest_opens_the_pages(client: Client) -> None:
    response = client.get(reverse("site_manifest"))

    assert response["Content-Type"] == "application/manifest+json"
    manifest = response.json()
    assert manifest["start_url"] == manifest["scope"] == "/site/"
    [icon] = manifest["icons"]
    assert icon["src"] in {path for path, _ in shell_files()}
