"""The checker that works without a server: it must say what the server says."""

import json
import random
import re
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from assessments.engine.canonical import digest
from certificates.checker import MODULES, checker_page, joined
from certificates.queries import steps
from certificates.rendering import render
from certificates.signing import KeyStore, verdict, verify
from certificates.views.checker import SOURCES
from tests.certificates.check.hostile import FILES
from tests.certificates.conftest import Issued
from tests.certificates.pdf.conftest import CHECKED_AT, PASSPHRASE, SIGNED_AT, sign_it
from tests.certificates.pdf.factory import Document, make_record
from tests.test_site_js import node, shown

PROGRAM = Path(__file__).with_name("checker.mjs")
FLIPS = 60
SEED = 20_261
NAMES = {text: name for name, text in vars(verdict).items() if name.isupper()}


def by_node(
    files: dict[str, bytes], roots: bytes, folder: Path, now: datetime = CHECKED_AT
) -> dict[str, dict[str, Any]]:
    """Return what the checker's modules find in each file."""
    (folder / "files").mkdir(exist_ok=True)
    (folder / "roots.pem").write_bytes(roots)
    for name, content in files.items():
        (folder / "files" / name).write_bytes(content)
    run = node(str(PROGRAM), str(folder / "roots.pem"), str(folder / "files"), now.isoformat())
    assert run.returncode == 0, shown(run)
    found: dict[str, dict[str, Any]] = json.loads(run.stdout)
    assert set(found) == set(files)
    return found


def flipped(pdf: bytes, chance: random.Random) -> bytes:
    """One bit changed, half of the time in the signature itself."""
    gap = re.search(rb"/Contents <([0-9A-F]+?)0{40,}>", pdf)
    assert gap
    inside = chance.random() < 0.5
    place = chance.randrange(*gap.span(1)) if inside else chance.randrange(len(pdf))
    changed = bytearray(pdf)
    changed[place] ^= 1 << chance.randrange(8)
    return bytes(changed)


def swapped_digit(pdf: bytes, chance: random.Random) -> bytes:
    """One hex digit of the signature is another one: what no reader of PDF stumbles over."""
    gap = re.search(rb"/Contents <([0-9A-F]+?)0{40,}>", pdf)
    assert gap
    place = chance.randrange(*gap.span(1))
    other = chance.choice([digit for digit in b"0123456789ABCDEF" if digit != pdf[place]])
    return pdf[:place] + bytes([other]) + pdf[place + 1 :]


def test_it_agrees_with_the_server_on_a_genuine_record(
    signed: bytes, keystore: KeyStore, record: Document, tmp_path: Path
) -> None:
    found = by_node({"a": signed}, keystore.roots_pem(), tmp_path)["a"]
    assert found["faults"] == []
    assert found["record"] == record == verify(signed, keystore.roots(), now=CHECKED_AT).record
    assert found["digests"] == {"record": digest(record), "standard": record["standard_digest"]}
    assert datetime.fromisoformat(found["signedAt"]) == SIGNED_AT
    assert found["signer"] == "Ashlar Row Training Yard, records"


def test_it_agrees_with_the_server_on_changed_files(
    signed: bytes, keystore: KeyStore, tmp_path: Path
) -> None:
    """No file that the server refuses is genuine to the checker, and the other way round."""
    chance = random.Random(SEED)
    files = {f"flip {number}": flipped(signed, chance) for number in range(FLIPS)}
    files |= {f"digit {number}": swapped_digit(signed, chance) for number in range(FLIPS)}
    files |= {name.replace("/", " "): make(signed) for name, (make, _) in FILES.items()}
    tails = (b"\n", b" ", b"%%EOF\n", b"% a remark")
    files |= {f"tail {number}": signed + tail for number, tail in enumerate(tails)}
    files["genuine"] = signed
    found = by_node(files, keystore.roots_pem(), tmp_path)
    ours = {name: verify(pdf, keystore.roots(), now=CHECKED_AT) for name, pdf in files.items()}
    assert {name for name, each in found.items() if not each["faults"]} == {"genuine"}
    assert {name for name, each in ours.items() if each.genuine} == {"genuine"}
    known = {*NAMES.values(), "OTHER_STANDARD"}
    assert {fault for each in found.values() for fault in each["faults"]} <= known
    # Where a file can be read to its end the two give the same reason.
    for name, each in ours.items():
        if name.startswith("digit") and each.faults != [verdict.UNREADABLE]:
            assert set(found[name]["faults"]) & {NAMES[fault] for fault in each.faults}, name


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("nothing", "NOT_A_PDF"),
        ("encrypted", "ENCRYPTED"),
        ("unsigned", "NO_SIGNATURE"),
        ("altered", "ALTERED"),
        ("page before", "NOT_A_PDF"),
        ("page behind", "NOT_WHOLE"),
    ],
)
def test_it_names_the_reason(
    signed: bytes, keystore: KeyStore, tmp_path: Path, name: str, fault: str
) -> None:
    make, expected = FILES[name]
    found = by_node({"a": make(signed)}, keystore.roots_pem(), tmp_path)["a"]
    assert found["faults"] == [fault]
    assert getattr(verdict, fault) in expected


def test_an_impostor_of_the_same_name(
    signed: bytes, unsigned: bytes, keystore: KeyStore, tmp_path: Path
) -> None:
    impostor = KeyStore(tmp_path / "keys", PASSPHRASE, organisation=keystore.organisation)
    files = {"forged": sign_it(unsigned, impostor), "genuine": signed}
    found = by_node(files, keystore.roots_pem(), tmp_path)
    assert found["forged"]["faults"] == ["UNKNOWN_ISSUER"]
    assert "record" not in found["forged"]
    assert found["genuine"]["faults"] == []
    assert by_node(files, b"", tmp_path)["genuine"]["faults"] == ["UNKNOWN_ISSUER"]


def test_a_signature_of_tomorrow(signed: bytes, keystore: KeyStore, tmp_path: Path) -> None:
    roots = keystore.roots_pem()
    early = SIGNED_AT - timedelta(minutes=11)
    assert by_node({"a": signed}, roots, tmp_path, early)["a"]["faults"] == ["SIGNED_IN_FUTURE"]
    late = datetime(2050, 1, 1, tzinfo=UTC)
    assert by_node({"a": signed}, roots, tmp_path, late)["a"]["faults"] == []


def test_names_from_many_scripts_come_out_whole(keystore: KeyStore, tmp_path: Path) -> None:
    name = "Ελένη Þórhildur Нгуен Thị"
    record = make_record(holder={"name": name})
    pdf = sign_it(render(record), keystore)
    found = by_node({"a": pdf}, keystore.roots_pem(), tmp_path)["a"]
    assert found["record"]["holder"]["name"] == name
    assert found["digests"]["record"] == digest(record)


def test_a_time_stamp_is_seen_and_said_not_to_be_checked(
    signed: bytes, stamped: bytes, keystore: KeyStore, tmp_path: Path
) -> None:
    files = {"stamped": stamped, "plain": signed}
    found = by_node(files, keystore.roots_pem(), tmp_path)
    assert {name: each["faults"] for name, each in found.items()} == {"stamped": [], "plain": []}
    assert {name: each["hasStamp"] for name, each in found.items()} == {
        "stamped": True,
        "plain": False,
    }
    assert found["stamped"]["record"] == found["plain"]["record"]


def test_a_standard_under_the_digest_of_another(keystore: KeyStore, tmp_path: Path) -> None:
    pdf = sign_it(render(make_record(standard_digest="0" * 64)), keystore)
    found = by_node({"a": pdf}, keystore.roots_pem(), tmp_path)["a"]
    assert found["faults"] == ["OTHER_STANDARD"]
    assert "record" not in found or found["faults"]


def page_of(keystore: KeyStore) -> str:
    """Return the page as it is given out."""
    return checker_page(
        SOURCES, keystore.roots(), origin="https://records.example.org", made=CHECKED_AT
    )


def test_the_page_needs_nothing_from_elsewhere(keystore: KeyStore) -> None:
    page = page_of(keystore)
    assert "default-src 'none'" in page
    assert not re.search(r"\b(?:src|href)=", page)
    assert "@import" not in page
    assert "url(" not in page
    assert "certified" not in page.lower()
    told = json.loads(re.search(r'id="told">(.*)</script>', page)[1])  # type: ignore[index]
    assert told["roots"] == [keystore.roots_pem().decode()]
    assert set(told["stepOf"].values()) <= {*steps.WITH_LISTS}
    assert {step["key"] for step in told["steps"]} == set(steps.OFFLINE)


def test_a_root_cannot_end_the_element_that_it_stands_in(keystore: KeyStore) -> None:
    page = checker_page(
        SOURCES, keystore.roots(), origin="</script><script>alert(1)</script>", made=CHECKED_AT
    )
    assert "<script>alert" not in page
    assert page.count("</script>") == 2


def test_the_modules_fit_into_one(tmp_path: Path) -> None:
    assert {path.stem for path in SOURCES.glob("*.js")} == set(MODULES)
    script = joined(SOURCES)
    assert not re.search(r"^\s*(?:import|export)\b", script, re.MULTILINE)
    path = tmp_path / "joined.mjs"
    path.write_text(script)
    run = node("--check", str(path))
    assert run.returncode == 0, shown(run)


def test_it_is_given_out_with_the_roots_of_this_server(issued: Issued, client: Client) -> None:
    response = client.get(reverse("checker"))
    assert response["Content-Disposition"] == 'attachment; filename="record-checker.html"'
    assert "BEGIN CERTIFICATE" in response.text
    assert "PRIVATE" not in response.text
    assert reverse("checker") in client.get(reverse("check_file")).text


def test_canonical_form_is_that_of_the_server(tmp_path: Path) -> None:
    """RFC 8785, 3.2.3: its example of sorting, and the names that two ways of sorting differ in."""
    document = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
        "10": [1, None, True, {"b": "\u2028</", "a": -7}],
    }
    program = tmp_path / "digest.mjs"
    program.write_text(
        f"import {{ digestOf }} from {json.dumps(str(SOURCES / 'canonical.js'))};\n"
        f"console.log(await digestOf({json.dumps(document)}));\n"
    )
    run: subprocess.CompletedProcess[str] = node(str(program))
    assert run.stdout.strip() == digest(document), shown(run)
