"""The page that a device keeps: complete, without data, and apart from the scoring pages."""

import hashlib
import json
import re
from base64 import b64encode
from pathlib import Path
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.urls import reverse
from whitenoise.middleware import WhiteNoiseMiddleware

from tests.collected import collect
from tests.test_site_js import ROOT, node, shown
from training.views.presence.device import shell_files

TESTS = sorted((ROOT / "tests/training/presence/js").glob("*.test.js"))
MODULES = sorted((ROOT / "static/presence").glob("*.js"))
# Nothing asks for more than this; the scoring pages hold the same for theirs.
MOST_SCRIPT = 12_000


def listed(worker: str) -> tuple[str, list[list[str]]]:
    found = re.match(r"const VERSION = (.*);\nconst SHELL = (.*);\n", worker)
    assert found
    return json.loads(found[1]), json.loads(found[2])


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.name)
def test_modules(path: Path) -> None:
    run = node("--test", "--test-reporter=tap", str(path.relative_to(ROOT)))
    assert run.returncode == 0, shown(run)
    assert re.search(r"^# pass [1-9]", run.stdout, re.MULTILINE), shown(run)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_module_is_read_by_node(path: Path) -> None:
    run = node("--check", str(path.relative_to(ROOT)))
    assert run.returncode == 0, shown(run)


@pytest.mark.django_db  # to close an answer is the end of a request
def test_the_worker_lists_what_a_deployment_answers(
    settings: Any, rf: RequestFactory, client: Client
) -> None:
    folder = collect(settings)

    def missing(request: HttpRequest) -> HttpResponse:
        return HttpResponse(status=404)

    files = WhiteNoiseMiddleware(missing)
    _, shell = listed(client.get(reverse("presence_worker")).text)
    assert shell[0][0] == "/site/presence/"
    for path, digest in shell[1:]:
        response = files(rf.get(path))
        content = b"".join(response)
        response.close()
        assert (path, response.status_code) == (path, 200)
        assert digest == f"sha256-{b64encode(hashlib.sha256(content).digest()).decode()}"
    [script] = [path for path, _ in shell if path.endswith(".js")]
    brotli = folder / f"{script.removeprefix('/static/')}.br"
    assert brotli.stat().st_size <= MOST_SCRIPT
    names = json.loads((folder / "staticfiles.json").read_text())["paths"]
    kept = sorted(name for name in names if name.startswith("presence/") and name.endswith(".js"))
    assert kept == ["presence/app.js", "presence/worker.js"]


def test_the_page_asks_only_for_files_that_the_worker_keeps(client: Client) -> None:
    page = client.get(reverse("presence_site")).text

    asked = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))

    kept = {path for path, _ in shell_files()}
    assert asked
    assert asked <= kept
    assert "/static/site/dom.js" in kept
    assert "/static/presence/worker.js" not in kept
    assert re.findall(r"<script(?![^>]*\bsrc=)|<style|\sstyle=|\son\w+=", page) == []


def test_the_worker_is_asked_for_anew_and_keeps_to_its_own_pages(client: Client) -> None:
    response = client.get(reverse("presence_worker"))

    assert response["Cache-Control"] == "no-cache"
    assert response["Content-Type"].startswith("text/javascript")
    assert "Service-Worker-Allowed" not in response
    assert reverse("presence_worker").startswith(reverse("presence_site"))
    assert "shell-" not in response.text  # the caches of the scoring pages
