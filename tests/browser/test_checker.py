"""The checker, opened from the disk in a real browser."""

import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from certificates.checker import checker_page
from certificates.signing import KeyStore
from certificates.views.checker import SOURCES
from tests.certificates.pdf.conftest import (
    CHECKED_AT,
    keystore,
    record,
    signed,
    unsigned,
)
from tests.faults.marks import at_length, only_at_length

pytestmark = pytest.mark.browser

__all__ = ["keystore", "record", "signed", "unsigned"]
AXE = Path(__file__).parent / "axe/axe.min.js"
ORIGIN = "https://records.example.org"


@pytest.fixture
def folder(tmp_path: Path, signed: bytes, keystore: KeyStore) -> Path:
    """The checker with and without roots, a genuine record, an altered one, and something else."""
    for name, roots in (("checker", keystore.roots()), ("bare", [])):
        page = checker_page(SOURCES, roots, origin=ORIGIN, made=CHECKED_AT)
        (tmp_path / f"{name}.html").write_text(page)
    changed = bytearray(signed)
    changed[len(signed) // 2] ^= 1
    (tmp_path / "genuine.pdf").write_bytes(signed)
    (tmp_path / "altered.pdf").write_bytes(bytes(changed))
    (tmp_path / "letter.pdf").write_bytes(b"Dear sir or madam")
    (tmp_path / "large.pdf").write_bytes(b"%PDF-1.7\n" + bytes(20_000_000))
    (tmp_path / "root.pem").write_bytes(keystore.roots_pem())
    return tmp_path


def opened(browser: Browser, path: Path, width: int = 820, scheme: Any = "light") -> Page:
    """Open a file of the disk, without a connection; its clock is that of the tests."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, offline=True
    )
    page = context.new_page()
    page.clock.set_fixed_time(CHECKED_AT)
    page.goto(path.as_uri())
    return page


def send(page: Page, path: Path) -> Any:
    """Choose a file; return the result of it."""
    page.get_by_label("PDF files of records").set_input_files(path)
    result = page.get_by_role("article").filter(has_text=path.name)
    expect(result).to_be_visible()
    return result


def test_a_genuine_record_from_the_disk(
    folder: Path, record: dict[str, Any], chromium: Browser
) -> None:
    page = opened(chromium, folder / "checker.html")
    result = send(page, folder / "genuine.pdf")
    for text in (
        "Genuine as issued",
        record["holder"]["name"],
        record["number"],
        record["program"]["title"],
        record["standard_digest"],
        "whether the record was suspended, withdrawn or replaced",
        "That the person before you is the holder",
    ):
        expect(result).to_contain_text(text, ignore_case=True)
    link = result.get_by_role("link", name=record["check_url"])
    expect(link).to_have_attribute("href", record["check_url"])


def test_altered_and_foreign_files(folder: Path, chromium: Browser) -> None:
    page = opened(chromium, folder / "checker.html")
    for name, sentence in (
        ("altered", "This file was altered after it was signed."),
        ("letter", "This file is not a PDF"),
        ("large", "This file is larger than any record"),
    ):
        result = send(page, folder / f"{name}.pdf")
        expect(result).to_contain_text("Do not rely on it")
        expect(result).to_contain_text(sentence)
        expect(result).to_contain_text("Not reached")
        expect(result).not_to_contain_text("Genuine as issued")


@only_at_length
def test_the_root_may_be_added_from_a_file(folder: Path, chromium: Browser) -> None:
    page = opened(chromium, folder / "bare.html")
    expect(page.get_by_text("every file will be of an unknown issuer")).to_be_visible()
    result = send(page, folder / "genuine.pdf")
    expect(result).to_contain_text("an issuer that is not known here")
    page.get_by_label("Add the root certificate").set_input_files(folder / "letter.pdf")
    expect(page.get_by_text("no root certificate of an issuer of records is in it")).to_be_visible()
    page.get_by_label("Add the root certificate").set_input_files(folder / "root.pem")
    expect(page.get_by_text("Ashlar Row Training Yard, until")).to_be_visible()
    (folder / "again.pdf").write_bytes((folder / "genuine.pdf").read_bytes())
    expect(send(page, folder / "again.pdf")).to_contain_text("Genuine as issued")


def test_a_lapsed_record_is_told_so(folder: Path, chromium: Browser) -> None:
    page = opened(chromium, folder / "checker.html")
    page.clock.set_fixed_time("2040-01-01T00:00:00Z")
    expect(send(page, folder / "genuine.pdf")).to_contain_text("Genuine, but lapsed")


def test_its_own_rules_forbid_it_to_send_anything(folder: Path, chromium: Browser) -> None:
    page = opened(chromium, folder / "checker.html")
    asked = page.evaluate(
        """async (origin) => {
          const refused = [];
          addEventListener("securitypolicyviolation", (event) => refused.push(event.blockedURI));
          await fetch(origin).catch(() => {});
          new Image().src = `${origin}/pixel.png`;
          await new Promise((done) => setTimeout(done, 200));
          return refused;
        }""",
        ORIGIN,
    )
    assert len(asked) == 2
    assert all(each.startswith(ORIGIN) for each in asked)


@pytest.mark.parametrize("width", [360, *at_length(820, 1280)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_anybody_can_read_it(folder: Path, chromium: Browser, width: int, scheme: str) -> None:
    """Rules of WCAG 2.2 A and AA by axe-core, and nothing wider than the window."""
    page = opened(chromium, folder / "checker.html", width, scheme)
    for name in ("genuine", "altered"):
        send(page, folder / f"{name}.pdf")
    page.evaluate(AXE.read_text())
    found = page.evaluate("axe.run()")
    assert found["violations"] == [], json.dumps(found["violations"], indent=1)[:3000]
    assert len(found["passes"]) > 10
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
