"""The process that reads strangers' files: what it answers, and what it cannot do."""

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from certificates.sandbox import Busy, NotStarted, apart, limits, verify_apart, wire
from certificates.signing import KeyStore, Verdict, verdict, verify
from certificates.signing.verify import MAX_BYTES
from tests.certificates.check.hostile import FILES
from tests.certificates.pdf.conftest import CHECKED_AT


def test_it_says_what_verify_says(signed: bytes, keystore: KeyStore) -> None:
    for pdf in (signed, signed[:-1] + b"x", signed.replace(b"/P 1", b"/P 2")):
        expected = verify(pdf, keystore.roots(), now=CHECKED_AT)
        assert verify_apart(pdf, keystore.roots(), now=CHECKED_AT) == expected


def test_without_roots_the_issuer_is_unknown(signed: bytes) -> None:
    assert verify_apart(signed, [], now=CHECKED_AT).faults == [verdict.UNKNOWN_ISSUER]


@pytest.mark.parametrize("name", FILES)
def test_hostile_files_get_a_sentence(name: str, signed: bytes, keystore: KeyStore) -> None:
    make, expected = FILES[name]
    found = verify_apart(make(signed), keystore.roots(), now=CHECKED_AT)
    assert found.faults
    assert set(found.faults) <= expected
    assert found.record is None


def test_a_large_file_is_not_even_read() -> None:
    assert verify_apart(b"%PDF-" + bytes(MAX_BYTES), []).faults == [verdict.TOO_LARGE]


def reader(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, body: str) -> None:
    """Put another program in the place of the one that reads files."""
    root = Path(apart.__file__).parent.parent.parent
    path = tmp_path / "reader.py"
    path.write_text(
        f"import os, sys, time\nsys.path.insert(0, {str(root)!r})\n"
        "from certificates.sandbox import limits, wire\n"
        "limits.confine()\n"
        "def say(data):\n    sys.stdout.buffer.write(data)\n    sys.stdout.buffer.flush()\n"
        f"say(wire.READY)\n{body}\n"
    )
    monkeypatch.setattr(apart, "CHILD", path)


@pytest.mark.parametrize(
    "body",
    [
        "hoard = [bytes(50_000_000) for _ in range(100)]",
        "os.kill(os.getpid(), 9)",
        "os.abort()",
        "time.sleep(60)",
    ],
    ids=["memory", "killed", "crash", "sleep"],
)
def test_a_reader_that_fails_is_a_file_that_cannot_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, body: str
) -> None:
    monkeypatch.setattr(limits, "WALL_SECONDS", 3.0)
    reader(tmp_path, monkeypatch, body)
    assert verify_apart(b"%PDF-1.7", []).faults == [limits.TOO_SLOW]


def test_the_processor_is_taken_away(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "WALL_SECONDS", 120.0)
    reader(
        tmp_path,
        monkeypatch,
        "import resource\nresource.setrlimit(resource.RLIMIT_CPU, (1, 1))\nwhile True: pass",
    )
    assert verify_apart(b"%PDF-1.7", []).faults == [limits.TOO_SLOW]


def test_rubbish_for_an_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    reader(tmp_path, monkeypatch, "say(b'{\"genuine\": true}')")
    assert verify_apart(b"%PDF-1.7", []).faults == [verdict.UNREADABLE]


def test_the_reader_inherits_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No variable, no open file, no way to write one; what it found comes back as a verdict."""
    monkeypatch.setenv("BANKERMARK_KEY_PASSPHRASE", "mallet and chisel and more")
    secret = (tmp_path / "secret").open("w")
    os.set_inheritable(secret.fileno(), True)
    reader(
        tmp_path,
        monkeypatch,
        "from certificates.signing import Verdict\n"
        "found = [name for name in os.environ if name.startswith('BANKERMARK')]\n"
        "found += [fd for fd in os.listdir('/proc/self/fd') if int(fd) > 3]\n"
        "found += [name for name in ('django', 'psycopg') if name in sys.modules]\n"
        f"try:\n    open({str(tmp_path / 'x')!r}, 'wb', buffering=0).write(b'x')\n"
        "    found.append('wrote')\nexcept OSError:\n    pass\n"
        "say(wire.pack_verdict(Verdict([str(each) for each in found])))",
    )
    found = verify_apart(b"%PDF-1.7", [])
    secret.close()
    assert found.faults == []


def test_a_reader_that_cannot_start_says_nothing_of_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = tmp_path / "broken.py"
    broken.write_text("import nothing_of_that_name")
    monkeypatch.setattr(apart, "CHILD", broken)
    with pytest.raises(NotStarted, match="nothing_of_that_name"):
        verify_apart(b"%PDF-1.7", [])
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no-python"))
    with pytest.raises(NotStarted):
        verify_apart(b"%PDF-1.7", [])


def test_who_comes_while_all_places_are_taken_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "PATIENCE", 0.01)
    taken = [apart._places.acquire(blocking=False) for _ in range(apart.AT_ONCE)]
    try:
        assert all(taken)
        with pytest.raises(Busy, match="again in a minute"):
            verify_apart(b"%PDF-1.7", [])
    finally:
        for _ in taken:
            apart._places.release()
    assert verify_apart(b"%PDF-1.7", []).faults == [verdict.UNREADABLE]


def test_a_verdict_comes_back_as_it_was() -> None:
    moment = datetime(2026, 11, 10, 15, 0, tzinfo=UTC)
    found = Verdict(["Wrong."], signed_at=moment, signer="Þór", record={"n": 1, "list": [None]})
    assert wire.read_verdict(wire.pack_verdict(found)) == found
    assert "signed_at" in wire.MOMENTS
