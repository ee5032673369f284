"""The shell that a device keeps: complete, without data, and the very files that are answered."""

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse
from whitenoise.middleware import WhiteNoiseMiddleware

from assessments.views.site.shell import shell_files
from config.settings import STORAGES
from tests.factories import make_person

IMPORT = re.compile(r"""(?:^|\s)(?:import|from)\s*\(?\s*["']([^"']+)["']""", re.MULTILINE)
HASHED = re.compile(r"\.[0-9a-f]{12}\.(js|css|woff2|svg)$")


@pytest.fixture
def collected(settings: Any) -> Path:
    """Collect the static files as a deployment does."""
    settings.STORAGES = {**settings.STORAGES, "staticfiles": STORAGES["staticfiles"]}
    # The names and contents are what counts here; squeezing them takes long.
    skipped = [*settings.WHITENOISE_SKIP_COMPRESS_EXTENSIONS, "css", "js", "svg", "md", "txt"]
    settings.WHITENOISE_SKIP_COMPRESS_EXTENSIONS = [*skipped, "", "json", "map", "xml"]
    call_command("collectstatic", verbosity=0, interactive=False)
    return Path(settings.STATIC_ROOT)


def listed(worker: str) -> tuple[str, list[list[str]]]:
    found = re.match(r"const VERSION = (.*);\nconst SHELL = (.*);\n", worker)
    assert found
    return json.loads(found[1]), json.loads(found[2])


def test_every_import_of_a_collected_module_is_collected(collected: Path) -> None:
    modules = [path for path in collected.rglob("site/**/*.js") if HASHED.search(path.name)]
    imports = [(module, name) for module in modules for name in IMPORT.findall(module.read_text())]

    assert {name for _, name in imports if not HASHED.search(name)} == set()
    assert [str(m) for m, name in imports if not (m.parent / name).resolve().is_file()] == []
    assert len(imports) > len(modules) / 2


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
    assert len(static_files) > 15
    for path, digest in static_files:
        response = files(rf.get(path))
        content = b"".join(response)
        response.close()
        assert (path, response.status_code) == (path, 200)
        assert HASHED.search(path)
        assert hashlib.sha256(content).hexdigest() == digest
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

    changed = [*map(tuple, shell[:-1]), (shell[-1][0], "0" * 64)]
    monkeypatch.setattr("assessments.views.site.shell.shell_files", lambda: changed)

    assert listed(client.get(reverse("site_worker")).text)[0] != version


def test_the_manifest_opens_the_pages(client: Client) -> None:
    response = client.get(reverse("site_manifest"))

    assert response["Content-Type"] == "application/manifest+json"
    manifest = response.json()
    assert manifest["start_url"] == manifest["scope"] == "/site/"
    [icon] = manifest["icons"]
    assert icon["src"] in {path for path, _ in shell_files()}
