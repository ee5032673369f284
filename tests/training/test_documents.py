"""Any document on paper conforms to PDF/UA-1 (ISO 14289-1), in our fonts, whatever is in it.

The judge is page-validation, an independent validator; qpdf (through pikepdf) and Poppler read
the file.
"""

import copy
import http.server
import threading
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from django.conf import LazySettings
from page import validate_pdf_bytes

from tests.certificates.pdf.tools import run_on, text_of
from training.documents import Paper, render_pdf
from training.errors import Refused

TITLE = "Weekly sheet for Fennimore Customs House"
CONTENT = """
<h1>{{ document.title }}</h1>
<p class="lead">Said by {{ name }}.</p>
<div class="caution"><p><span class="label">Caution: dust</span></p><p>Cut wet.</p>
<p class="source">Source: the site's plan</p></div>
<h2>Figures</h2>
<dl class="facts"><dt>Joint</dt><dd>1/8 in</dd><dt>Rake</dt><dd>1 in</dd></dl>
<h3>By day</h3>
<table><caption>Joints raked</caption>
<thead><tr><th scope="col">Day</th><th scope="col" class="number">Joints</th></tr></thead>
<tbody>{% for day in days %}<tr><th scope="row">{{ day }}</th><td class="number">{{ day }}</td></tr>
{% endfor %}</tbody></table>
<figure><svg viewBox="0 0 20 10"><title>A line of chalk</title><path d="M0 5h20" stroke="#000"/>
</svg><figcaption>The line</figcaption></figure>
<ul><li>First</li><li>Second</li></ul>
"""


@pytest.fixture
def folder(tmp_path: Path, settings: LazySettings) -> Path:
    """A folder of templates of the test's own."""
    templates: list[dict[str, Any]] = copy.deepcopy(settings.TEMPLATES)
    templates[0]["DIRS"].append(tmp_path)
    settings.TEMPLATES = templates
    return tmp_path


def made(folder: Path, content: str = CONTENT, *, paper: Paper = "letter", **context: Any) -> bytes:
    page = f'{{% extends "documents/base.html" %}}{{% block content %}}{content}{{% endblock %}}'
    (folder / "sheet.html").write_text(page)
    values = {"name": "Imani Castellane", "days": range(80), **context}
    return render_pdf("sheet.html", values, paper=paper, title=TITLE)


def faults(pdf: bytes) -> list[str]:
    report = validate_pdf_bytes(pdf, profile="ua1")
    assert report.rules.total > 100
    return [f"{failure.rule_id}: {failure.message}" for failure in report.failures]


@pytest.mark.parametrize(
    "name", ["Imani Castellane", "Владислава Чернышёва", "محمد عبد الرحمن", "अनुराधा कृष्णमूर्ति"]
)
def test_a_document_conforms(folder: Path, name: str) -> None:
    assert faults(made(folder, name=name)) == []


def test_the_validator_sees_an_untagged_figure(folder: Path) -> None:
    output = BytesIO()
    with pikepdf.open(BytesIO(made(folder))) as pdf:
        for thing in pdf.objects:
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure":
                del thing["/Alt"]
        pdf.save(output)
    assert faults(output.getvalue()) != []


def test_headers_say_whether_they_stand_for_a_row_or_a_column(folder: Path) -> None:
    with pikepdf.open(BytesIO(made(folder, days=["Monday", "Tuesday", "Friday"]))) as pdf:
        scopes = [
            str(thing.A.Scope)
            for thing in pdf.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/TH"
        ]
    assert sorted(scopes) == ["/Column"] * 2 + ["/Row"] * 3


# Points of US Letter (ANSI/ASME Y14.1, size A) and A4 (ISO 216: 210 x 297 mm).
@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595.28, 841.89))])
def test_title_language_paper_and_page_numbers(
    folder: Path, paper: Paper, size: tuple[float, float]
) -> None:
    data = made(folder, paper=paper)
    with pikepdf.open(BytesIO(data)) as pdf:
        assert str(pdf.docinfo.Title) == TITLE
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        assert str(pdf.Root.Lang) == "en"
        count = len(pdf.pages)
        boxes = [[float(edge) for edge in page.mediabox] for page in pdf.pages]
    assert count > 1
    assert all(box == pytest.approx([0, 0, *size], abs=0.05) for box in boxes)
    for number in range(1, count + 1):
        text = text_of(data, page=number)
        assert f"Page {number} of {count}" in text
        assert TITLE in text


def test_every_font_is_embedded_and_ours(folder: Path) -> None:
    rows = run_on(made(folder), "pdffonts", "FILE").splitlines()[2:]
    assert len(rows) >= 2
    for row in rows:
        assert "Source-S" in row or "SourceS" in row, row
        assert row.split()[-5:-2] == ["yes", "yes", "yes"], row  # embedded, subset, Unicode


def test_the_same_input_gives_the_same_bytes(folder: Path) -> None:
    assert made(folder) == made(folder)


def test_what_people_typed_is_text_and_no_markup(folder: Path) -> None:
    data = made(folder, name="<b>Odile</b> & Söhne")
    assert "Said by <b>Odile</b> & Söhne." in text_of(data)


def test_a_letter_that_no_font_has_is_refused(folder: Path) -> None:
    # A code point for private use: no font gives it a letter.
    with pytest.raises(Refused, match=r"No font on this machine has .*: ask whoever runs it"):
        made(folder, name="\U0010fffd")


@pytest.fixture
def listener() -> Iterator[tuple[str, list[str]]]:
    """The address of a server on this machine, and the paths that it was asked for."""
    asked: list[str] = []

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            self.send_response(404)
            self.end_headers()

        def log_message(self, format: str, *args: object) -> None:
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_address[1]}", asked
        server.shutdown()
        thread.join()


def test_nothing_is_fetched_from_the_network(
    folder: Path, listener: tuple[str, list[str]], caplog: pytest.LogCaptureFixture
) -> None:
    address, asked = listener
    made(folder, f'<h1>One</h1><img src="{address}/mark.png" alt="Mark">')
    assert "URI uses disallowed protocol" in caplog.text
    assert asked == []
